"""Sentences that must read the same everywhere they stand."""

DISCLAIMER = (
    "Decision support only: not approved for clinical use; the site is responsible. "
    "The operator and the local protocol decide."
)

# Marks what is computed by a second rule while another one is followed.
SHOWN_BESIDE = "shown beside"
