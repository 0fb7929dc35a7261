"""How the answer to a yes-or-no question reads; an unasked one never reads as no."""


def said(answer: bool | None) -> str:
    """ "yes", "no", or "not recorded"."""
    return "not recorded" if answer is None else ("yes" if answer else "no")
