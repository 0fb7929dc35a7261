"""`coilwright report`: a case file in, its map, picture and report out."""


def report() -> None:
    """Plan one case."""
    raise NotImplementedError
