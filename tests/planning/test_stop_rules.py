"""When to think of something else: the rules against unsigned limits, and what can be next."""

import math
from dataclasses import replace

import pytest

from coilwright.advice import Urgency
from coilwright.kit import Adhesive, Kit
from coilwright.planning.next_options import NextOption, NextOptionKind, dead_space_ml
from coilwright.planning.route import Access
from coilwright.planning.route_measured import RouteInputProblem
from coilwright.planning.routes import routes
from coilwright.planning.stop_rules import StopRules, stop_rules
from coilwright.protocol import UNSIGNED, Protocol
from coilwright.veins import Side
from planning.route_cases import PROTOCOL, READ_AT, catheter, kit_of, microcatheter, signed

SIGNED = signed()
# The order in which REVIEW 8 names them.
REVIEW_ORDER = [
    "other-shape",
    "other-access",
    "microcatheter",
    "balloon",
    "liquid-adhesive",
    "surgery",
]


def stopped(
    kit: Kit | None = None,
    *,
    protocol: Protocol = SIGNED,
    minutes: float | None = 5,
    kap: float | None = 5,
    contrast: float | None = 10,
    tried: tuple[str, ...] = (),
) -> StopRules:
    return stop_rules(
        kit or Kit(),
        protocol,
        minutes=minutes,
        kap_gy_cm2=kap,
        contrast_ml=contrast,
        tried=tried,
    )


def option(found: StopRules, kind: NextOptionKind) -> NextOption:
    return next(one for one in found.options if one.kind is kind)


def vial(mixed_with: str | None = "iodised oil") -> Adhesive:
    return Adhesive(
        id="vial",
        name="vial",
        read_at=READ_AT,
        shelf_count=1,
        substance="n-butyl cyanoacrylate",
        volume_ml=0.5,
        mixed_with=mixed_with,
    )


def with_places(protocol: Protocol, **places: float) -> Protocol:
    limits = dict(protocol.limits)
    for kind, place in places.items():
        id = f"next-option-{kind.replace('_', '-')}"
        limits[id] = replace(limits[id], value=place)
    return replace(protocol, limits=limits)


@pytest.mark.parametrize("spent", ["minutes", "kap", "contrast"])
def test_each_limit_is_reached_at_its_own_figure_and_not_below(spent: str) -> None:
    id = {"minutes": "minutes", "kap": "kap", "contrast": "contrast"}[spent]
    limit = PROTOCOL.limit(f"stop-after-{id}").value
    assert stopped(**{spent: limit}).met is True  # type: ignore[arg-type]  # one of three figures
    assert stopped(**{spent: limit - 0.1}).met is False  # type: ignore[arg-type]  # the same


def test_below_limits_from_memory_nobody_says_that_the_rules_are_kept() -> None:
    # REVIEW 12.
    found = stopped(protocol=PROTOCOL)
    assert found.met is None
    assert all(advisory.urgency is Urgency.CAUTION for advisory in found.advisories)
    assert all(UNSIGNED in advisory.text for advisory in found.advisories)


def test_a_limit_from_memory_that_is_reached_still_stops() -> None:
    found = stopped(protocol=PROTOCOL, minutes=31)
    assert found.met is True
    assert found.advisories[0].urgency is Urgency.STOP_AND_THINK


def test_a_figure_that_is_not_known_is_named_and_leaves_the_answer_open() -> None:
    found = stopped(kap=None)
    assert found.met is None
    assert found.missing == ("kerma-area product since the first attempt (kap_gy_cm2)",)


def test_one_limit_reached_is_enough_whatever_else_is_not_known() -> None:
    assert stopped(minutes=None, kap=None, contrast=60).met is True


@pytest.mark.parametrize("minutes", [-1.0, math.nan, math.inf])
def test_a_figure_that_cannot_be_is_refused(minutes: float) -> None:
    with pytest.raises(RouteInputProblem, match=r"minutes.*0 or more"):
        stopped(minutes=minutes)


def test_a_tried_device_that_the_kit_does_not_hold_is_refused() -> None:
    with pytest.raises(RouteInputProblem, match="the kit holds no device cath"):
        stopped(tried=("cath",))


def test_the_options_are_those_of_the_trade_in_the_sites_order() -> None:
    full = Kit(
        catheters=(catheter(65, tip="hook"), catheter(65, id="other", tip="straight")),
        microcatheters=(microcatheter(130),),
        adhesives=(vial(),),
    )
    found = stopped(full, tried=("catheter",))
    assert [one.kind.value for one in found.options] == REVIEW_ORDER


def test_what_the_shelf_cannot_serve_comes_last_and_what_cannot_be_told_keeps_its_place() -> None:
    kinds = [one.kind.value for one in stopped(kit_of(catheter(65))).options]
    assert kinds[-2:] == ["microcatheter", "liquid-adhesive"]
    assert kinds[:2] == ["other-shape", "other-access"]


def test_a_place_of_nought_takes_an_option_out() -> None:
    found = stopped(protocol=with_places(SIGNED, balloon=0, surgery=1, other_shape=9))
    kinds = [one.kind for one in found.options]
    assert NextOptionKind.BALLOON not in kinds
    assert kinds.index(NextOptionKind.SURGERY) < kinds.index(NextOptionKind.OTHER_ACCESS)


def test_an_order_from_memory_says_so() -> None:
    found = stopped(protocol=PROTOCOL, minutes=31)
    assert "in an order from memory, not signed off" in found.advisories[0].text
    assert not any(one.place_stands for one in found.options)


def test_another_shape_is_one_that_was_not_tried() -> None:
    kit = kit_of(
        catheter(65, id="hook", tip="hook"),
        catheter(100, id="long-hook", tip="hook"),
        catheter(65, id="curved", tip="multipurpose"),
    )
    shape = option(stopped(kit, tried=("hook",)), NextOptionKind.OTHER_SHAPE)
    assert (shape.served, shape.devices) == (True, ("curved",))
    none_left = option(stopped(kit, tried=("hook", "curved")), NextOptionKind.OTHER_SHAPE)
    assert (none_left.served, none_left.devices) == (False, ())


@pytest.mark.parametrize("tried", [(), ("unread",)])
def test_another_shape_cannot_be_told_where_the_tried_one_is_not_known(
    tried: tuple[str, ...],
) -> None:
    kit = kit_of(catheter(65, id="unread", tip=None), catheter(65, id="hook", tip="hook"))
    shape = option(stopped(kit, tried=tried), NextOptionKind.OTHER_SHAPE)
    assert shape.served is None
    assert "read the shape off the label of catheter unread" in shape.text


@pytest.mark.parametrize(("outer_fr", "served"), [(2.7, True), (3.0, False), (None, None)])
def test_a_microcatheter_is_served_by_its_label_and_a_silent_one_cannot_be_told(
    outer_fr: float | None, served: bool | None
) -> None:
    # REVIEW 9: 3 F is 1.00 mm and does not pass 0.038 in.
    kit = replace(kit_of(catheter(65), microcatheter(130, outer_fr=outer_fr)), adhesives=(vial(),))
    found = stopped(kit)
    assert option(found, NextOptionKind.MICROCATHETER).served is served
    assert option(found, NextOptionKind.LIQUID_ADHESIVE).served is served


def test_the_dead_space_is_the_volume_of_the_lumen() -> None:
    # 0.021 in is 0.5334 mm: pi/4 x 0.5334^2 x 1300 mm3 = 290.50 mm3.
    assert dead_space_ml(microcatheter(130)) == pytest.approx(0.29050, abs=1e-5)
    assert dead_space_ml(microcatheter(None)) is None


def test_liquid_adhesive_shows_mix_ratio_dead_space_and_what_its_label_says() -> None:
    # REVIEW 8: mix ratio and dead space.
    kit = replace(kit_of(catheter(65), microcatheter(130)), adhesives=(vial(),))
    text = option(stopped(kit, protocol=PROTOCOL), NextOptionKind.LIQUID_ADHESIVE).text
    assert "1 : 1 to 1 : 3 adhesive to oil, from memory, not signed off" in text
    assert "microcatheter micro 0.29 mL" in text
    assert "mixed with iodised oil by its label" in text
    silent = replace(kit, adhesives=(vial(mixed_with=None),))
    assert "read off its label" in option(stopped(silent), NextOptionKind.LIQUID_ADHESIVE).text


def test_a_balloon_cannot_be_told_from_a_kit_that_has_no_balloons() -> None:
    assert option(stopped(), NextOptionKind.BALLOON).served is None


def test_another_access_names_where_a_catheter_is_long_enough_and_not_the_one_tried() -> None:
    kit = kit_of(catheter(100))
    ways = routes(
        None,
        Side.LEFT,
        kit,
        PROTOCOL,
        measured_lengths_mm={
            "right-internal-jugular-to-ostium": 440.0,
            "right-common-femoral-to-ostium": 400.0,
        },
    )
    found = stop_rules(
        kit,
        SIGNED,
        minutes=31,
        kap_gy_cm2=1,
        contrast_ml=1,
        access=Access.RIGHT_INTERNAL_JUGULAR,
        ways=ways,
    )
    access = option(found, NextOptionKind.OTHER_ACCESS)
    assert access.served is True
    assert "right common femoral vein: catheter" in access.text
    assert "jugular" not in access.text.replace("neck", "")


def test_another_access_cannot_be_told_while_lengths_are_missing() -> None:
    kit = kit_of(catheter(100))
    ways = routes(None, Side.LEFT, kit, PROTOCOL)
    found = stop_rules(kit, SIGNED, minutes=31, kap_gy_cm2=1, contrast_ml=1, ways=ways)
    assert option(found, NextOptionKind.OTHER_ACCESS).served is None
