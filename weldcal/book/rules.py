"""The rules of the go-ahead as limits of the job: names, defaults, sources.

Invariant: a rule's number and its source are the program's until the job adopts its own.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from weldcal.quality.go_ahead_rules import RULES, STOPS, Rule
from weldcal.quantities import Quantity
from weldcal.records.limits import Default
from weldcal.words import mark

# Unit of a rule -> field its number is read as, and the unit it is kept in.
READ_AS = {
    "h": ("hours", "h"),
    "min": ("minutes", "min"),
    "K": ("difference", "degC"),
    "m/s": ("wind", "m/s"),
    "%": ("share", "%"),
    "C": ("ambient", "C"),
}
_MEANS = {
    "look": mark("from here somebody looks: a bleed check"),
    "strip_again": mark("from here the go-ahead is void: strip again"),
    "wait": mark("from here nobody welds: wait"),
}
_BEFORE = {"look": "look", "strip_again": "strip", "wait": "wait"}


def rule_name(rule: Rule) -> str:
    """The name of the limit that holds a rule's number.

    Args:
        rule: the rule.
    """
    return f"{_BEFORE[rule.level]}_{rule.code}"


@cache
def rule_defaults() -> dict[str, Default]:
    """Limits for the rules' numbers, with the program's defaults and their sources."""
    found = {}
    for rule in (*RULES, *STOPS):
        if rule.threshold is None:
            continue
        field, unit = READ_AS[rule.unit]
        value = Quantity(
            text=f"{rule.threshold:g}", number=Fraction(repr(rule.threshold)), unit=unit
        )
        found[rule_name(rule)] = Default(field, value, rule.source, _MEANS[rule.level])
    return found
