"""Whether a run can show reflux: practitioner's review, truth and safety 1."""

import pytest

from coilwright.veins import Conditions, reflux_view


@pytest.mark.parametrize(
    ("conditions", "can_show"),
    [
        (Conditions(), None),
        (Conditions(tip_site="left gonadal vein, upper third", valsalva=True), False),
        (Conditions(tip_site="left renal vein", valsalva=True), True),
        (Conditions(tip_site="left renal vein", valsalva=False, tilt_deg=15.0), True),
        (Conditions(tip_site="left renal vein", valsalva=False, tilt_deg=0.0), False),
        (Conditions(tip_site="left renal vein"), None),
        (Conditions(tip_site="ostium of the gonadal vein", valsalva=True), True),
        (Conditions(tip_site="somewhere", valsalva=True), None),
    ],
)
def test_only_an_injection_at_the_ostium_with_valsalva_or_tilt_shows_reflux(
    conditions: Conditions, can_show: bool | None
) -> None:
    view = reflux_view(conditions)
    assert view.can_show is can_show
    assert view.why
