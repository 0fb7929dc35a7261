"""How the commands of the record word what they found."""


def counted(*, streams: int, entries: int) -> str:
    """How much a record or a backup holds."""
    return f"{_number(entries, 'entry', 'entries')} in {_number(streams, 'stream', 'streams')}"


def _number(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"


def printable(name: str) -> str:
    """A stream's name as one line, whatever somebody wrote into the database."""
    return name if name.isprintable() else repr(name)
