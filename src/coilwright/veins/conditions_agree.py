"""Whether two runs were injected under the same conditions, as far as anybody has said."""

from dataclasses import dataclass

from coilwright.veins.runs import Conditions

# Tilts closer than this are the same (judgement, no source).
SAME_TILT_DEG = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """``agree`` is None where something is not known; ``why`` says what, in words."""

    agree: bool | None
    why: str


def same_strain(one: Conditions, other: Conditions) -> Agreement:
    """Valsalva and tilt alone: what widens a vein, wherever it was injected."""
    return _of(one, other, ("valsalva", "tilt_deg"))


def same_injection(one: Conditions, other: Conditions) -> Agreement:
    """Injection site, Valsalva and tilt: what two pictures of the same vein are compared under."""
    return _of(one, other, ("tip_site", "valsalva", "tilt_deg"))


_WORDS = {"tip_site": "injection site", "valsalva": "Valsalva", "tilt_deg": "table tilt"}


def _of(one: Conditions, other: Conditions, names: tuple[str, ...]) -> Agreement:
    unknown, differ = [], []
    for name in names:
        before, after = getattr(one, name), getattr(other, name)
        if before is None or after is None:
            unknown.append(_WORDS[name])
        elif not _same(before, after):
            differ.append(_WORDS[name])
    if differ:
        return Agreement(agree=False, why=f"{' and '.join(differ)} differ")
    if unknown:
        return Agreement(agree=None, why=f"not known of both: {', '.join(unknown)}")
    return Agreement(agree=True, why=f"the same {', '.join(_WORDS[name] for name in names)}")


def _same(before: object, after: object) -> bool:
    if isinstance(before, float | int) and not isinstance(before, bool):
        return abs(float(before) - float(str(after))) <= SAME_TILT_DEG
    if isinstance(before, str):
        return before.strip().casefold() == str(after).strip().casefold()
    return before == after
