"""Sentences that must read the same everywhere they stand."""

DISCLAIMER = (
    "Decision support only: not approved for clinical use; the site is responsible. "
    "The operator and the local protocol decide."
)
