"""Options that state how a run was injected; what is not stated stays unknown."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.veins import Conditions

TipSite = Annotated[
    str | None,
    typer.Option("--tip-site", help="Where the catheter's tip lay at the injection, in words."),
]
Valsalva = Annotated[
    bool | None,
    typer.Option("--valsalva/--no-valsalva", help="Whether the run was taken with Valsalva."),
]
TiltDeg = Annotated[
    float | None,
    typer.Option("--tilt-deg", help="Table tilt, feet down positive, if the header has none."),
]
Breath = Annotated[
    str | None, typer.Option("--breath", help="The phase of breathing, as: held in expiration.")
]
VolumeMl = Annotated[float | None, typer.Option("--volume-ml", help="Contrast injected, mL.")]
RateMlPerS = Annotated[
    float | None, typer.Option("--rate-ml-per-s", help="Rate of the injection, mL/s.")
]
ConditionsFile = Annotated[
    Path | None,
    typer.Option(
        "--conditions", metavar="CONDITIONS.toml", help="How each of several runs was injected."
    ),
]


def injection(
    *,
    tip_site: str | None,
    valsalva: bool | None,
    tilt_deg: float | None,
    breath: str | None = None,
    volume_ml: float | None = None,
    rate_ml_per_s: float | None = None,
) -> "Conditions":
    """The conditions that options state.

    Raises
    ------
    InputError
        A value that no run can have.
    """
    from coilwright.veins import Conditions, require_possible  # noqa: PLC0415 - see above

    stated = Conditions(
        tip_site=(tip_site or "").strip() or None,
        volume_ml=volume_ml,
        rate_ml_per_s=rate_ml_per_s,
        valsalva=valsalva,
        tilt_deg=tilt_deg,
        breath_phase=(breath or "").strip() or None,
    )
    require_possible(stated)
    return stated
