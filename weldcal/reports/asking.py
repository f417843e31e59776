"""The guided day's questions in words: what is asked, what it means, what the day stands at.

Invariant: a question says what Enter does; a question judged by eye offers no answer.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from weldcal.flow.question import NAMED, Question
from weldcal.records.day import Day, Draft, Lap, Reading
from weldcal.records.fields import usual_unit
from weldcal.reports import show
from weldcal.words import _, decimal_mark, mark

Values = dict[str, Any]
_AT_ONCE = 4  # names listed in a question; of more, `?` tells


def label(question: Question, units: str) -> str:
    """What is asked, without what Enter would answer."""
    safe = {k: show.safe(v) if isinstance(v, str) else v for k, v in question.values.items()}
    code = (
        question.code.replace("confirm_", "agree_") if question.kind == "agree" else question.code
    )
    return _ASKED[code](safe, units)


def prompt(question: Question, units: str) -> str:
    """The question as it is shown: with its choices and what Enter answers."""
    asked = label(question, units)
    if (len(question.choices) > 1 and question.kind == "choice") or (
        question.kind in NAMED and 1 < len(question.choices) <= _AT_ONCE
    ):
        listed = ", ".join(_listed(question))
        asked = _("{question} ({choices})", question=asked, choices=listed)
    if question.carried:
        age = show.age(question.values["age_h"])
        return _(
            "{question} [{value}, read {age} ago]", question=asked, value=question.default, age=age
        )
    if "was" in question.values:
        told = {"value": question.values["was"], "age": show.age(question.values["age_h"])}
        return _("{question} ({value} {age} ago: read it, or type same)", question=asked, **told)
    if question.default is not None and question.kind not in ("confirm", "shown"):
        usual = _(question.default) if question.kind == "choice" else _written(question)
        return _("{question} [{value}]", question=asked, value=show.safe(usual))
    if question.optional:
        return _("{question} [leave out]", question=asked)
    return asked


def _written(question: Question) -> str:
    """What Enter answers, a number with the reader's decimal mark."""
    text = question.default or ""
    if question.kind not in ("value", "speed", "walk"):
        return text
    return re.sub(r"(?<=\d)\.(?=\d)", decimal_mark(), text)


def _listed(question: Question) -> list[str]:
    """What can be chosen; numbered, where a word is slow to tell from another."""
    if question.kind in NAMED:
        return [show.safe(name) for name in question.choices]
    words = [_(choice) for choice in question.choices]
    return [f"{n} {word}" for n, word in enumerate(words, 1)] if len(words) > 4 else words


def explained(question: Question, units: str) -> list[str]:
    """What `?` answers: what is meant, how it is typed, what else can be typed here."""
    said = [_(_MEANT[question.code])] if question.code in _MEANT else []
    if question.kind in NAMED and question.choices:
        said.append(_("Known: {names}.", names=show.listed(list(question.choices))))
    if question.code == "which":
        said += [f"- {_(step)}: {_(STEPS[step])}" for step in question.choices]
    if question.kind in ("value", "many") and (unit := usual_unit(question.field, units)):
        said.append(
            _("Without a unit: {unit}. Another unit may follow the number.", unit=show.unit(unit))
        )
    if question.kind == "choice":
        said.append(_("Type a word, its first letter or its number."))
    if question.carried:
        said.append(
            _("Enter keeps the last reading; it is recorded as carried over, with its age.")
        )
    return [*said, keys()]


def keys() -> str:
    """What can be typed at any question."""
    return _("? explains, b goes one back, l leaves this for later, q leaves; all is kept.")


def _stretch(lap: Lap) -> str:
    return f"{lap.start}–{lap.end}" if lap.end else lap.start


def _walk(v: Values, units: str) -> str:
    if "lap" not in v:
        return _("Which seam do you probe? The walk begins with Enter")
    lap = v["lap"]
    said: Values = {
        "seam": show.safe(lap.seam),
        "stretch": _place(lap, units),
        "age": show.age(lap.age_h or 0),
    }
    if lap.mended:
        return _(
            "Probe {seam}, {stretch}, again: {finding} was mended {age} ago. Enter begins the walk",
            finding=lap.mended,
            **said,
        )
    return _("Probe {seam}, {stretch}, welded {age} ago. Enter begins the walk", **said)


def _place(lap: Lap, units: str) -> str:
    """`0–33 ft`."""
    ends = {"a": lap.start, "b": lap.end or lap.start}
    return _("{a}–{b} ft", **ends) if units == "us" else _("{a}–{b} m", **ends)


def _walk_end(v: Values, units: str) -> str:
    if v["found"]:
        return _("Noted: {found}. Anything else? Sound to", found=show.listed(v["found"]))
    return _("Walking {seam} from {start}. Sound to", **v)


def _still(v: Values, units: str) -> str:
    return _("Still so? {read}", read=read_lately(v["read"]))


def read_lately(read: tuple[Reading, ...]) -> str:
    """`air 61F, sheet 74F (40 min ago)`."""
    parts = [_("{name} {value}", name=condition(r.name), value=r.text) for r in read]
    oldest = max(r.age_h for r in read)
    return _("{read} (read {age} ago)", read=", ".join(parts), age=show.age(oldest))


def condition(name: str) -> str:
    """What a condition is called in a line of several."""
    return _(_SHORT.get(name, name))


_SHORT = {
    "ambient": mark("air"),
    "sheet_temp": mark("sheet"),
    "under_temp": mark("lower face"),
    "wind": mark("wind"),
    "humidity": mark("humidity"),
    "line_voltage": mark("line"),
    "gust": mark("gusts"),
    "roll_temp": mark("roll"),
}


def _confirm_strip(v: Values, units: str) -> str:
    if v["readings"]:
        return _(
            "Strip at {nozzle}, {speed}: bleed-out {readings}, bubbling {bubbling}. Enter records it",
            **{**v, "bubbling": _(v["bubbling"])},
        )
    return _(
        "Strip at {nozzle}, {speed}: bubbling {bubbling}. Enter records it",
        **{**v, "bubbling": _(v["bubbling"])},
    )


def _weld(v: Values, units: str) -> str:
    if not v:
        return _("Which seam do you weld?")
    if v["start"] != "0":
        return _("Weld {seam} on from {start}", **v)
    return _("Weld next")


_ASKED: dict[str, Callable[[Values, str], str]] = {
    # opening
    "job_name": lambda v, u: _("Name of the job"),
    "units": lambda v, u: _("Units: °F and ft, or °C and m"),
    "zone": lambda v, u: _("Time zone"),
    "sheet_name": lambda v, u: _("Short name of the sheet"),
    "machine_name": lambda v, u: _("Short name of the hot-air machine"),
    "dial_shows": lambda v, u: _("Its dial shows"),
    "dial_range": lambda v, u: _("Its dial goes from and to"),
    "person_name": lambda v, u: _("Your name"),
    "role": lambda v, u: _("What you do"),
    "confirm_job": lambda v, u: _(
        "Job {job_name}, machine {machine_name}, {person_name}. Enter begins it", **v
    ),
    "who": lambda v, u: _("Who is working?"),
    "new_person": lambda v, u: _("Nobody is listed as {person}. Somebody new?", **v),
    "what": lambda v, u: _("{person} today is", **v),
    "take_up": lambda v, u: _("Something of {date} was not finished. Take it up?", **v),
    "which": lambda v, u: _("What do you want to do?"),
    "confirm_undo": lambda v, u: _(
        "Enter shows what you recorded last; it asks before it is taken back"
    ),
    # operator
    "ambient": lambda v, u: _("Air"),
    "sheet_temp": lambda v, u: _("Sheet's surface"),
    "wind": lambda v, u: _("Wind"),
    "humidity": lambda v, u: _("Relative humidity"),
    "line_voltage": lambda v, u: _("Voltage at the machine, under load"),
    "damp": lambda v, u: _("Is the sheet damp"),
    "confirm_conditions": lambda v, u: _("Enter records the conditions"),
    "cautions": lambda v, u: _("Enter: read, and seen to"),
    "machine": lambda v, u: _("Machine"),
    "sheet": lambda v, u: _("Sheet"),
    "lap": lambda v, u: _("Lap kind"),
    "still": _still,
    "nozzle": lambda v, u: _("Nozzle, as set"),
    "speed": lambda v, u: _("Speed on the dial"),
    "readings": lambda v, u: (
        _("Bleed-out readings, like 1/4,3/16")
        if u == "us"
        else _("Bleed-out readings in mm, like 6, 5, 7")
    ),
    "bubbling": lambda v, u: _("Bubbling"),
    "confirm_strip": _confirm_strip,
    "confirm_dial": lambda v, u: _("Enter works out the speed to try"),
    "pulled": lambda v, u: _("Which strip is pulled"),
    "bond": lambda v, u: _("{pulled} cooled down? The pull was", **v),
    "parted": lambda v, u: _("It parted"),
    "confirm_pull": lambda v, u: _(
        "{pulled}: pull {bond}. Enter records it", **{**v, "bond": _(v["bond"])}
    ),
    "weld": _weld,
    "start": lambda v, u: _("From where"),
    "same_setting": lambda v, u: _("Start {seam} at {nozzle}, {speed}?", **v),
    "confirm_start": lambda v, u: _("Start {weld} at {nozzle}, {speed}. Enter records it", **v),
    "tool": lambda v, u: _("Hand tool"),
    "agree_hand": lambda v, u: _("Start {weld} by hand with {tool} at {nozzle}? Type yes", **v),
    "agree_start": lambda v, u: _(
        "No good go-ahead. Start {weld} at {nozzle}, {speed} all the same? Type yes", **v
    ),
    "welding": lambda v, u: _("Which seam"),
    "lap_what": lambda v, u: _("{seam} is being welded ({run}). Now", **v),
    "at": lambda v, u: _("Checked at"),
    "confirm_check": lambda v, u: _("{seam} at {at}: bleed-out {readings}. Enter records it", **v),
    "end": lambda v, u: (
        _("{seam} welded to (its end is {far})", **v) if v["far"] else _("{seam} welded to", **v)
    ),
    "stopped": lambda v, u: _("Why it ends there"),
    "names": lambda v, u: _("Seams to weld, like A1-A6"),
    "length": lambda v, u: _("Length of each"),
    "confirm_seams": lambda v, u: _("Seams {names}. Enter lists them", **v),
    # inspector
    "walk": _walk,
    "walk_from": lambda v, u: _("Walked from"),
    "walk_end": _walk_end,
    "found_on": lambda v, u: _("Found on seam"),
    "flaw": lambda v, u: _("What"),
    "place": lambda v, u: _("Where, like 14.5 or 3-4"),
    "how": lambda v, u: _("How found"),
    "confirm_finding": lambda v, u: _(
        "{found_on}: {flaw} at {place}, {how}. Enter records it",
        **{**v, "flaw": _(v["flaw"]), "how": _(v["how"])},
    ),
    "mended": lambda v, u: (
        _("Mended: which finding")
        if "finding" not in v
        else _(
            "Mended: which finding ({name}: {kind} on {seam} at {place})",
            name=v["finding"].name,
            kind=_(v["finding"].kind),
            seam=show.safe(v["finding"].seam),
            place=v["finding"].place,
        )
    ),
    "method": lambda v, u: _("How"),
    "patch": lambda v, u: _("Patch size"),
    "confirm_mend": lambda v, u: _("{mended} mended: {method}. Enter records it", **v),
    "confirm_roof": lambda v, u: _("Enter shows every seam"),
    # foreman
    "settled": lambda v, u: (
        _("Warning to answer")
        if "warned" not in v
        else _(
            "Warning to answer: {run} on {seam}, {why}",
            run=v["warned"].run,
            seam=show.safe(v["warned"].where),
            why=_warnings(v["warned"].codes),
        )
    ),
    "what_done": lambda v, u: _("What was done about it"),
    "confirm_settle": lambda v, u: _("{settled}: {what_done}. Enter records it", **v),
    "tomorrow": lambda v, u: _("Evening page. Air expected tomorrow morning"),
    "confirm_seal": lambda v, u: _("Enter seals the day"),
    "hand_to": lambda v, u: _("Who gets seal {seal}, outside the crew", **v),
    "hand_how": lambda v, u: _("Handed as"),
    "confirm_hand": lambda v, u: _("Seal to {hand_to}. Enter records it", **v),
    "want_dossier": lambda v, u: _("Write the dossier now?"),
}

_MEANT = {
    "job_name": mark("One roof contract. Everything recorded belongs to it."),
    "units": mark("What a bare number means on this job; a unit can be typed anywhere."),
    "zone": mark("Where the roof is, like America/Denver: times are recorded on that clock."),
    "sheet_name": mark("The membrane that is lapped, by a word the crew uses, like base."),
    "machine_name": mark("A word the crew uses for the machine, like blue."),
    "dial_range": mark(
        "The lowest and the highest it can be set to, like 1-20: a slip is told by it."
    ),
    "dial_shows": mark("A dial with bare numbers shows marks."),
    "person_name": mark("Only name and initials are kept."),
    "who": mark(
        "What is recorded now is recorded as seen by this person. A new name may be typed."
    ),
    "which": mark("Enter takes what comes next."),
    "ambient": mark("In the shade, away from the machine."),
    "sheet_temp": mark("On the sheet itself, in the sun if it lies in the sun."),
    "line_voltage": mark("While the machine heats. A low one takes heat away: look at the cord."),
    "damp": mark(
        "Dew, rain, frost or a wet film anywhere on the lap: yes. Then nobody welds on it."
    ),
    "cautions": mark("Nothing hot before these are seen to."),
    "still": mark(
        "Yes: the readings are carried over with their age. No: each is asked for. Old readings need a look: Enter alone does not say yes."
    ),
    "nozzle": mark("What the machine's display is set to, not what was measured."),
    "speed": mark("What the dial shows. The default is the speed advised for just this setting."),
    "readings": mark(
        "Width of the bleed-out at places along the strip, with commas. 0: none seen."
    ),
    "bubbling": mark(
        "Look at the bleed-out and the edge: none, trace or heavy. It is the sign of too much heat."
    ),
    "bond": mark(
        "Good: it parts in the compound or in the reinforcement over the whole width. Cold: it comes apart clean where the sheets meet. Only when the strip is cold; not yet? Type l: it is asked for again another time."
    ),
    "parted": mark("Where it came apart, if you looked."),
    "pulled": mark("Which of the strips that wait for their pull."),
    "lap_what": mark(
        "Never type while the machine travels. Check: bleed-out read on the seam. Finish: this run ends."
    ),
    "end": mark("Distance from the chalked zero end."),
    "stopped": mark(
        "A stop ends a run; the next begins a new one. After the power was lost a new strip is due."
    ),
    "weld": mark("Any seam's name may be typed, listed or not."),
    "names": mark("A name, or many at once: A1-A6."),
    "walk": mark(
        "Draw a blunt probe along the cold lap. Enter takes the time. Another seam's name may be typed."
    ),
    "walk_end": mark(
        "Enter at the end of the walk takes the time: sound to there. Stopped before? Type how far. Found something? Type it, like void 14.5 3in x 1/2in, and go on."
    ),
    "flaw": mark("What was seen, probed or cut."),
    "what_done": mark("In a few words: strip run at once and good; lap probed."),
    "tomorrow": mark("For the speed to start with tomorrow; Enter leaves it out."),
    "confirm_seal": mark(
        "A short code over all that is recorded. Hand it to somebody outside the crew."
    ),
    "hand_to": mark(
        "The owner's representative, say. Whoever holds the code can show later that nothing was changed."
    ),
    "want_dossier": mark("The warranty file, as HTML and PDF; it takes a moment."),
}

# Steps by the word that is typed for them.
STEPS = {
    mark("conditions"): mark("air, sheet, wind as read now"),
    mark("cautions"): mark("before hot air"),
    mark("dial"): mark("the speed to try, and how sure"),
    mark("strip"): mark("a test strip"),
    mark("pull"): mark("a strip pulled cold"),
    mark("start"): mark("begin a lap"),
    mark("lap"): mark("check or finish the lap in work"),
    mark("seams"): mark("list seams to weld"),
    mark("probe"): mark("walk a cold lap"),
    mark("finding"): mark("a finding by itself"),
    mark("mend"): mark("a finding mended"),
    mark("roof"): mark("every seam and its state"),
    mark("settle"): mark("answer a warning"),
    mark("evening"): mark("the page of the day"),
    mark("seal"): mark("seal the day"),
    mark("hand"): mark("hand the seal over"),
    mark("dossier"): mark("the warranty file"),
    mark("undo"): mark("take back what was recorded by mistake"),
}


def heading(day: Day, draft: Draft) -> list[str]:
    """Where and who, and how the day stands."""
    first = _(
        "{job}, {date}. {person}, {role}.",
        job=show.safe(day.job),
        date=show.clock(day.now),
        person=show.safe(draft.person),
        role=_(draft.role or ""),
    )
    return [first, *standing(day, draft.role or "")]


def standing(day: Day, role: str) -> list[str]:
    """How the day stands, in a few lines."""
    if role == "operator":
        return _operator(day)
    said = []
    if role == "foreman":
        said += (
            [
                _(
                    "Still being welded: {seams}.",
                    seams=show.listed([lap.seam for lap in day.welding]),
                )
            ]
            if day.welding
            else []
        )
    unprobed = [lap for lap in day.to_probe if not lap.mended]
    mended = [lap for lap in day.to_probe if lap.mended]
    if unprobed:
        said.append(_("Unprobed: {seams}.", seams=_few(unprobed)))
    elif not day.hidden and not day.warm:
        said.append(_("Nothing welded is unprobed."))
    if day.hidden:
        shown = _some(list(day.hidden))
        said.append(
            _("Hidden by the next ply and unproven, to be opened up: {seams}.", seams=shown)
        )
    if day.warm:
        shown = _some([f"{seam} {at}" for seam, at in day.warm])
        said.append(_("Still warm, to be probed from then on: {seams}.", seams=shown))
    if mended:
        said.append(_("Mended, to be probed again: {seams}.", seams=_few(mended)))
    if day.findings:
        said.append(
            _("Findings open: {names}.", names=_some([f"{f.name} {f.seam}" for f in day.findings]))
        )
    return said


def _few(laps: list[Lap]) -> str:
    return _some([f"{lap.seam} {_stretch(lap)}" for lap in laps], 4)


def _some(names: list[str], most: int = 6) -> str:
    """The first names, and how many more there are."""
    shown, left = show.listed(names[:most]), len(names) - most
    return shown if left <= 0 else _("{seams} and {n} more", seams=shown, n=left)


def _warnings(codes: tuple[str, ...]) -> str:
    from weldcal.reports import sentences

    return "; ".join(sentences.warning(code) for code in codes)


def _operator(day: Day) -> list[str]:
    from weldcal.reports import standing_line  # not before the first question

    said = [standing_line.told(day.standing, day.units)]
    if day.waiting:
        said.append(_("To be pulled when cold: {names}.", names=show.listed(list(day.waiting))))
    if day.welding:
        said.append(
            _("Being welded: {seams}.", seams=show.listed([lap.seam for lap in day.welding]))
        )
    return said


def nothing_left(role: str, put_off: tuple[str, ...], day: Day) -> str:
    """What is said where nothing comes next; `put_off`: steps left for later."""
    if put_off:
        return _("Left for later: {steps}.", steps=show.listed([_(step) for step in put_off]))
    if role == "inspector" and day.warm:
        return _("Nothing else is cold enough to be probed.")
    return {
        "operator": lambda: _("Nothing is left to weld."),
        "inspector": lambda: _("Nothing is left to probe."),
        "foreman": lambda: _("The evening is done."),
    }[role]()
