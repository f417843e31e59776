"""The rules of the go-ahead: what voids it, what calls for a look, with numbers and sources.

Invariant: rules are data; each says where it and its number come from, and every number is
a limit that a job may set. The sheet maker's instructions and local codes come first.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.physics.dewpoint import MARGIN_K, MARGIN_SOURCE
from weldcal.records.limits import SITE, TRIAL_SEAMS
from weldcal.words import mark

GOOD = "good"
LOOK = "look"
STRIP_AGAIN = "strip_again"
WAIT = "wait"
# From what permits welding to what forbids it: the worst that holds decides.
LEVELS = (GOOD, LOOK, STRIP_AGAIN, WAIT)


def permits(level: str) -> bool:
    """Whether a verdict permits welding: a look is made while welding goes on."""
    return level in (GOOD, LOOK)


_SURFACE_READ = mark(
    "sheet surface read every 2 h: a landfill liner's construction quality assurance plan, "
    "San Joaquin County, California, public records (borrowed)"
)
_NEWEST = mark("the newest strip of a setting decides: this program's rule")
_START_OF_DAY = mark("test weld at the start of each day: roofing trade articles")
_MARKED_CHANGE = mark(
    "a marked change of air or wind calls for a test weld (trade articles); "
    "the number is a site setting, no source"
)
_PARTED = mark("a sound lap never parts where its faces met: common practice, no source")
_KIND = mark("a go-ahead is for one machine, nozzle, sheet and lap kind: this program's rule")


class Rule(Struct, frozen=True):
    """One thing that voids a go-ahead or calls for a look.

    Attributes:
        code: what is watched.
        level: look, strip_again or wait.
        threshold: how much is too much; None where any change counts.
        unit: of the threshold.
        source: where rule and number come from.
    """

    code: str
    level: str
    threshold: float | None
    unit: str
    source: str


RULES: tuple[Rule, ...] = (
    Rule("new_day", STRIP_AGAIN, None, "", _START_OF_DAY),
    Rule("hours_passed", LOOK, 3.0, "h", SITE),
    Rule("hours_passed", STRIP_AGAIN, 5.0, "h", TRIAL_SEAMS),
    Rule("stopped", LOOK, 30.0, "min", TRIAL_SEAMS),
    Rule("stopped", STRIP_AGAIN, 60.0, "min", TRIAL_SEAMS),
    Rule("power_lost", STRIP_AGAIN, None, "", TRIAL_SEAMS),
    Rule("strip_failed", STRIP_AGAIN, None, "", _NEWEST),
    Rule("machine_out", STRIP_AGAIN, None, "", TRIAL_SEAMS),
    Rule("check_outside", LOOK, None, "", SITE),
    Rule("check_failed", STRIP_AGAIN, None, "", SITE),
    Rule("pull_failed", STRIP_AGAIN, None, "", _PARTED),
    Rule("reading_age", LOOK, 2.0, "h", _SURFACE_READ),
    Rule("ambient_moved", LOOK, 5.0, "K", _MARKED_CHANGE),
    Rule("ambient_moved", STRIP_AGAIN, 10.0, "K", _MARKED_CHANGE),
    Rule("sheet_moved", LOOK, 8.0, "K", _MARKED_CHANGE),
    Rule("sheet_moved", STRIP_AGAIN, 15.0, "K", _MARKED_CHANGE),
    Rule("wind_moved", LOOK, 3.0, "m/s", _MARKED_CHANGE),
    Rule("wind_moved", STRIP_AGAIN, 6.0, "m/s", _MARKED_CHANGE),
    Rule("voltage_moved", LOOK, 3.0, "%", SITE),
    Rule("voltage_moved", STRIP_AGAIN, 6.0, "%", SITE),
    Rule("nozzle_temperature", LOOK, 10.0, "K", SITE),
    Rule("nozzle_temperature", STRIP_AGAIN, 30.0, "K", SITE),
    Rule("travel_speed", LOOK, 10.0, "%", SITE),
    Rule("travel_speed", STRIP_AGAIN, 20.0, "%", SITE),
    Rule("air_flow", LOOK, 5.0, "%", SITE),
    Rule("air_flow", STRIP_AGAIN, 15.0, "%", SITE),
    Rule("roller_load", LOOK, 10.0, "%", SITE),
    Rule("roller_load", STRIP_AGAIN, 30.0, "%", SITE),
    Rule("other_machine", STRIP_AGAIN, None, "", _KIND),
    Rule("other_nozzle", STRIP_AGAIN, None, "", _KIND),
    Rule("other_sheet", STRIP_AGAIN, None, "", _KIND),
    Rule("other_lap", STRIP_AGAIN, None, "", _KIND),
    Rule("other_operator", STRIP_AGAIN, None, "", TRIAL_SEAMS),
    Rule("other_roll_lot", LOOK, None, "", SITE),
)


# Sun and hour make a reading's hours less than the rule's, but never less than this (site setting,
# no source): nobody reads the sheet at every lap.
SUN_LEAST_H = 0.5

_NO_LAYING = mark(
    "no laying below 40 °F (here 5 °C, 41 °F), nor on standing water, frost, fog or dew: construction quality "
    "assurance records, San Joaquin County, California (borrowed)"
)
_WARM_ROLLS = mark(
    "rolls dry and at room warmth for 24 h where it is below 50 °F: Asphalt Roofing Manufacturers "
    "Association, cold-weather recommendations for modified bitumen roofing"
)
_RATED = mark("electric tools are built for 10 % about their rated voltage (from memory)")
# Conditions under which nobody should weld, whatever strip there is.
STOPS: tuple[Rule, ...] = (
    Rule("damp_sheet", WAIT, None, "", _NO_LAYING),
    Rule("dew", WAIT, MARGIN_K, "K", MARGIN_SOURCE),
    Rule("air_too_cold", WAIT, 5.0, "C", _NO_LAYING),
    Rule("sheet_too_cold", WAIT, 0.0, "C", SITE),
    Rule("roll_too_cold", WAIT, 10.0, "C", _WARM_ROLLS),
    Rule("too_windy", WAIT, 13.0, "m/s", SITE),
    Rule("too_gusty", WAIT, 16.0, "m/s", SITE),
    Rule("voltage_low", WAIT, 10.0, "%", _RATED),
)
