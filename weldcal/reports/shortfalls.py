"""What a strip, a check or a go-ahead falls short of, in words.

Invariant: every code that `quality` gives has a sentence here; numbers are shown in the job's
units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

import msgspec

from weldcal.reports import show
from weldcal.views.note import Values
from weldcal.words import _, mark, number, plural

if TYPE_CHECKING:
    from weldcal.quality.goahead import Shortfall
    from weldcal.quality.standing import Trigger


# How a sentence is said of its values: as it stands, each value in its place, or by a function.
Said = str | Callable[[Values, str], str]
_BY_UNIT: dict[str, Callable[[float, str], str]] = {
    "_m_per_min": show.speed,
    "_mm": show.limit_width,
    "_min": lambda minutes, _units: show.minutes(minutes),
    "_m": show.tape,
}


def said(how: Said, v: Values, units: str) -> str:
    """A sentence of its values, each as it is shown.

    A number is shown by the unit its name ends in; the sentence names it without.
    """
    if not isinstance(how, str):
        return how(v, units)
    return _(how, **dict(_shown(name, value, units) for name, value in v.items()))


def _shown(name: str, value: object, units: str) -> tuple[str, object]:
    """What a sentence calls a value, and the value as it is shown."""
    if isinstance(value, str):
        return name, show.safe(value)
    if isinstance(value, list):
        return name, show.listed(value)
    if not isinstance(value, int | float):
        return name, value
    for ending, shown in _BY_UNIT.items():
        if name.endswith(ending):
            return name.removesuffix(ending), shown(value, units)
    return name, number(value, "g")


def _each(shown: Callable[[float, str], str], v: Values, units: str) -> dict[str, str]:
    """Every value there is, shown in one way."""
    return {name: shown(value, units) for name, value in v.items() if value is not None}


def shortfall(code: str, v: Values, units: str) -> str:
    """Why a strip is no go-ahead, or a go-ahead no longer stands."""
    return said(_SHORTFALLS[code], v, units)


def listed(shortfalls: Iterable[Shortfall], units: str) -> list[str]:
    """All that a strip or a check falls short of."""
    return [shortfall(one.code, one.values, units) for one in shortfalls]


def moved(trigger: Trigger, units: str) -> str:
    """A rule that was broken, since when a go-ahead does not stand."""
    return shortfall(f"moved_{trigger.code}", dict(trigger.values), units)


def warning(code: str) -> str:
    """A warning kept with a run, by its code alone."""
    return _(_WARNINGS[code]) if code in _WARNINGS else code.replace("_", " ")


def warned(codes: str) -> str:
    """The warnings kept with a run, each said once: two stops are two codes of one sentence.

    Args:
        codes: a JSON list of their codes.

    Returns:
        them, parted by semicolons; empty where nothing was warned of.
    """
    kept = msgspec.json.decode(codes, type=list[str])
    return "; ".join(dict.fromkeys(warning(code) for code in kept))


_WARNINGS = {
    "no_go_ahead": mark("welded with no go-ahead"),
    "own_strip_short": mark("welded after the newest strip fell short of the limits"),
    "other_machine": mark("welded with another machine than the go-ahead's"),
    "other_sheet": mark("welded on another sheet than the go-ahead's"),
    "other_lap": mark("welded on another lap kind than the go-ahead's"),
    "other_nozzle": mark("welded with another nozzle than the go-ahead's"),
    "new_day": mark("welded on another day than the go-ahead's"),
    "other_nozzle_temperature": mark("welded at another nozzle temperature than the go-ahead's"),
    "other_speed": mark("welded at another speed than the go-ahead's"),
    "moved_hours_passed": mark("welded longer after the strip than the limits allow"),
    "moved_first_day": mark("welded on a sheet's first day before enough strips had passed"),
    "moved_stopped": mark("welded after a longer stop than the limits allow"),
    "moved_power_lost": mark("welded after the power was lost"),
    "moved_check_outside": mark("welded on after a bleed check outside the limits"),
    "moved_ambient_moved": mark("welded in other air than the go-ahead's"),
    "moved_sheet_moved": mark("welded on a sheet warmer or colder than the go-ahead's"),
    "moved_wind_moved": mark("welded in other wind than the go-ahead's"),
    "moved_voltage_moved": mark("welded at another line voltage than the go-ahead's"),
    "moved_check_failed": mark("welded on after a bleed check that failed outright"),
    "moved_pull_failed": mark("welded on after a sample that parted at the lap"),
    "moved_machine_out": mark("welded with a machine taken out after strips that failed"),
    "hand_not_said": mark("welded by hand with no tool named"),
    "other_hand": mark("welded by another hand than the strip's"),
    "moved_strip_failed": mark("welded after a strip failed that spoke against the go-ahead"),
    "moved_nozzle_temperature": mark("welded at another nozzle temperature than the go-ahead's"),
    "moved_travel_speed": mark("welded at another speed than the go-ahead's"),
    "moved_air_flow": mark("welded with another air flow than the go-ahead's"),
    "moved_roller_load": mark("welded with another roller load than the go-ahead's"),
    "moved_damp_sheet": mark("welded on a sheet noted damp"),
    "moved_dew": mark("welded on a sheet too near the dew point"),
    "moved_air_too_cold": mark("welded in air below the limit"),
    "moved_sheet_too_cold": mark("welded on a sheet below the limit"),
    "moved_roll_too_cold": mark("welded a roll below the limit"),
    "moved_too_gusty": mark("welded in gusts above the limit"),
    "moved_voltage_low": mark("welded at a line voltage below the limit"),
    "moved_too_windy": mark("welded in wind above the limit"),
    "other_lap_than_listed": mark("welded as another lap kind than the seam is listed as"),
    "moved_other_operator": mark("welded by another than ran the strip"),
    "covered_unprobed": mark("hidden by the next ply without being probed clean"),
}


def _machine_out(v: Values, u: str) -> str:
    failed = _("strips {names} failed in a row", names=v["was"])
    if v["limit"] is None:
        return failed + _(
            '; {machine} is taken out until a cause is named (weldcal machine cause {machine} "WHAT") and strips pass',
            machine=show.safe(v["now"]),
        )
    return failed + plural(
        "; a cause is named, {n} more strip must pass on {machine}",
        "; a cause is named, {n} more strips in a row must pass on {machine}",
        int(v["limit"]),
        machine=show.safe(v["now"]),
    )


_SHORTFALLS: dict[str, Said] = {
    "few_readings": lambda v, u: plural(
        "only one reading; the limits want {least} along the strip",
        "only {n} readings; the limits want {least} along the strip",
        v["n"],
        least=v["least"],
    ),
    "too_little": mark("too little bleed-out: {width}, limit {low}"),
    "too_much": mark("too much bleed-out: {width}, limit {high}"),
    "spread": mark("not steady: readings differ by {spread}, limit {limit}"),
    "bubbling_not_looked": mark("nobody noted bubbling (none, trace or heavy)"),
    "bubbling": lambda v, u: _("bubbling: {bubbling}: too hot", bubbling=_(v["bubbling"])),
    "exposed_mat": mark("the mat is exposed: too hot or too slow"),
    "pull_not_tried": mark("the cold pull was not tried yet"),
    "cold": mark("the cold pull came apart: cold bond"),
    "off_dial": mark("its speed is off {machine}'s dial, {low} to {high}"),
    "damp": mark("made on a damp sheet: it says nothing of a dry one"),
    "parted_clean": mark(
        "it parted clean at the lap: a sound lap parts in the compound or in the reinforcement"
    ),
    "narrow_bond": mark("bonded over {width} only, the limits want {least}"),
    "narrow_lap": mark("the lap is {width} wide, the limits want {least}"),
    "pulled_warm": lambda v, u: _(
        "pulled apart {minutes} after welding, the limits want it cold: {least}",
        minutes=show.minutes(v["minutes"]),
        least=show.minutes(v["least"]),
    ),
    "hand_not_said": mark(
        "by hand, and no tool named: a hand strip of that person and tool permits it (--tool)"
    ),
    "other_hand": mark("it was {was}'s hand, this is {now}'s"),
    "moved_machine_out": _machine_out,
    "own_strip_short": mark(
        "strip {name}, the newest of this machine, sheet and lap kind, has not met the limits"
    ),
    "no_go_ahead": mark("no strip has met the limits yet"),
    "other_machine": mark("it was for machine {was}, this is {now}"),
    "other_sheet": mark("it was for sheet {was}, this is {now}"),
    "other_lap": lambda v, u: _(
        "it was for lap kind {was}, this is {now}", was=_(v["was"]), now=_(v["now"])
    ),
    "other_lap_than_listed": lambda v, u: _(
        "the seam is listed as {was}, the run says {now}", was=_(v["was"]), now=_(v["now"])
    ),
    "other_nozzle": mark("it was with another nozzle width"),
    "new_day": lambda v, u: _("it was of another day ({was})", **v),
    "moved_hours_passed": lambda v, u: _(
        "{now} h since the strip, limit {limit} h",
        now=number(v["now"], ".1f"),
        limit=number(v["limit"], "g"),
    ),
    "moved_stopped": lambda v, u: _(
        "stopped for {now}, limit {limit}",
        now=show.age(v["now"] / 60),
        limit=show.minutes(v["limit"]),
    ),
    "moved_power_lost": mark("the power was lost"),
    "moved_check_outside": mark("a bleed check was outside the limits"),
    "moved_ambient_moved": lambda v, u: _(
        "ambient {was} at the strip, {now} now", **_each(show.temperature, v, u)
    ),
    "moved_sheet_moved": lambda v, u: _(
        "sheet {was} at the strip, {now} now", **_each(show.temperature, v, u)
    ),
    "moved_wind_moved": lambda v, u: _(
        "wind {was} at the strip, {now} now", **_each(show.wind, v, u)
    ),
    "moved_voltage_moved": lambda v, u: _(
        "line {was} V at the strip, {now} V now", was=f"{v['was']:.0f}", now=f"{v['now']:.0f}"
    ),
    "moved_other_operator": mark("{was} ran the strip, {now} welds"),
    "moved_strip_failed": lambda v, u: _(
        "strip {name} failed after it at that setting, or on the same side of it", name=v["now"]
    ),
    "moved_check_failed": lambda v, u: _(
        "bleed check {name}: no bleed-out at two places running, or heavy bubbling", name=v["now"]
    ),
    "moved_pull_failed": lambda v, u: _("sample {name} parted at the lap", name=v["now"]),
    "moved_reading_age": lambda v, u: (
        _(
            "the sheet was last read {age} ago; by the sun and the hour it may have passed the next step {limit} after the reading: read the sheet now",
            age=show.age(v["now"]),
            limit=show.age(v["limit"]),
        )
        if v["was"] == "sun"
        else _(
            "the sheet was last read {age} ago, limit {limit} h: read the sheet now",
            age=show.age(v["now"]),
            limit=number(v["limit"], "g"),
        )
    ),
    "moved_first_day": mark(
        "first day of this sheet here: the job asks for {limit} strips that pass at one setting, and {now} did; run one more at it"
    ),
    "moved_travel_speed": lambda v, u: _(
        "speed {share:+.0f} % off the go-ahead's", share=100 * (v["now"] / v["was"] - 1)
    ),
    "moved_air_flow": lambda v, u: _("air flow {now:.0f} %, the go-ahead had {was:.0f} %", **v),
    "moved_roller_load": lambda v, u: _(
        "roller load {share:+.0f} % off the go-ahead's", share=100 * (v["now"] / v["was"] - 1)
    ),
    "moved_damp_sheet": mark("the sheet was noted damp"),
    "moved_dew": lambda v, u: (
        _(
            "the sheet is {margin} above the dew point, limit {limit}",
            margin=show.difference(v["now"], u),
            limit=show.difference(v["limit"], u),
        )
        if v["now"] >= 0
        else _(
            "the sheet is {margin} below the dew point: dew on it",
            margin=show.difference(-v["now"], u),
        )
    ),
    "moved_air_too_cold": lambda v, u: _(
        "air {now}, limit {limit}", **_each(show.temperature, v, u)
    ),
    "moved_sheet_too_cold": lambda v, u: _(
        "sheet {now}, limit {limit}", **_each(show.temperature, v, u)
    ),
    "moved_roll_too_cold": lambda v, u: _(
        "a roll at {now}, limit {limit}: lay out rolls kept warm", **_each(show.temperature, v, u)
    ),
    "moved_too_gusty": lambda v, u: _("gusts {now}, limit {limit}", **_each(show.wind, v, u)),
    "moved_voltage_low": lambda v, u: _(
        "the line is {now} % below the machine's rated voltage, limit {limit} %",
        now=number(v["now"], ".0f"),
        limit=number(v["limit"], "g"),
    ),
    "moved_too_windy": lambda v, u: _("wind {now}, limit {limit}", **_each(show.wind, v, u)),
    "moved_other_roll_lot": mark("the strip was on roll lot {was}, this is {now}"),
    "moved_new_day": mark("it was of another day ({was})"),
    "moved_other_machine": mark("it was for machine {was}, this is {now}"),
    "moved_other_sheet": mark("it was for sheet {was}, this is {now}"),
    "moved_other_lap": lambda v, u: _(
        "it was for lap kind {was}, this is {now}", was=_(str(v["was"])), now=_(str(v["now"]))
    ),
    "moved_other_nozzle": mark("it was with another nozzle width"),
    "moved_nozzle_temperature": lambda v, u: _(
        "nozzle {was} at the strip, {now} now", **_each(show.temperature, v, u)
    ),
}


def look(short: Shortfall, units: str) -> str:
    """What calls for a look, and what ends it: of an old reading, only a new one."""
    why = shortfall(short.code, short.values, units)
    if short.code == "moved_reading_age":
        return _("LOOK: {why}.", why=why)
    return _("LOOK: {why}. A bleed check now says whether the go-ahead still holds.", why=why)
