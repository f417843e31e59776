"""The inspector's day: what is unprobed, walk by walk; findings; mends to be probed again.

Invariant: the answer that begins a walk is its start time, and the answer that
ends it its end time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.errors import WeldcalError
from weldcal.flow import site, weather
from weldcal.flow.question import (
    FOUND,
    WHEN,
    WORD,
    Call,
    Calls,
    Given,
    Question,
    Said,
    Step,
    Term,
    clock,
    got,
    seen_at,
    when,
)
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.records.day import Day, DayLap
from weldcal.records.examples import example
from weldcal.records.fields import read_place, same_name
from weldcal.words import mark

if TYPE_CHECKING:
    from weldcal.intake.probe_line import ProbeLine


def due(day: Day) -> Iterator[str]:
    """Steps that are due, in order."""
    if day.to_probe:
        yield "probe"
    if day.findings:
        yield "mend"
    if day.needs.samples:
        yield site.PEEL.code


def _walk(day: Day, given: Given) -> Iterator[Question]:
    yield _which_walk(day)
    yield Question("walk_from", "value", mark("Walked from"), field="distance", default="0")
    yield _walk_end(given, day.units)
    if joints := _joints_on(day, given):
        yield Question(
            "joint",
            "name",
            mark("T-joints on the way: {joints}. One of them open or bad? Which"),
            mark("A T-joint is probed with the lap it lies on. Enter: nothing found at any."),
            choices=joints,
            optional=True,
            values={"joints": joints},
        )
        if got(given, "joint"):
            yield Question("joint_flaw", "choice", mark("What"), choices=_FLAWS)


def _which_walk(day: Day) -> Question:
    first = next(iter(day.to_probe), None)
    values: dict[str, Said] = {}
    if first:
        age, finding = first.age_h or 0.0, first.mended or ""
        values = {"seam": first.seam, "stretch": first, "age": age, "finding": finding}
    return Question(
        "walk",
        "name",
        _which(first),
        mark(
            "Draw a blunt probe along the cold lap. Enter takes the time. Another seam's name "
            "may be typed."
        ),
        choices=_seams(day),
        default=first.seam if first else None,
        values=values,
    )


def _walk_end(given: Given, units: str) -> Question:
    seam, start = (got(given, code) or "" for code in ("walk", "walk_from"))
    findings = _found(given)
    return Question(
        "walk_end",
        "walk",
        mark("Noted: {found}. Anything else? Sound to")
        if findings
        else mark("Walking {seam} from {start}. Sound to"),
        mark(
            "Enter at the end of the walk takes the time: sound to there. Stopped before? Type "
            "how far. Found something? Type it, like void {like}, and go on."
        ),
        field="distance",
        default=got(given, "walk_to"),
        values={
            "seam": seam,
            "start": start,
            "found": findings,
            "like": example("found", units),
        },
    )


def _joints_on(day: Day, given: Given) -> tuple[str, ...]:
    """T-joints on the stretch that was to be walked."""
    ends = (got(given, code) or "" for code in ("walk_from", "walk_to"))
    low, high = (weather.si("distance", end, day.units) for end in ends)
    return tuple(
        joint.name
        for joint in day.needs.joints
        if same_name(joint.seam) == same_name(got(given, "walk") or "")
        and (low is None or joint.at_m > low - SAME_PLACE_M)
        and (high is None or joint.at_m < high + SAME_PLACE_M)
    )


def _which(lap: DayLap | None) -> str:
    if lap is None:
        return mark("Which seam do you probe? The walk begins with Enter")
    if lap.mended:
        return mark(
            "Probe {seam}, {stretch}, again: {finding} was mended {age} ago. Enter begins the walk"
        )
    return mark("Probe {seam}, {stretch}, welded {age} ago. Enter begins the walk")


def _seams(day: Day) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lap.seam for lap in day.to_probe))


def _found(given: Given) -> tuple[str, ...]:
    return tuple(answer.text for answer in given if answer.code == FOUND and answer.text)


def _walked(day: Day, given: Given, call: Call) -> Calls:
    """The walk, and what was found at a T-joint on the way."""
    walk = _walk_call(day, given)
    joint, flaw = got(given, "joint"), got(given, "joint_flaw")
    if not joint:
        return (walk,)
    return (
        walk,
        Call("finding", (joint, flaw, "0")).adding(how="probed", at=walk.options.get("--at")),
    )


def _walk_call(day: Day, given: Given) -> Call:
    """The walk; with findings, as one line read already."""
    seam, start, end = (got(given, code) or "" for code in ("walk", "walk_from", "walk_end"))
    began = when(given, "walk")
    started = clock(day, began) if began and not got(given, WHEN) else None
    at = seen_at(day, given, when(given, "walk_end"))
    if _bare(end) and not _found(given):
        return Call("probe", (seam, f"{start}-{end}")).adding(started=started, at=at)
    from weldcal.intake.probe_line import ProbeLine, read_probe  # not before the first question

    try:
        sound = (read_place(start, day.units), read_place(end, day.units))
        last = ProbeLine(sound=(sound,))
    except WeldcalError:  # a line, not a distance alone
        last = read_probe([end], day.units)
    line = _together([last, *(read_probe([text], day.units) for text in _found(given))])
    if line.started is None and started and " " not in started:  # added to the rest, of today
        line, started = replace(line, started=started), None
    return Call("probe", (seam, line)).adding(started=started, at=at, yes=True)


def _together(lines: Sequence[ProbeLine]) -> ProbeLine:
    """What was said at the end and on the way, as one line: a note swallows nothing."""
    from weldcal.intake.probe_line import ProbeLine

    notes = "; ".join(line.note for line in lines if line.note)
    times = next((line for line in lines if line.started), lines[0])
    return ProbeLine(
        sound=tuple(one for line in lines for one in line.sound),
        found=tuple(one for line in lines for one in line.found),
        started=times.started,
        ended=times.ended,
        note=notes or None,
        whole=any(line.whole for line in lines),
    )


def _bare(text: str) -> bool:
    return re.fullmatch(r"[\d.]+", text) is not None


def _walk_implied(day: Day, given: Given) -> dict[str, str | None]:
    """Where a walk begins and should end, as it was when it began."""
    lap = next((lap for lap in day.to_probe if lap.seam == got(given, "walk")), None)
    return {"walk_from": lap.start, "walk_to": lap.end} if lap else {}


_FLAWS = ("void", "cold", "fishmouth", "scorched", "wrinkle", "blister", "other")


def _finding(day: Day, given: Given) -> Iterator[Question]:
    seams = _seams(day)
    yield Question(
        "found_on",
        "name",
        mark("Found on seam"),
        option=WORD,
        choices=seams,
        default=seams[0] if len(seams) == 1 else None,
    )
    yield Question(
        "flaw",
        "choice",
        mark("What"),
        mark("What was seen, probed or cut."),
        option=WORD,
        choices=_FLAWS,
    )
    yield Question(
        "place",
        "stretch",
        mark("Where, like {place} or {part}"),
        option=WORD,
        seen=True,
        values={name: example(name, day.units) for name in ("place", "part")},
    )
    yield Question(
        "how",
        "choice",
        mark("How found"),
        option="--how",
        unsaid="seen",
        choices=("seen", "probed", "cut"),
        default="seen",
    )
    yield Question(
        "confirm_finding", asks=mark("{found_on}: {flaw} at {place}, {how}. Enter records it")
    )


def _mend(day: Day, given: Given) -> Iterator[Question]:
    first = day.findings[0] if day.findings else None
    yield Question(
        "mended",
        "choice",
        mark("Mended: which finding ({name}: {kind} on {seam} at {place})")
        if first
        else mark("Mended: which finding"),
        option=WORD,
        choices=tuple(finding.name for finding in day.findings),
        default=first.name if first else None,
        values={
            "name": first.name,
            "kind": Term(first.kind),
            "seam": first.seam,
            "place": first.place,
        }
        if first
        else {},
    )
    yield Question("method", "text", mark("How"), option="--method", seen=True, default="patch")
    yield Question(
        "patch", "value", mark("Patch size"), field="patch", option="--patch", optional=True
    )
    yield Question("confirm_mend", asks=mark("{mended} mended: {method}. Enter records it"))


def _roof(day: Day, given: Given) -> Iterator[Question]:
    yield Question("confirm_roof", asks=mark("Enter shows every seam"))


ROOF = Step(mark("roof"), mark("every seam and its state"), _roof, "roof", skips=True)
STEPS = (
    Step(
        mark("probe"),
        mark("walk a cold lap"),
        _walk,
        "probe",
        ("walk",),
        _walked,
        _walk_implied,
        dated=True,
    ),
    Step(
        mark("finding"), mark("a finding by itself"), _finding, "finding", ("finding",), dated=True
    ),
    Step(mark("mend"), mark("a finding mended"), _mend, "mend", ("mend",), dated=True),
    site.PEEL,
    ROOF,
)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of a day."""
    return tuple(step.code for step in STEPS if step.code != "mend" or day.findings)
