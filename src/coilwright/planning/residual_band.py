"""What is left of the flow after closure, as a band in words and never as a number."""

# Judgement, no source, validated by nobody. Conductance goes with the fourth power of a calibre,
# so a calibre 10 % out puts it 46 % out: more than three bands would say more than is known.
_BOUNDS = ((0.1, "little of it"), (0.5, "part of it"))
_ABOVE = "most of it"
NOT_VALIDATED = "bands are this program's own, validated by nobody: for comparing options alone"


def residual_band(share: float) -> str:
    """The band of a residual conductance share, 0 to 1.

    Examples
    --------
    >>> residual_band(0.0), residual_band(0.3), residual_band(1.0)
    ('nothing of what the network shows', 'part of it', 'most of it')
    """
    if share == 0.0:
        return "nothing of what the network shows"
    return next((word for bound, word in _BOUNDS if share < bound), _ABOVE)


# Every band, least first, and the shares at which the later ones begin.
BANDS = (residual_band(0.0), *(word for _, word in _BOUNDS), _ABOVE)
BAND_EDGES = tuple(bound for bound, _ in _BOUNDS)
