"""Conditions as last read, and which of them are carried over to the next record.

Invariant: what was carried over was not read; a reading counts for `CARRY_H` hours.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.quantities import Quantity
from weldcal.records.common import Carried, Conditions
from weldcal.records.times import seconds, stamp
from weldcal.tables.columns import utc

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.calibration.observation import Beside


# A reading of the weather older than this is not carried over to a new strip.
CARRY_H = 12.0


# Conditions that are read again, or carried over, and the unit they are kept in.
KEPT_IN = {
    "ambient": "C",
    "sheet_temp": "C",
    "under_temp": "C",
    "humidity": "%",
    "wind": "m/s",
    "line_voltage": "V",
    "gust": "m/s",
    "roll_temp": "C",
}


class _Read(TypedDict):
    seen_local: str
    carried: str
    ambient_c: float | None
    sheet_c: float | None
    under_c: float | None
    humidity_pct: float | None
    wind_m_per_s: float | None
    line_v: float | None
    gust_m_per_s: float | None
    roll_c: float | None


_READ = ", ".join(_Read.__annotations__)
_READ_IN = ("conditions", "strips", "runs")


class _Damp(TypedDict):
    damp: int
    seen_local: str


class Airs:
    """The air and the wind as read on a job: what `LastRead.conditions` says, for many times."""

    def __init__(self, rows: Iterable[_Read]) -> None:
        """Take rows of any kind of entry, in any order."""
        self._read: dict[str, list[tuple[float, float]]] = {"ambient": [], "wind": []}
        for row in sorted(rows, key=lambda row: seconds(row["seen_local"])):
            for name, value in _read_now(row).items():
                if name in self._read:
                    self._read[name].append((seconds(row["seen_local"]), value))

    def at(self, local: str) -> tuple[float | None, float | None]:
        """The air, °C, and the wind, m/s, as last read by a time; None where not within 12 h.

        Args:
            local: the time, ISO 8601.
        """
        return self._last("ambient", seconds(local)), self._last("wind", seconds(local))

    def beside(
        self, read_at: str | None, air_c: float | None, wind_m_per_s: float | None
    ) -> Beside | None:
        """The weather of the hour at which a sheet was read, where it was read again since.

        Args:
            read_at: when the sheet was read, ISO 8601; None where it is read now, or not at all.
            air_c, wind_m_per_s: the weather as it counts now.
        """
        from weldcal.calibration.observation import Beside

        if read_at is None or self.at(read_at) == (air_c, wind_m_per_s):
            return None
        return Beside(*self.at(read_at))

    def _last(self, name: str, until: float) -> float | None:
        read = self._read[name]
        last = bisect_right(read, until, key=lambda one: one[0]) - 1
        if last < 0 or until - read[last][0] > CARRY_H * 3600:
            return None
        return read[last][1]


class LastRead(Service):
    """Conditions as last read on a job."""

    _reader: JobReader

    def conditions(self, at: str) -> dict[str, tuple[float, str]]:
        """For each condition, the value last read within 12 h before a time, and when.

        Args:
            at: the time, ISO 8601.

        Returns:
            By the condition's name: its value, SI, and when it was read on the job's clock.
        """
        until = seconds(at)
        read: dict[str, tuple[float, str]] = {}
        for table in _READ_IN:
            rows = self._reader.select(
                _Read,
                f"SELECT {_READ} FROM {table} WHERE job = ? AND seen_utc <= ? "
                "ORDER BY seen_utc DESC LIMIT 40",
                (self._reader.job.id, utc(at)),
            )
            for row in rows:
                age_h = (until - seconds(row["seen_local"])) / 3600
                if not 0 <= age_h <= CARRY_H:
                    continue
                for name, value in _read_now(row).items():
                    if name not in read or read[name][1] < row["seen_local"]:
                        read[name] = (value, row["seen_local"])
        return read

    def airs(self) -> Airs:
        """The air and the wind at any time, asked of the book once."""
        every = " UNION ALL ".join(
            f"SELECT {_READ} FROM {table} WHERE job = ?1 "
            "AND (ambient_c IS NOT NULL OR wind_m_per_s IS NOT NULL)"
            for table in _READ_IN
        )
        return Airs(self._reader.select(_Read, every, (self._reader.job.id,)))

    def noted_damp(self, at: str | None = None) -> bool:
        """Whether the sheet was last noted damp by a time, within the hours a reading counts.

        Args:
            at: the time, ISO 8601; now, where not given.
        """
        at = at or stamp(self._reader.now())
        job = self._reader.job.id
        every = " UNION ALL ".join(
            f"SELECT damp, seen_local, seen_utc FROM {table} WHERE job = ?1 AND damp IS NOT NULL "
            "AND seen_utc <= ?2"
            for table in ("conditions", "strips", "runs")
        )
        noted = self._reader.select(
            _Damp,
            f"SELECT damp, seen_local FROM ({every}) ORDER BY seen_utc DESC LIMIT 1",
            (job, utc(at)),
        )
        if not noted:
            return False
        age_h = (seconds(at) - seconds(noted[0]["seen_local"])) / 3600
        return bool(noted[0]["damp"]) and age_h <= CARRY_H

    def carry_over(self, conditions: Conditions, at: str) -> Conditions:
        """Fill what was not read now with the last reading of the day, marked as carried over.

        Args:
            conditions: as read now.
            at: when, ISO 8601.
        """
        last = self.conditions(at)
        filled: dict[str, Quantity] = {}
        carried = []
        for name, unit in KEPT_IN.items():
            if getattr(conditions, name) is None and name in last:
                value, read_at = last[name]
                filled[name] = quantity_of(value, unit)
                carried.append(Carried(name=name, read_at=read_at))
        return replace(conditions, **filled, carried=tuple(carried))


def _read_now(row: _Read) -> dict[str, float]:
    """Values read with a row, by the condition's name; without those carried over."""
    values = {
        "ambient": row["ambient_c"],
        "sheet_temp": row["sheet_c"],
        "under_temp": row["under_c"],
        "humidity": row["humidity_pct"],
        "wind": row["wind_m_per_s"],
        "line_voltage": row["line_v"],
        "gust": row["gust_m_per_s"],
        "roll_temp": row["roll_c"],
    }
    return {
        name: value
        for name, value in values.items()
        if value is not None and f'"{name}"' not in row["carried"]
    }


def quantity_of(value: float, unit: str) -> Quantity:
    """A carried-over SI value, as the shortest decimal that is that float.

    Args:
        value: SI.
        unit: of the value.
    """
    return Quantity(text=repr(value), number=Fraction(repr(value)), unit=unit)
