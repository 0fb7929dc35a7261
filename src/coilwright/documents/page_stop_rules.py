"""The stop rules in words: what was spent against each, and what can be thought of next."""

from coilwright.documents.figures import capital
from coilwright.documents.page import Line
from coilwright.planning.next_options import NextOption
from coilwright.planning.stop_rules import StopRules

_MET = {
    True: "A stop rule is reached: think of the next option.",
    False: "No stop rule is reached.",
    None: "Whether a stop rule is reached cannot be told in full: see each.",
}
_SERVED = {
    True: "the shelf can serve it",
    False: "the shelf cannot serve it",
    None: "the kit cannot tell",
}


def stop_rule_lines(found: StopRules) -> tuple[Line, ...]:
    """The answer, each rule with its figure and limit, then the options as the site orders them."""
    lines = [Line(label="Stop rules", text=_MET[found.met])]
    lines += [
        Line(label=capital(advisory.rule.replace("-", " ")), text=advisory.text)
        for advisory in found.advisories
    ]
    lines += [
        Line(label=f"Next option {place}", text=_option(option))
        for place, option in enumerate(found.options, start=1)
    ]
    if not found.options:
        lines.append(Line(label="Next option", text="the site has named none"))
    return tuple(lines)


def _option(option: NextOption) -> str:
    order = "" if option.place_stands else "; its place in the order is from memory, not signed off"
    return f"{capital(option.text)} ({_SERVED[option.served]}{order})."
