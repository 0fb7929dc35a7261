"""`coilwright plan`: a case file in, its map, picture and plan out."""


def plan() -> None:
    """Plan one case."""
    raise NotImplementedError
