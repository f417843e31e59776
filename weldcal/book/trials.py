"""A machine's strips one after another: whether it is taken out, by `quality.taken_out`.

Invariant: what was advised as sure is read from the advice as it was recorded, never
worked out again.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, TypedDict

from msgspec.json import decode

from weldcal.book.job_reader import AS_LISTED
from weldcal.quality.goahead import Tried, near_setting
from weldcal.quality.taken_out import TakenOut, Trial, taken_out
from weldcal.records.limits import DEFAULTS
from weldcal.records.times import seconds
from weldcal.row_types.strips import StripRow

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.strips import Strips
    from weldcal.views.rows import TriedStrip


class _Advice(TypedDict):
    tick: int
    question: str
    answer: str


# What happened longer ago than this is the machine's history (site setting, no source).
LOOKED_BACK = timedelta(days=30)


def machine_out(
    reader: JobReader,
    limits: Limits,
    strips: Strips,
    machine: str,
    at_utc: str,
    *,
    by_hand: bool = False,
) -> TakenOut | None:
    """Whether a machine (a hand tool) of the job is taken out at a time.

    Args:
        reader, limits, strips: of the job.
        machine: its name.
        at_utc: the time asked about, UTC.
        by_hand: it is a hand tool.
    """
    since = (datetime.fromisoformat(at_utc) - LOOKED_BACK).astimezone(UTC).isoformat()
    span = (reader.job.id, machine, since, at_utc)
    tried = reader.select(
        StripRow,
        "SELECT * FROM strips WHERE job = ? AND machine = ? AND seen_utc >= ? AND seen_utc <= ? "
        f"AND by_hand = {int(by_hand)} ORDER BY seen_utc, tick, device",
        span,
    )
    if len(tried) < 2:
        return None
    advice = reader.part(_Advice, "advice", f"AND tick < ? {AS_LISTED}", tried[-1]["tick"])
    causes = reader.column(
        str,
        "SELECT seen_local FROM causes WHERE job = ? AND machine = ? AND seen_utc >= ? "
        "AND seen_utc <= ?",
        span,
    )
    in_force = limits.limits(at_utc, DEFAULTS)
    return taken_out(
        [_trial(row, advice) for row in strips.judged(tried)],
        list(map(seconds, causes)),
        int(in_force["failures_out"].value.number),
        int(in_force["passes_in"].value.number),
    )


def tried(row: TriedStrip) -> Tried:
    """A strip's setting, and what it fell short of.

    Args:
        row: the strip, judged.
    """
    mark, speed = row["dial_mark"], row["speed_m_per_min"]
    return Tried(
        row["nozzle_c"],
        mark if speed is None else speed,
        frozenset(s.code for s in row["shortfalls"]),
    )


def _trial(row: TriedStrip, advice: list[_Advice]) -> Trial:
    before = [one for one in advice if one["tick"] < row["tick"]]
    sure = bool(before) and _was_sure(before[-1], row)
    return Trial(seconds(row["seen_local"]), row["name"], tried(row), sure)


def _was_sure(advice: _Advice, strip: TriedStrip) -> bool:
    """Whether the advice before a strip was sure, and of the strip's own setting."""
    question, answer = (decode(advice[part]) for part in ("question", "answer"))
    best = answer.get("forecast")
    if not answer.get("sure") or best is None:
        return False
    asked = tuple(question.get(part) for part in ("day", "machine", "sheet", "lap"))
    if asked != (strip["day"], strip["machine"], strip["sheet"], strip["lap"]):
        return False
    advised = Tried(float(best["nozzle_c"]), float(best["speed_m_per_min"]), frozenset())
    return near_setting(tried(strip), advised)
