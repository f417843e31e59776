"""From codes to sentences: the one place where findings of the program become words.

Invariant: every code that `quality`, `calibration` or `book` gives has a
sentence here; numbers are shown in the job's units.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from weldcal.records.fields import FIELDS
from weldcal.reports import show
from weldcal.words import _, number, plural

Values = dict[str, Any]


def shortfall(code: str, v: Values, units: str) -> str:
    """Why a strip is no go-ahead, or a go-ahead no longer stands."""
    return _SHORTFALLS[code](v, units)


def note(code: str, v: Values, units: str) -> str:
    """What to tell about something just recorded."""
    return _NOTES[code](v, units)


def warning(code: str) -> str:
    """A warning kept with a run, by its code alone."""
    return {
        "no_go_ahead": _("welded with no go-ahead"),
        "own_strip_short": _("welded after the newest strip fell short of the limits"),
        "other_machine": _("welded with another machine than the go-ahead's"),
        "other_sheet": _("welded on another sheet than the go-ahead's"),
        "other_lap": _("welded on another lap kind than the go-ahead's"),
        "other_nozzle": _("welded with another nozzle than the go-ahead's"),
        "new_day": _("welded on another day than the go-ahead's"),
        "other_nozzle_temperature": _("welded at another nozzle temperature than the go-ahead's"),
        "other_speed": _("welded at another speed than the go-ahead's"),
        "moved_hours_passed": _("welded longer after the strip than the limits allow"),
        "moved_first_day": _("welded on a sheet's first day before enough strips had passed"),
        "moved_stopped": _("welded after a longer stop than the limits allow"),
        "moved_power_lost": _("welded after the power was lost"),
        "moved_check_outside": _("welded on after a bleed check outside the limits"),
        "moved_ambient_moved": _("welded in other air than the go-ahead's"),
        "moved_sheet_moved": _("welded on a sheet warmer or colder than the go-ahead's"),
        "moved_wind_moved": _("welded in other wind than the go-ahead's"),
        "moved_voltage_moved": _("welded at another line voltage than the go-ahead's"),
        "moved_check_failed": _("welded on after a bleed check that failed outright"),
        "moved_machine_out": _("welded with a machine taken out after strips that failed"),
        "hand_not_said": _("welded by hand with no tool named"),
        "other_hand": _("welded by another hand than the strip's"),
        "moved_strip_failed": _("welded after a strip failed that spoke against the go-ahead"),
        "moved_nozzle_temperature": _("welded at another nozzle temperature than the go-ahead's"),
        "moved_travel_speed": _("welded at another speed than the go-ahead's"),
        "moved_air_flow": _("welded with another air flow than the go-ahead's"),
        "moved_roller_load": _("welded with another roller load than the go-ahead's"),
        "moved_damp_sheet": _("welded on a sheet noted damp"),
        "moved_dew": _("welded on a sheet too near the dew point"),
        "moved_air_too_cold": _("welded in air below the limit"),
        "moved_sheet_too_cold": _("welded on a sheet below the limit"),
        "moved_roll_too_cold": _("welded a roll below the limit"),
        "moved_too_gusty": _("welded in gusts above the limit"),
        "moved_voltage_low": _("welded at a line voltage below the limit"),
        "moved_too_windy": _("welded in wind above the limit"),
        "other_lap_than_listed": _("welded as another lap kind than the seam is listed as"),
        "moved_other_operator": _("welded by another than ran the strip"),
        "covered_unprobed": _("hidden by the next ply without being probed clean"),
    }.get(code, code.replace("_", " "))


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
    "moved_dew": lambda v, u: _(
        "the sheet is {margin} above the dew point, limit {limit}",
        margin=show.difference(v["now"], u),
        limit=show.difference(v["limit"], u),
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


def _pace(v: Values, u: str) -> str:
    text = _(v["mark"]).capitalize()
    if "pace_source" not in v:
        return _("{mark}. Kept, and marked.", mark=text)
    return _(
        "{mark}; a probe goes at {least} to {most} ({source}). Kept, and marked.",
        mark=text,
        least=show.speed(v["least_m_per_min"], u),
        most=show.speed(v["most_m_per_min"], u),
        source=_(v["pace_source"]),
    )


def _unlisted(v: Values, units: str) -> str:
    if not v["known"]:
        return _(
            "{what} {name} is not on this job's list. Kept as typed.",
            what=_(v["what"]),
            name=show.safe(v["name"]),
        )
    known = show.listed(v["known"])
    return _(
        "{what} {name} is not on this job's list ({known}). Kept as typed.",
        what=_(v["what"]),
        name=show.safe(v["name"]),
        known=known,
    )


def stage(leak: str, now: str) -> str:
    """Where a leak stands, and what is to be done next."""
    return {
        "search": _(
            "{leak}: what leaks is to be found; say it: weldcal leak found {leak}", leak=leak
        ),
        "mend": _("{leak}: found, not mended; say it: weldcal leak mended {leak}", leak=leak),
        "look": _(
            "{leak}: mended, not looked at again after rain; say it: weldcal leak looked {leak} dry",
            leak=leak,
        ),
        "closed": _("{leak}: closed, looked at dry after rain", leak=leak),
    }[now]


_NOTES: dict[str, Callable[[Values, str], str]] = {
    "go_ahead": lambda v, u: _(
        "{name} is a go-ahead for {machine} on {sheet}, {lap}, for today.",
        name=v["name"],
        machine=show.safe(v["machine"]),
        sheet=show.safe(v["sheet"]),
        lap=_(v["lap"]),
    ),
    "short": lambda v, u: _(
        "Not a go-ahead: {why}.", why=shortfall(v["shortfall"].code, v["shortfall"].values, u)
    ),
    "warning": lambda v, u: _(
        "WARNING, no valid go-ahead: {why}. Recorded with this run.",
        why=shortfall(v["shortfall"].code, v["shortfall"].values, u),
    ),
    "look": lambda v, u: _(
        "LOOK: {why}. A bleed check now says whether the go-ahead still holds.",
        why=shortfall(v["shortfall"].code, v["shortfall"].values, u),
    ),
    "off_limits": lambda v, u: _(
        "OUTSIDE THE LIMITS: {why}. Stop and look.",
        why=shortfall(v["shortfall"].code, v["shortfall"].values, u),
    ),
    "too_narrow": lambda v, u: _(
        "BELOW THE LIMITS: {why}. Show it to the foreman before more is welded so.",
        why=shortfall(v["shortfall"].code, v["shortfall"].values, u),
    ),
    "run_ends": lambda v, u: _(
        "STOP THE MACHINE: this run ends at {at}. Say where it stopped: weldcal seam finish {seam} --to PLACE. What is welded past {at} is in doubt; run a strip before the next lap.",
        at=show.tape(v["at_m"], u),
        seam=show.safe(v["seam"]),
    ),
    "sun": lambda v, u: _(
        "The sun is reckoned for {latitude}, {longitude} (degrees north, east).",
        latitude=number(v["latitude"], ".2f"),
        longitude=number(v["longitude"], ".2f"),
    ),
    "no_sun": lambda v, u: _(
        'Where {place} is, this program does not know: the sun goes by the hour alone. Give coordinates: weldcal job place "42.36, -71.06"',
        place=show.safe(v["place"]),
    ),
    "unlisted": _unlisted,
    "past_check": lambda v, u: _(
        "{instrument} is past its check date. Kept, and marked.",
        instrument=show.safe(v["instrument"]),
    ),
    "pace": _pace,
    "no_start": lambda v, u: _(
        "No run is open on seam {seam} here; the finish is kept by itself until its start is merged or recorded.",
        seam=show.safe(v["seam"]),
    ),
    "measured": lambda v, u: _(
        "Mark {mark} is {now} measured; it was taken for {was} ({moved}). Advice uses what was measured from now on.",
        mark=number(v["mark"], "g"),
        now=show.speed(v["now"], u, 2),
        was=show.speed(v["was"], u, 2),
        moved=number(100 * (v["ratio"] - 1), "+.1f") + " %",
    ),
    "lot_laps": lambda v, u: (
        _(
            "Lot {lot} went into {seams}.",
            lot=show.safe(v["lot"]),
            seams=show.listed(v["seams"]),
        )
        if v["seams"]
        else _("No run names lot {lot}.", lot=show.safe(v["lot"]))
    ),
    "substrate_short": lambda v, u: _(
        "The substrate of {area} is not {what}: no lap is welded on it before it is.",
        area=show.safe(v["area"]),
        what=_(", not ").join(_(word) for word in v["short"]),
    ),
    "start_up_open": lambda v, u: plural(
        "First lap of the job: {n} line of the start-up list is open. See: weldcal startup",
        "First lap of the job: {n} lines of the start-up list are open. See: weldcal startup",
        v["open"],
    ),
    "hides_below": lambda v, u: _(
        "It hides of {area}: {seams} ({cover}).",
        area=show.safe(v["area"]),
        seams=show.listed(v["seams"]),
        cover=v["cover"],
    ),
    "below_not_clean": lambda v, u: _(
        "Of {area}, which this hides, not in order yet: {seams}. How: weldcal cover {area} --look",
        area=show.safe(v["area"]),
        seams=show.listed(v["seams"]),
    ),
    "embed_granules": lambda v, u: _(
        "End lap over granules: embed them first, and say so: weldcal roof embed {seam}",
        seam=show.safe(v["seam"]),
    ),
    "look_items": lambda v, u: _(
        "Items, open until settled: {names}. Settle one: weldcal punch settle {first}",
        names=show.listed(v["names"]),
        first=v["names"][0],
    ),
    "leak_stage": lambda v, u: stage(v["leak"], v["stage"]),
    "lot_in_doubt": lambda v, u: _(
        "Lot {lot} is in doubt: {why}.", lot=show.safe(v["lot"]), why=show.safe(v["why"])
    ),
    "few_runs": lambda v, u: _(
        "One run does not tell how runs scatter: {share:.0f} % is taken (site setting, no source). Time it three times: --time 218s,221s,216s.",
        share=100 * v["scatter"],
    ),
    "mark_beyond": lambda v, u: _(
        "The dial goes from {low} to {high}; mark {mark} is beyond it. Kept as typed; was it a slip? Measure it again.",
        low=number(v["low"], "g"),
        high=number(v["high"], "g"),
        mark=number(v["mark"], "g"),
    ),
    "nozzle_offset": lambda v, u: _(
        "The nozzle's air is {offset} off its reading. Advice reckons with it from now on.",
        offset=f"{v['offset_k'] * (9 / 5 if u == 'us' else 1):+.0f} °{'F' if u == 'us' else 'C'}",
    ),
    "primer_wet": lambda v, u: _(
        "WET PRIMER burns: no hot air near it until it has dried, as its maker says."
    ),
    "hidden": lambda v, u: _(
        "Seam {seam} is hidden by the next ply: it can be opened up, not probed. Kept, and flagged; a walk on it does not count. If it was opened: weldcal open-up {seam}",
        seam=show.safe(v["seam"]),
    ),
    "open_up": lambda v, u: _(
        "It is hidden by the next ply: open it up to look at it, weldcal open-up {seam}",
        seam=show.safe(v["seam"]),
    ),
    "not_hidden": lambda v, u: _(
        "Seam {seam} is not known to be covered. Kept as typed.", seam=show.safe(v["seam"])
    ),
    "not_ended": lambda v, u: _(
        "The hot work has not ended: the watch counts from its end. When it has: weldcal hotwork end"
    ),
    "watch_left": lambda v, u: _(
        "The watch has {left} to go ({source}).",
        left=show.minutes(v["left_min"]),
        source=show.safe(v["source"]),
    ),
    "watch_done": lambda v, u: _(
        "The watch was stood for {stood}.", stood=show.minutes(v["stood_min"])
    ),
    "covered_unprobed": lambda v, u: _(
        "WARNING: hidden without being probed clean: {seams}. From now on they can be opened up, not probed. Recorded, and open until answered: weldcal settle.",
        seams=show.listed(v["seams"]),
    ),
    "clock_back": lambda v, u: _(
        "This device's clock stands before its last entry ({at}). The order is kept; set the clock.",
        at=v["at"],
    ),
    "zone_apart": lambda v, u: _(
        "This device is set to {here}; the job's clock is {zone}, where it is {now} now, and records show that time. If that zone is wrong, begin a new job: weldcal job new NAME --zone {here}",
        here=show.safe(v["here"]),
        zone=show.safe(v["zone"]),
        now=show.clock(v["now"]),
    ),
    "pulled_twice": lambda v, u: _(
        "{name} was pulled before ({first}); both are kept, the first stands. To correct it: weldcal amend {name} bond ...",
        name=v["name"],
        first=_(v["first"]),
    ),
    "second_start": lambda v, u: _(
        "Run {run} on seam {seam} was begun and not finished. Both are kept.",
        run=v["run"],
        seam=show.safe(v["seam"]),
    ),
    "past_end": lambda v, u: _(
        "{at} is past the end of seam {seam} ({length}). Kept as typed.",
        at=show.tape(v["at_m"], u),
        seam=show.safe(v["seam"]),
        length=show.tape(v["length_m"], u),
    ),
    "no_run": lambda v, u: _(
        "No run is recorded at that place of seam {seam}. Kept.", seam=show.safe(v["seam"])
    ),
    "self_probed": lambda v, u: _(
        "{by} welded this seam and probed it: the record says so.", by=show.safe(v["by"])
    ),
    "probed_warm": lambda v, u: _(
        "Seam {seam} was still warm: by the limits it is cold {left} after the walk began. Kept, and flagged; what was warm counts as unprobed. Probe it again when it is cold.",
        seam=show.safe(v["seam"]),
        left=show.minutes(v["left_min"]),
    ),
    "outside_walk": lambda v, u: _(
        "The {kind} at {at} lies outside the walk. Kept as typed.",
        kind=_(v["kind"]),
        at=show.tape(v["at_m"], u),
    ),
    "t_joint": lambda v, u: _(
        "{finding} reaches T-joint {joint}: it concerns seam {seam} as well. Look at both.",
        finding=v["finding"],
        joint=show.safe(v["joint"]),
        seam=show.safe(v["seam"]),
    ),
    "mend_short": lambda v, u: _(
        "The limits want the mend to reach from {start} to {end}. Kept as typed.",
        start=show.tape(v["from_m"], u),
        end=show.tape(v["to_m"], u),
    ),
    "load_bare": lambda v, u: _(
        "How warm the sample was and how fast it was pulled decide the load: --sample-temp and --pull-rate say so."
    ),
    "no_hand_strip": lambda v, u: (
        _(
            "LOOK: no hand strip of {by} with {tool} stands today. Try the hand before a patch that must hold: weldcal strip record --by-hand --tool NAME",
            by=show.safe(v["by"]),
            tool=show.safe(v["tool"]),
        )
        if v["tool"]
        else _(
            "LOOK: no hand strip of {by} stands today. Try the hand before a patch that must hold: weldcal strip record --by-hand --tool NAME",
            by=show.safe(v["by"]),
        )
    ),
    "on_hand_strip": lambda v, u: _("It stands on hand strip {name}.", name=v["name"]),
    "probe_again": lambda v, u: _(
        "Probe it again when it is cold: weldcal probe {seam} ...", seam=show.safe(v["seam"])
    ),
    "off_dial": lambda v, u: _off_dial(v),
    "far_from_last": lambda v, u: _(
        "{typed} is far from {last}, of the strip before. Kept as typed; was it a slip?",
        typed=show.typed(v["typed"], v["unit"]),
        last=show.typed(v["last"], v["last_unit"]),
    ),
    "wind_hardly": lambda v, u: _(
        "Wind {typed} is a storm: nobody welds in it. Kept as typed; was it a slip?",
        typed=show.wind(v["m_per_s"], u),
    ),
    "sheet_hardly": lambda v, u: (
        _(
            "A sheet at {typed} hardly can be. Kept as typed; was it a slip?",
            typed=show.temperature(v["surface_c"], u),
        )
        if v["ambient_c"] is None
        else _(
            "A sheet at {typed} hardly can be in air of {ambient}. Kept as typed; was it a slip?",
            typed=show.temperature(v["surface_c"], u),
            ambient=show.temperature(v["ambient_c"], u),
        )
    ),
    "several_seams": lambda v, u: _(
        "{seam} is read as the name of one seam. If {first} to {last} were meant, record each by its own name.",
        seam=show.safe(v["seam"]),
        first=show.safe(v["first"]),
        last=show.safe(v["last"]),
    ),
    "same_row": lambda v, u: _(
        "It says the same as row {row}. Kept as another one; was it typed twice?", row=v["above"]
    ),
    "odd_name": lambda v, u: _(
        "A name here has signs nobody sees, or letters of two scripts that look alike. Kept as typed, and flagged."
    ),
    "ahead": lambda v, u: _("That time is ahead of this device's clock. Kept, and flagged."),
    "late": lambda v, u: _(
        "Entered {age} after it was seen: marked late.", age=show.age(v["late_h"])
    ),
    "carried": lambda v, u: _(
        "{name} carried over, read {age} before.",
        name=_(FIELDS[v["name"]].label),
        age=show.age(v["age_h"]),
    ),
}


def _off_dial(v: Values) -> str:
    said = _(
        "{typed} is off {machine}'s dial, {low} to {high}. Kept as typed; was it a slip?",
        typed=show.safe(v["typed"]),
        machine=show.safe(v["machine"]),
        low=number(v["low"], "g"),
        high=number(v["high"], "g"),
    )
    if v["likely"] is None:
        return said
    return said + " " + _("Was {likely} meant?", likely=number(v["likely"], "g"))


def asked_back(code: str, v: Values, units: str) -> str:
    """A value that is likely a slip, asked back."""
    typed = show.safe(str(v["typed"]))
    if code == "off_dial":
        return _(
            "{typed} is off {machine}'s dial, {low} to {high}. {likely}?",
            typed=typed,
            machine=show.safe(v["machine"]),
            low=number(v["low"], "g"),
            high=number(v["high"], "g"),
            likely=_("A slip") if v["likely"] is None else number(v["likely"], "g"),
        )
    if code == "far_from_last":
        return _(
            "{typed} is far from {last}, of the strip before. Type it again, or what was meant.",
            typed=show.typed(v["typed"], v["unit"]),
            last=show.typed(v["last"], v["last_unit"]),
        )
    if code == "wind_hardly":
        return _(
            "Wind {typed} is a storm. Type it again, or what was meant.",
            typed=show.wind(v["m_per_s"], units),
        )
    return _(
        "A sheet at {typed} hardly can be. Type it again, or what was meant.",
        typed=show.temperature(v["surface_c"], units),
    )


def strips_counted(n: int) -> str:
    """`1 strip`, `3 strips`."""
    return plural("{n} strip", "{n} strips", n)


def entries_counted(n: int) -> str:
    """`1 entry`, `3 entries`."""
    return plural("{n} entry", "{n} entries", n)


def photos_counted(n: int) -> str:
    """`1 photo`, `3 photos`."""
    return plural("{n} photo", "{n} photos", n)
