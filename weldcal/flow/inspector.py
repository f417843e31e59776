"""The inspector's day: what is unprobed, walk by walk; findings; mends to be probed again.

Invariant: the answer that begins a walk is its start time, and the answer that
ends it its end time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.errors import WeldcalError
from weldcal.flow.question import (
    FOUND,
    Given,
    Question,
    Step,
    Words,
    clock,
    command,
    got,
    seen_at,
    when,
    with_unit,
)
from weldcal.records.day import Day, Lap
from weldcal.records.fields import read_place

if TYPE_CHECKING:
    from weldcal.intake.probe_line import ProbeLine


def due(day: Day) -> Iterator[str]:
    """Steps that are due, in order."""
    if day.to_probe:
        yield "probe"
    if day.findings:
        yield "mend"


def _walk(day: Day, given: Given) -> Iterator[Question]:
    known = tuple(dict.fromkeys(lap.seam for lap in day.to_probe))
    first = day.to_probe[0] if day.to_probe else None
    yield Question(
        "walk",
        "name",
        choices=known,
        default=first.seam if first else None,
        values={"lap": first} if first else {},
    )
    yield Question("walk_from", "value", "distance", default="0")
    told = {
        "seam": got(given, "walk") or "",
        "start": got(given, "walk_from") or "",
        "found": _found(given),
    }
    yield Question("walk_end", "walk", "distance", default=got(given, "walk_to"), values=told)


def _found(given: Given) -> list[str]:
    return [answer.text for answer in given if answer.code == FOUND and answer.text]


def _walk_words(day: Day, given: Given) -> Words:
    seam, end, found = got(given, "walk"), got(given, "walk_end") or "", _found(given)
    start = got(given, "walk_from") or "0"
    began = when(given, "walk")
    started = clock(day, began) if began else None
    at = seen_at(day, when(given, "walk_end"))
    if _bare(end) and not found:
        return [command("probe", seam, f"{start}-{end}", started=started, at=at)]
    from weldcal.intake.probe_line import typed_again  # not before the first question

    if _bare(end) or _length(end):
        known = start if _bare(end) else with_unit(start, "distance", day.units)
        end = f"sound {known} to {end}"
    line = _one_line([end, *found], day.units)
    if line.started is None and started and " " not in started:  # told with the rest, of today
        line, started = replace(line, started=started), None
    return [[*command("probe", seam, typed_again(line), started=started, at=at), "--yes"]]


def _one_line(said: list[str], units: str) -> ProbeLine:
    """What was said on the way and at the end, as one line: a note swallows nothing."""
    from weldcal.intake.probe_line import ProbeLine, read_probe

    lines = [read_probe([part], units) for part in said]
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


def _length(text: str) -> bool:
    """Whether it is a distance alone, with a unit or as a fraction; else it is a line."""
    try:
        read_place(text, "us")
        return True
    except WeldcalError:
        return False


def _walk_implied(day: Day, given: Given) -> dict[str, str | None]:
    """Where a walk begins and should end, as it was when it began."""
    lap = _of(day, got(given, "walk"))
    return {"walk_from": lap.start, "walk_to": lap.end} if lap else {}


def _of(day: Day, seam: str | None) -> Lap | None:
    return next((lap for lap in day.to_probe if lap.seam == seam), None)


_FLAWS = ("void", "cold", "fishmouth", "scorched", "wrinkle", "blister", "other")


def _finding(day: Day, given: Given) -> Iterator[Question]:
    known = tuple(dict.fromkeys(lap.seam for lap in day.to_probe))
    yield Question("found_on", "name", choices=known, default=known[0] if len(known) == 1 else None)
    yield Question("flaw", "choice", choices=_FLAWS)
    yield Question("place", "stretch")
    yield Question("how", "choice", choices=("seen", "probed", "cut"), default="seen")
    told = {code: got(given, code) or "" for code in ("found_on", "flaw", "place", "how")}
    yield Question("confirm_finding", values=told)


def _finding_words(day: Day, given: Given) -> Words:
    how = got(given, "how")
    return [
        command(
            "finding",
            got(given, "found_on"),
            got(given, "flaw"),
            got(given, "place"),
            how=how if how != "seen" else None,
            at=seen_at(day, when(given, "place")),
        )
    ]


def _mend(day: Day, given: Given) -> Iterator[Question]:
    known = tuple(finding.name for finding in day.findings)
    first = day.findings[0] if day.findings else None
    yield Question(
        "mended",
        "choice",
        choices=known,
        default=first.name if first else None,
        values={"finding": first} if first else {},
    )
    yield Question("method", "text", default="patch")
    yield Question("patch", "value", "patch", optional=True)
    told = {code: got(given, code) or "" for code in ("mended", "method", "patch")}
    yield Question("confirm_mend", values=told)


def _mend_words(day: Day, given: Given) -> Words:
    at = seen_at(day, when(given, "method"))
    return [
        command(
            "mend",
            got(given, "mended"),
            method=got(given, "method"),
            patch=got(given, "patch"),
            at=at,
        )
    ]


def _roof(day: Day, given: Given) -> Iterator[Question]:
    yield Question("confirm_roof")


STEPS = (
    Step("probe", ("walk",), _walk, _walk_words, _walk_implied),
    Step("finding", ("finding",), _finding, _finding_words),
    Step("mend", ("mend",), _mend, _mend_words),
    Step("roof", (), _roof, lambda day, given: [["roof"]]),
)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of a day."""
    return tuple(step.code for step in STEPS if step.code != "mend" or day.findings)
