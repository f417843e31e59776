"""From codes to sentences: the one place where findings of the program become words.

Invariant: every code that `quality`, `calibration` or `book` gives has a
sentence here; numbers are shown in the job's units.
"""

from __future__ import annotations

from weldcal.records.fields import FIELDS
from weldcal.reports import show
from weldcal.reports.shortfalls import Said, look, said, shortfall
from weldcal.views.note import Values
from weldcal.words import _, mark, number, plural


def note(code: str, v: Values, units: str) -> str:
    """What to tell about something just recorded."""
    return said(_NOTES[code], v, units)


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


def _passed(v: Values) -> dict[str, str]:
    """Which strip passed, for what."""
    return {
        "name": v["name"],
        "machine": show.safe(v["machine"]),
        "sheet": show.safe(v["sheet"]),
        "lap": _(v["lap"]),
    }


def _short(v: Values, units: str) -> str:
    """What it falls short of."""
    return shortfall(v["shortfall"].code, v["shortfall"].values, units)


_NOTES: dict[str, Said] = {
    "go_ahead": lambda v, u: _(
        "{name} is a go-ahead for {machine} on {sheet}, {lap}, for today.", **_passed(v)
    ),
    "go_ahead_then": lambda v, u: _(
        "{name} was a go-ahead for {machine} on {sheet}, {lap}, from {at}. Whether it still stands: weldcal go-ahead",
        at=show.clock(v["at"]),
        **_passed(v),
    ),
    "short": lambda v, u: _("Not a go-ahead: {why}.", why=_short(v, u)),
    "warning": lambda v, u: _(
        "WARNING, no valid go-ahead: {why}. Recorded with this run.",
        why=_short(v, u),
    ),
    "look": lambda v, u: look(v["shortfall"], u),
    "off_limits": lambda v, u: _(
        "OUTSIDE THE LIMITS: {why}. Stop and look.",
        why=_short(v, u),
    ),
    "too_narrow": lambda v, u: _(
        "BELOW THE LIMITS: {why}. Show it to the foreman before more is welded so.",
        why=_short(v, u),
    ),
    "run_ends": mark(
        "STOP THE MACHINE: this run ends at {at}. Say where it stopped: weldcal seam finish {seam} --to PLACE. What is welded past {at} is in doubt; run a strip before the next lap."
    ),
    "sun": lambda v, u: _(
        "The sun is reckoned for {latitude}, {longitude} (degrees north, east).",
        latitude=number(v["latitude"], ".2f"),
        longitude=number(v["longitude"], ".2f"),
    ),
    "no_sun": mark(
        'Where {place} is, this program does not know: the sun goes by the hour alone. Give coordinates: weldcal job place "42.36, -71.06"'
    ),
    "unlisted": _unlisted,
    "past_check": mark("{instrument} is past its check date. Kept, and marked."),
    "pace": _pace,
    "no_start": mark(
        "No run is open on seam {seam} here; the finish is kept by itself until its start is merged or recorded."
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
    "hides_below": mark("It hides of {area}: {seams} ({cover})."),
    "below_not_clean": mark(
        "Of {area}, which this hides, not in order yet: {seams}. How: weldcal cover {area} --look"
    ),
    "embed_granules": mark(
        "End lap over granules: embed them first, and say so: weldcal roof embed {seam}"
    ),
    "look_items": lambda v, u: _(
        "Items, open until settled: {names}. Settle one: weldcal punch settle {first}",
        names=show.listed(v["names"]),
        first=v["names"][0],
    ),
    "leak_stage": lambda v, u: stage(v["leak"], v["stage"]),
    "lot_in_doubt": mark("Lot {lot} is in doubt: {why}."),
    "few_runs": lambda v, u: _(
        "Fewer than three runs do not tell how runs scatter: {share:.0f} % is taken (site setting, no source). Time it three times: --time 218s,221s,216s.",
        share=100 * v["scatter"],
    ),
    "mark_beyond": mark(
        "The dial goes from {low} to {high}; mark {mark} is beyond it. Kept as typed; was it a slip? Measure it again."
    ),
    "nozzle_offset": lambda v, u: _(
        "The nozzle's air is {offset} off its reading. Advice reckons with it from now on.",
        offset=f"{v['offset_k'] * (9 / 5 if u == 'us' else 1):+.0f} °{'F' if u == 'us' else 'C'}",
    ),
    "primer_wet": mark(
        "WET PRIMER burns: no hot air near it until it has dried, as its maker says."
    ),
    "hidden": mark(
        "Seam {seam} is hidden by the next ply: it can be opened up, not probed. Kept, and flagged; a walk on it does not count. If it was opened: weldcal open-up {seam}"
    ),
    "open_up": mark(
        "It is hidden by the next ply: open it up to look at it, weldcal open-up {seam}"
    ),
    "not_hidden": mark("Seam {seam} is not known to be covered. Kept as typed."),
    "not_ended": mark(
        "The hot work has not ended: the watch counts from its end. When it has: weldcal hotwork end"
    ),
    "watch_left": mark("The watch has {left} to go ({source})."),
    "watch_done": mark("The watch was stood for {stood}."),
    "covered_unprobed": mark(
        "WARNING: hidden without being probed clean: {seams}. From now on they can be opened up, not probed. Recorded, and open until answered: weldcal settle."
    ),
    "clock_back": mark(
        "This device's clock stands before its last entry ({at}). The order is kept; set the clock."
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
    "second_start": mark("Run {run} on seam {seam} was begun and not finished. Both are kept."),
    "past_end": mark("{at} is past the end of seam {seam} ({length}). Kept as typed."),
    "no_run": mark("No run is recorded at that place of seam {seam}. Kept."),
    "self_probed": mark("{by} welded this seam and probed it: the record says so."),
    "probed_warm": mark(
        "Seam {seam} was still warm: by the limits it is cold {left} after the walk began. Kept, and flagged; what was warm counts as unprobed. Probe it again when it is cold."
    ),
    "outside_walk": lambda v, u: _(
        "The {kind} at {at} lies outside the walk. Kept as typed.",
        kind=_(v["kind"]),
        at=show.tape(v["at_m"], u),
    ),
    "t_joint": mark(
        "{finding} reaches T-joint {joint}: it concerns seam {seam} as well. Look at both."
    ),
    "mend_short": lambda v, u: _(
        "The limits want the mend to reach from {start} to {end}. Kept as typed.",
        start=show.tape(v["from_m"], u),
        end=show.tape(v["to_m"], u),
    ),
    "power_said": lambda v, u: (
        _("POWER LOST: the go-ahead ends here. If not: weldcal amend {run} power_lost no", **v)
        if v["lost"]
        else _("If the power was lost, say so: weldcal amend {run} power_lost yes", **v)
    ),
    "parted_at_lap": lambda v, u: (
        _("PARTED AT THE LAP: no go-ahead any more; what it puts in doubt: weldcal doubt")
        if v["strip"]
        else _("PARTED AT THE LAP: cold there. Stop and look; what it puts in doubt: weldcal doubt")
    ),
    "load_bare": mark(
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
    "on_hand_strip": mark("It stands on hand strip {name}."),
    "probe_again": mark("Probe it again when it is cold: weldcal probe {seam} ..."),
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
    "several_seams": mark(
        "{seam} is read as the name of one seam. If {first} to {last} were meant, record each by its own name."
    ),
    "same_row": lambda v, u: _(
        "It says the same as row {row}. Kept as another one; was it typed twice?", row=v["above"]
    ),
    "odd_name": mark(
        "A name here has signs nobody sees, or letters of two scripts that look alike. Kept as typed, and flagged."
    ),
    "ahead": mark("That time is ahead of this device's clock. Kept, and flagged."),
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
    text = _(
        "{typed} is off {machine}'s dial, {low} to {high}. Kept as typed; was it a slip?",
        typed=show.safe(v["typed"]),
        machine=show.safe(v["machine"]),
        low=number(v["low"], "g"),
        high=number(v["high"], "g"),
    )
    if v["likely"] is None:
        return text
    return text + " " + _("Was {likely} meant?", likely=number(v["likely"], "g"))


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


def entries_counted(n: int) -> str:
    """`1 entry`, `3 entries`."""
    return plural("{n} entry", "{n} entries", n)


def photos_counted(n: int) -> str:
    """`1 photo`, `3 photos`."""
    return plural("{n} photo", "{n} photos", n)
