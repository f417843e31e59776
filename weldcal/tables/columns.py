"""Columns that several kinds of record share: SI floats from exact quantities, times, people, flags.

Invariant: a float is made here or in `rows`, and nowhere else, as the nearest
to the exact value in the column's unit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, cast

import msgspec

from weldcal.json_values import Payload
from weldcal.log.entry import Entry
from weldcal.quantities import DIMENSION, Quantity
from weldcal.records.common import Conditions, Photo, Seen, Setting
from weldcal.records.fields import same_name
from weldcal.row_types import columns as shared
from weldcal.row_types.strips import ReadingRow
from weldcal.tables.fold import Subject

if TYPE_CHECKING:
    from weldcal.row_types.work import OnColumns, StageColumns

# A table and a row of it; what makes them of a record takes its subject, the record that its
# kind decodes to, and the hour at which the job's day begins.
Row = tuple[str, Mapping[str, object]]
Maker = Callable[..., list[Row]]
TAKEN_BACK = "withdrawn"  # where the rows of what was taken back are, whatever their kind
_sorted, _spaced = msgspec.json.Encoder(order="sorted").encode, msgspec.json.format
LATE_H = 1.0
AHEAD_H = 5 / 60


@lru_cache(maxsize=64)  # a record asks for its times more than once, and so does the next
def _moment(at: str) -> tuple[datetime, str]:
    """A time, and the same in UTC as text."""
    moment = datetime.fromisoformat(at)
    return moment, moment.astimezone(UTC).isoformat(timespec="seconds")


@lru_cache(maxsize=64)
def _on(at: str, begins: int) -> tuple[str, float]:
    """The day that a time belongs to where days begin at that hour, and the hour of the clock."""
    local, _utc = _moment(at)
    day = (local - timedelta(hours=begins)).date().isoformat()
    return day, round(local.hour + local.minute / 60, 4)


def utc(at: str) -> str:
    """A time in UTC, sortable as text."""
    return _moment(at)[1]


def late_h(entered: str, seen: str) -> float:
    """Hours between when something was seen and when it was entered."""
    return _hours(_moment(entered)[0] - _moment(seen)[0])


def _hours(span: timedelta) -> float:
    return span.total_seconds() / 3600


def si(quantity: Quantity | None, unit: str) -> float | None:
    """A quantity as a float in a unit; None where there is none."""
    return None if quantity is None else quantity.si(unit)


def on(seam: str) -> OnColumns:
    """The seam as typed, and the form under which two spellings are one seam."""
    return {"seam": seam, "seam_key": same_name(seam)}


def photos(taken: tuple[Photo, ...]) -> str:
    """The names of photos."""
    return as_json([photo.sha256 for photo in taken])


@lru_cache(maxsize=1024)
def listed(words: tuple[str, ...]) -> str:
    """Words as a JSON list, cached: the same few come up again and again."""
    return as_json(words)


def also(flags: str, code: str) -> str:
    """A row's flags and one more."""
    return listed((*msgspec.json.decode(flags), code))


def as_json(value: object) -> str:
    """A payload's value as JSON, as `json.dumps(value, sort_keys=True)` writes it.

    msgspec writes the same five times as fast, but for signs that `json` escapes. Not for floats.
    """
    data = _spaced(_sorted(value), indent=0)
    if data.isascii() and b"\\" not in data and b"\x7f" not in data:
        return data.decode()
    import json

    return json.dumps(value, sort_keys=True)


def flag(value: bool | None) -> int | None:
    """Yes as 1, no as 0, None where nobody said."""
    return None if value is None else int(value)


def job_of(subject: Subject) -> str:
    """The job of a row. No program makes an entry of no job: a row of one has none either."""
    return cast("str", subject.job)


def named(subject: Subject, name: str) -> shared.NamedColumns:
    """What every row of a subject has."""
    base = subject.base.says
    return {
        "id": base.id,
        "job": job_of(subject),
        "device": base.device,
        "tick": base.tick,
        "name": name,
    }


def seen(subject: Subject, seen: Seen, begins: int, name: str | None = None) -> shared.SeenColumns:
    """What every row of an observation has: when, by whom, how late, and its flags."""
    base = subject.base.says
    (local, seen_utc), (entered, entered_utc) = _moment(seen.at), _moment(base.at)
    late = _hours(entered - local)
    day, hour = _on(seen.at, begins)
    flags = []
    if late > LATE_H:
        flags.append("late")
    if late < -AHEAD_H:
        flags.append("ahead of the clock")
    if seen.by != base.who:
        flags.append("entered by another")
    if subject.corrected:
        flags.append("amended")
    if subject.conflicts:
        flags.append("conflict")
    if subject.filled:
        flags += _stage_flags(subject)
    return {
        **named(subject, name or ""),
        "seen_utc": seen_utc,
        "seen_local": seen.at,
        "day": day,
        "hour": hour,
        "seen_by": seen.by,
        "entered_by": base.who,
        "entered_utc": entered_utc,
        "late_h": round(late, 3),
        "instrument": seen.instrument,
        "flags": listed(tuple(flags)),
    }


def stage(subject: Subject, entry: Entry, payload: Payload) -> StageColumns:
    """What a row of its own for a later stage has: whose it is, who, when, how late."""
    seen_at = payload["seen"]["at"]
    return {
        "id": entry.id,
        "job": job_of(subject),
        "of": subject.id,
        "seen_by": payload["seen"]["by"],
        "seen_utc": utc(seen_at),
        "seen_local": seen_at,
        "tick": entry.tick,
        "entered_by": entry.who,
        "late_h": round(late_h(entry.at, seen_at), 3),
    }


_STAGE_MARKS = {
    "pull": ("pull late", "pull entered by another"),
    "run-finish": ("finish late", "finish entered by another"),
    "hot-work-end": ("end late", "end entered by another"),
    "watch": ("watch late", "watch entered by another"),
}


def _stage_flags(subject: Subject) -> list[str]:
    """What was filled in late, or entered by another than who saw it."""
    flags = []
    for entry, payload in subject.filled:
        marks = _STAGE_MARKS.get(entry.kind)
        if marks is None:
            continue
        if late_h(entry.at, payload["seen"]["at"]) > LATE_H:
            flags.append(marks[0])
        if payload["seen"]["by"] != entry.who:
            flags.append(marks[1])
    return list(dict.fromkeys(flags))


def conditions(c: Conditions) -> shared.ConditionsColumns:
    """Weather, line voltage and damp, and which of them were carried over."""
    carried = {part.name: part.read_at for part in c.carried}
    return {
        "ambient_c": si(c.ambient, "C"),
        "sheet_c": si(c.sheet_temp, "C"),
        "under_c": si(c.under_temp, "C"),
        "humidity_pct": si(c.humidity, "%"),
        "wind_m_per_s": si(c.wind, "m/s"),
        "line_v": si(c.line_voltage, "V"),
        "damp": flag(c.damp),
        "gust_m_per_s": si(c.gust, "m/s"),
        "roll_c": si(c.roll_temp, "C"),
        "sky": c.sky,
        "supply": c.supply,
        "carried": as_json(carried) if carried else "{}",
    }


def _carried(s: Setting) -> str | None:
    """What nobody typed, and when the strip was made that it was taken from."""
    if not s.carried:
        return None
    return as_json({part.name: part.read_at for part in s.carried})


def setting(s: Setting) -> shared.StripSettingColumns:
    """What the machine was set to."""
    speed = s.speed
    bare = speed is not None and DIMENSION[speed.unit] == "mark"
    return {
        "machine": s.machine,
        "sheet": s.sheet,
        "lap": s.lap,
        "nozzle_c": s.nozzle.si("C"),
        "nozzle_measured_c": si(s.nozzle_measured, "C"),
        "speed_m_per_min": None if bare else si(speed, "m/min"),
        "dial_mark": float(speed.number) if speed is not None and bare else None,
        "speed_text": speed.text if speed is not None else None,
        "speed_unit": speed.unit if speed is not None else None,
        "nozzle_text": s.nozzle.text,
        "nozzle_unit": s.nozzle.unit,
        "true_speed_m_per_min": si(s.true_speed, "m/min"),
        "air_flow_pct": si(s.air_flow, "%"),
        "nozzle_width_mm": si(s.nozzle_width, "mm"),
        "roller_load_n": si(s.roller_load, "N"),
        "setting_carried": _carried(s),
    }


def _median(widths: list[float]) -> float | None:
    """The median; `statistics` would bring `random` along, a thirtieth of a recording."""
    ordered, half = sorted(widths), len(widths) // 2
    if not ordered:
        return None
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def readings(readings: tuple[Quantity, ...]) -> shared.ReadingsColumns:
    """What readings of bleed-out come to."""
    widths = [reading.si("mm") for reading in readings]
    return {
        "readings_n": len(widths),
        "width_median_mm": _median(widths),
        "width_min_mm": min(widths, default=None),
        "width_max_mm": max(widths, default=None),
    }


def reading_rows(subject: Subject, readings: tuple[Quantity, ...]) -> list[Row]:
    """A row for each reading."""
    rows: list[ReadingRow] = [
        {
            "id": f"{subject.id}:{n}",
            "job": job_of(subject),
            "of": subject.id,
            "n": n,
            "width_mm": reading.si("mm"),
            "text": reading.text,
        }
        for n, reading in enumerate(readings, 1)
    ]
    return [("readings", row) for row in rows]
