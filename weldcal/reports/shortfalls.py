"""What a strip, a check or a go-ahead falls short of, in words.

Invariant: every code that `quality` gives has a sentence here; numbers are shown in the job's
units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from weldcal.quality.goahead import Shortfall
from weldcal.reports import show
from weldcal.views.note import Values
from weldcal.words import _, mark, number, plural

if TYPE_CHECKING:
    from weldcal.quality.goahead import Shortfall
    from weldcal.quality.standing import Trigger


def shortfall(code: str, v: Values, units: str) -> str:
    """Why a strip is no go-ahead, or a go-ahead no longer stands."""
    return _SHORTFALLS[code](v, units)


def listed(shortfalls: Iterable[Shortfall], units: str) -> list[str]:
    """All that a strip or a check falls short of."""
    return [shortfall(one.code, one.values, units) for one in shortfalls]


def moved(trigger: Trigger, units: str) -> str:
    """A rule that was broken, since when a go-ahead does not stand."""
    return shortfall(f"moved_{trigger.code}", dict(trigger.values), units)


def warning(code: str) -> str:
    """A warning kept with a run, by its code alone."""
    return _(_WARNINGS[code]) if code in _WARNINGS else code.replace("_", " ")


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


_SHORTFALLS: dict[str, Callable[[Values, str], str]] = {
    "few_readings": lambda v, u: plural(
        "only one reading; the limits want {least} along the strip",
        "only {n} readings; the limits want {least} along the strip",
        v["n"],
        least=v["least"],
    ),
    "too_little": lambda v, u: _(
        "too little bleed-out: {width}, limit {low}",
        width=show.limit_width(v["width_mm"], u),
        low=show.limit_width(v["low_mm"], u),
    ),
    "too_much": lambda v, u: _(
        "too much bleed-out: {width}, limit {high}",
        width=show.limit_width(v["width_mm"], u),
        high=show.limit_width(v["high_mm"], u),
    ),
    "spread": lambda v, u: _(
        "not steady: readings differ by {spread}, limit {limit}",
        spread=show.limit_width(v["spread_mm"], u),
        limit=show.limit_width(v["limit_mm"], u),
    ),
    "bubbling_not_looked": lambda v, u: _("nobody noted bubbling (none, trace or heavy)"),
    "bubbling": lambda v, u: _("bubbling: {bubbling}: too hot", bubbling=_(v["bubbling"])),
    "exposed_mat": lambda v, u: _("the mat is exposed: too hot or too slow"),
    "pull_not_tried": lambda v, u: _("the cold pull was not tried yet"),
    "cold": lambda v, u: _("the cold pull came apart: cold bond"),
    "off_dial": lambda v, u: _(
        "its speed is off {machine}'s dial, {low} to {high}",
        machine=show.safe(v["machine"]),
        low=number(v["low"], "g"),
        high=number(v["high"], "g"),
    ),
    "damp": lambda v, u: _("made on a damp sheet: it says nothing of a dry one"),
    "parted_clean": lambda v, u: _(
        "it parted clean at the lap: a sound lap parts in the compound or in the reinforcement"
    ),
    "narrow_bond": lambda v, u: _(
        "bonded over {width} only, the limits want {least}",
        width=show.limit_width(v["width_mm"], u),
        least=show.limit_width(v["least_mm"], u),
    ),
    "narrow_lap": lambda v, u: _(
        "the lap is {width} wide, the limits want {least}",
        width=show.limit_width(v["width_mm"], u),
        least=show.limit_width(v["least_mm"], u),
    ),
    "pulled_warm": lambda v, u: _(
        "pulled apart {minutes} after welding, the limits want it cold: {least}",
        minutes=show.minutes(v["minutes"]),
        least=show.minutes(v["least"]),
    ),
    "hand_not_said": lambda v, u: _(
        "by hand, and no tool named: a hand strip of that person and tool permits it (--tool)"
    ),
    "other_hand": lambda v, u: _(
        "it was {was}'s hand, this is {now}'s", was=show.safe(v["was"]), now=show.safe(v["now"])
    ),
    "moved_machine_out": _machine_out,
    "own_strip_short": lambda v, u: _(
        "strip {name}, the newest of this machine, sheet and lap kind, has not met the limits",
        name=v["name"],
    ),
    "no_go_ahead": lambda v, u: _("no strip has met the limits yet"),
    "other_machine": lambda v, u: _(
        "it was for machine {was}, this is {now}", was=show.safe(v["was"]), now=show.safe(v["now"])
    ),
    "other_sheet": lambda v, u: _(
        "it was for sheet {was}, this is {now}", was=show.safe(v["was"]), now=show.safe(v["now"])
    ),
    "other_lap": lambda v, u: _(
        "it was for lap kind {was}, this is {now}", was=_(v["was"]), now=_(v["now"])
    ),
    "other_lap_than_listed": lambda v, u: _(
        "the seam is listed as {was}, the run says {now}", was=_(v["was"]), now=_(v["now"])
    ),
    "other_nozzle": lambda v, u: _("it was with another nozzle width"),
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
    "moved_power_lost": lambda v, u: _("the power was lost"),
    "moved_check_outside": lambda v, u: _("a bleed check was outside the limits"),
    "moved_ambient_moved": lambda v, u: _(
        "ambient {was} at the strip, {now} now",
        was=show.temperature(v["was"], u),
        now=show.temperature(v["now"], u),
    ),
    "moved_sheet_moved": lambda v, u: _(
        "sheet {was} at the strip, {now} now",
        was=show.temperature(v["was"], u),
        now=show.temperature(v["now"], u),
    ),
    "moved_wind_moved": lambda v, u: _(
        "wind {was} at the strip, {now} now", was=show.wind(v["was"], u), now=show.wind(v["now"], u)
    ),
    "moved_voltage_moved": lambda v, u: _(
        "line {was} V at the strip, {now} V now", was=f"{v['was']:.0f}", now=f"{v['now']:.0f}"
    ),
    "moved_other_operator": lambda v, u: _(
        "{was} ran the strip, {now} welds", was=show.safe(v["was"]), now=show.safe(v["now"])
    ),
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
    "moved_first_day": lambda v, u: _(
        "first day of this sheet here: the job asks for {limit} strips that pass at one setting, and {now} did; run one more at it",
        limit=number(v["limit"], "g"),
        now=number(v["now"], "g"),
    ),
    "moved_travel_speed": lambda v, u: _(
        "speed {share:+.0f} % off the go-ahead's", share=100 * (v["now"] / v["was"] - 1)
    ),
    "moved_air_flow": lambda v, u: _(
        "air flow {now:.0f} %, the go-ahead had {was:.0f} %", now=v["now"], was=v["was"]
    ),
    "moved_roller_load": lambda v, u: _(
        "roller load {share:+.0f} % off the go-ahead's", share=100 * (v["now"] / v["was"] - 1)
    ),
    "moved_damp_sheet": lambda v, u: _("the sheet was noted damp"),
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
        "air {now}, limit {limit}",
        now=show.temperature(v["now"], u),
        limit=show.temperature(v["limit"], u),
    ),
    "moved_sheet_too_cold": lambda v, u: _(
        "sheet {now}, limit {limit}",
        now=show.temperature(v["now"], u),
        limit=show.temperature(v["limit"], u),
    ),
    "moved_roll_too_cold": lambda v, u: _(
        "a roll at {now}, limit {limit}: lay out rolls kept warm",
        now=show.temperature(v["now"], u),
        limit=show.temperature(v["limit"], u),
    ),
    "moved_too_gusty": lambda v, u: _(
        "gusts {now}, limit {limit}", now=show.wind(v["now"], u), limit=show.wind(v["limit"], u)
    ),
    "moved_voltage_low": lambda v, u: _(
        "the line is {now} % below the machine's rated voltage, limit {limit} %",
        now=number(v["now"], ".0f"),
        limit=number(v["limit"], "g"),
    ),
    "moved_too_windy": lambda v, u: _(
        "wind {now}, limit {limit}", now=show.wind(v["now"], u), limit=show.wind(v["limit"], u)
    ),
    "moved_other_roll_lot": lambda v, u: _(
        "the strip was on roll lot {was}, this is {now}",
        was=show.safe(v["was"]),
        now=show.safe(v["now"]),
    ),
    "moved_new_day": lambda v, u: _("it was of another day ({was})", was=v["was"]),
    "moved_other_machine": lambda v, u: _(
        "it was for machine {was}, this is {now}", was=show.safe(v["was"]), now=show.safe(v["now"])
    ),
    "moved_other_sheet": lambda v, u: _(
        "it was for sheet {was}, this is {now}", was=show.safe(v["was"]), now=show.safe(v["now"])
    ),
    "moved_other_lap": lambda v, u: _(
        "it was for lap kind {was}, this is {now}", was=_(str(v["was"])), now=_(str(v["now"]))
    ),
    "moved_other_nozzle": lambda v, u: _("it was with another nozzle width"),
    "moved_nozzle_temperature": lambda v, u: _(
        "nozzle {was} at the strip, {now} now",
        was=show.temperature(v["was"], u),
        now=show.temperature(v["now"], u),
    ),
}


def look(short: Shortfall, units: str) -> str:
    """What calls for a look, and what ends it: of an old reading, only a new one."""
    why = shortfall(short.code, short.values, units)
    if short.code == "moved_reading_age":
        return _("LOOK: {why}.", why=why)
    return _("LOOK: {why}. A bleed check now says whether the go-ahead still holds.", why=why)
