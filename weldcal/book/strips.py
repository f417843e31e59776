"""Strips and what they permit: conditions, strips, pulls, the go-ahead.

Invariant: what can be kept is kept, and what is odd about it is told in notes;
a strip is judged by the limits in force when it was seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from weldcal.book.core import Note, SpeedSeen
from weldcal.quality.goahead import Judged, Key, Shortfall, Standing, shortfalls, voids
from weldcal.quantities import Quantity, retyped
from weldcal.records.common import Carried, Conditions
from weldcal.records.common import Setting as SetTo
from weldcal.records.day import Setting
from weldcal.records.fields import read as read_field
from weldcal.records.fields import same_name
from weldcal.records.plausible import Dial, Slip, far_slip, speed_slip, weather_slips
from weldcal.records.times import stamp
from weldcal.tables.columns import utc

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marks


_AT_ONCE = 1000  # rows whose readings are looked up one by one


# A reading of the weather older than this is not carried over to a new strip.
CARRY_H = 12.0


_READ_BY = {
    "ambient": ("ambient_c", "C"),
    "sheet_temp": ("sheet_c", "C"),
    "under_temp": ("under_c", "C"),
    "humidity": ("humidity_pct", "%"),
    "wind": ("wind_m_per_s", "m/s"),
    "line_voltage": ("line_v", "V"),
    "gust": ("gust_m_per_s", "m/s"),
    "roll_temp": ("roll_c", "C"),
}


class Strips:
    """Test strips with their verdicts, and conditions as last read."""

    def __init__(self, reader: JobReader, limits: Limits, marks: Marks) -> None:
        self._reader = reader
        self._limits = limits
        self._marks = marks

    def last_conditions(self, at: str) -> dict[str, tuple[float, str]]:
        """For each condition, the value last read before `at` within 12 h (SI), and when."""
        until = _stamp_s(at)
        found: dict[str, tuple[float, str]] = {}
        for table in ("conditions", "strips", "runs"):
            rows = self._reader.rows(
                f"SELECT seen_local, seen_utc, carried, ambient_c, sheet_c, under_c, humidity_pct, "
                f"wind_m_per_s, line_v, gust_m_per_s, roll_c FROM {table} WHERE job = ? ORDER BY seen_utc DESC LIMIT 40",
                (self._reader.job.id,),
            )
            for row in rows:
                age_h = (until - _stamp_s(row["seen_local"])) / 3600
                if not 0 <= age_h <= CARRY_H:
                    continue
                for name, (column, _unit) in _READ_BY.items():
                    if row[column] is None or f'"{name}"' in row["carried"]:
                        continue
                    if name not in found or found[name][1] < row["seen_local"]:
                        found[name] = (row[column], row["seen_local"])
        return found

    def noted_damp(self, at: str | None = None) -> bool:
        """Whether the sheet was last noted damp by a time, within the hours a reading counts."""
        at = at or stamp(self._reader.now())
        job = self._reader.job.id
        noted = self._reader.rows(
            " UNION ALL ".join(
                f"SELECT damp, seen_local, seen_utc FROM {table} WHERE job = ?1 AND damp IS NOT NULL "
                "AND seen_utc <= ?2"
                for table in ("conditions", "strips", "runs")
            )
            + " ORDER BY seen_utc DESC LIMIT 1",
            (job, utc(at)),
        )
        if not noted:
            return False
        age_h = (_stamp_s(at) - _stamp_s(noted[0]["seen_local"])) / 3600
        return bool(noted[0]["damp"]) and age_h <= CARRY_H

    def carry_over(self, conditions: Conditions, at: str) -> Conditions:
        """Fill what was not read now with the last reading of the day, marked as carried over."""
        last = self.last_conditions(at)
        filled: dict[str, Quantity] = {}
        carried = []
        for name, (_column, unit) in _READ_BY.items():
            if getattr(conditions, name) is None and name in last:
                value, read_at = last[name]
                filled[name] = _quantity(value, unit)
                carried.append(Carried(name=name, read_at=read_at))
        return replace(conditions, **filled, carried=tuple(carried))

    def unlikely(
        self,
        setting: SetTo | None,
        read: Conditions,
        at: str,
        beside: SpeedSeen | None = None,
    ) -> tuple[Note, ...]:
        """What is likely a slip of the hand: asked back before it is kept, and flagged after.

        Off the machine's dial, weather that hardly is, or a speed far from that of the strip
        before on that machine and sheet. What was carried over was asked when it was read.

        Args:
            setting: of the strip; None where only the weather was read.
            read: the weather.
            at: when.
            beside: a speed of that machine and sheet before then that is not in the book yet.
        """
        read = replace(read, **dict.fromkeys((p.name for p in read.carried), None), carried=())
        if setting is None:
            return tuple(_slip_note(slip) for slip in weather_slips(read))
        speed = setting.speed
        dials = [d for d in self._dials_listed() if _same_machine(d, setting.machine)]
        off = [slip for dial in dials if speed and (slip := speed_slip(speed, dial))]
        found = tuple(_slip_note(slip) for slip in [*off, *weather_slips(read)])
        if speed is None or off:
            return found
        then = self._speed_before(setting, at)
        if beside and (then is None or then.seen_utc <= beside.seen_utc):
            then = beside
        if then is None:
            return found
        name = "mark" if then.unit == "mark" else "speed"
        last = read_field(name, then.text, self._reader.job.units, then.unit)
        far = far_slip(speed, last)
        return (*found, Note("far_from_last", far.values)) if far else found

    def _speed_before(self, setting: SetTo, at: str) -> SpeedSeen | None:
        """The last speed of a machine and sheet before a moment."""
        rows = self._reader.rows(
            "SELECT seen_utc, speed_text, speed_unit FROM strips WHERE job = ? AND machine = ? AND sheet = ? "
            "AND NOT by_hand AND seen_utc < ? ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (self._reader.job.id, setting.machine, setting.sheet, utc(at)),
        )
        return SpeedSeen(*rows[0].values()) if rows else None

    def _dials_listed(self) -> list[Dial]:
        """What each machine's dial goes from and to, as listed."""
        rows = self._reader.rows(
            "SELECT name, dial, dial_low, dial_high FROM machines WHERE job = ?",
            (self._reader.job.id,),
        )
        return [Dial(r["name"], r["dial"], r["dial_low"], r["dial_high"]) for r in rows]

    def strips_on_day(self, at: str) -> int:
        """How many strips the job's day of that time has."""
        found = self._reader.rows(
            "SELECT count(*) AS n FROM strips WHERE job = ? AND day = ?",
            (self._reader.job.id, self.day_of(at)),
        )
        return int(found[0]["n"])

    def strips(self) -> list[dict[str, Any]]:
        """All strips, in the order they were seen, with readings, judgement and shortfalls."""
        rows = self._reader.rows(
            "SELECT * FROM strips WHERE job = ? ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        )
        return self._marks.marked(self.judged(rows))

    def last_setting(self, machine: str | None = None, sheet: str | None = None) -> Setting | None:
        """The last strip's setting, on a machine and sheet where they are named, to be taken over."""
        rows = self._reader.rows(
            "SELECT * FROM strips WHERE job = ?1 AND NOT by_hand AND (?2 IS NULL OR machine = ?2) AND (?3 IS NULL OR sheet = ?3) "
            "ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (self._reader.job.id, machine, sheet),
        )
        return setting_of(rows[0]) if rows else None

    def judged(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Rows of strips with their readings, and what each falls short of."""
        widths = self.readings_of(rows)
        dials = self._dials_listed()
        for row in rows:
            readings = widths.get(row["id"], [])
            row["widths_mm"] = [r["width_mm"] for r in readings]
            row["readings"] = [r["text"] for r in readings]
            row["shortfalls"] = self._shortfalls(row, dials)
        return rows

    def readings_of(self, rows: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
        """Readings by the id of their strip or bleed check, for these rows."""
        few = len(rows) <= _AT_ONCE
        places = ", ".join("?" * len(rows))
        where, values = (
            (f'"of" IN ({places})', [r["id"] for r in rows])
            if few
            else ("job = ?", [self._reader.job.id])
        )
        found: dict[str, list[dict[str, Any]]] = {}
        for reading in self._reader.rows(
            f'SELECT * FROM readings WHERE {where} ORDER BY "of", n', values
        ):
            found.setdefault(reading["of"], []).append(reading)
        return found

    def _shortfalls(self, row: dict[str, Any], dials: Sequence[Dial]) -> tuple[Shortfall, ...]:
        strip = Judged(
            widths_mm=tuple(row["widths_mm"]),
            bubbling=row["bubbling"],
            bond=row["bond"],
            damp=bool(row["damp"]),
            exposed_mat=bool(row["exposed_mat"]),
            parted=row["parted"],
            bonded_mm=row["bonded_mm"],
            cooled_min=_minutes(row["seen_utc"], row["pulled_utc"]),
            off_dial=_off_dial(row, dials),
        )
        limits = self._limits.acceptance(row["sheet"], row["seen_utc"])
        if row["by_hand"]:  # a hand strip is judged by its bond
            limits = replace(limits, by_bleed_out=False)
        return shortfalls(strip, limits)

    def verdict_of(self, row: dict[str, Any]) -> tuple[Note, ...]:
        """What to say of a strip just judged."""
        if not row["shortfalls"]:
            return (Note("go_ahead", {k: row[k] for k in ("name", "machine", "sheet", "lap")}),)
        return tuple(Note("short", {"shortfall": short}) for short in row["shortfalls"])

    def go_ahead(self, key: Key, at: str) -> tuple[dict[str, Any] | None, tuple[Shortfall, ...]]:
        """The strip that permits welding `key` at a time, else the nearest, and what voided it.

        Returns:
            (strip row, ()) where one stands; (strip row, what voided it) where the
            last one no longer does; (None, (no_go_ahead,)) where there never was one.
        """
        best: tuple[dict[str, Any], tuple[Shortfall, ...]] | None = None
        for strip in self.passed(utc(at), by_hand=key.hand is not None):
            void = voids(self._standing(strip), key, self.day_of(at))
            if not void:
                return strip, ()
            if best is None or len(void) < len(best[1]):
                best = (strip, void)
        own = self._newest_short(key, utc(at))
        if own is not None and (best is None or best[0]["machine"] != key.machine):
            return None, (own,)
        return best or (None, (Shortfall("no_go_ahead", {}),))

    def _newest_short(self, key: Key, until: str) -> Shortfall | None:
        """The newest strip of a machine, sheet and lap kind, where it fell short of the limits."""
        rows = self._reader.rows(
            "SELECT * FROM strips WHERE job = ? AND machine = ? AND sheet = ? AND lap = ? "
            "AND seen_utc <= ? AND by_hand = ? AND (seen_by = ? OR NOT by_hand) "
            "ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (
                self._reader.job.id,
                key.machine,
                key.sheet,
                key.lap,
                until,
                int(key.hand is not None),
                key.hand,
            ),
        )
        short = [row["name"] for row in self.judged(rows) if row["shortfalls"]]
        return Shortfall("own_strip_short", {"name": short[0]}) if short else None

    def passed(self, until: str, *, by_hand: bool = False) -> list[dict[str, Any]]:
        """The last strips that met the limits, newest first, by machine or by hand."""
        rows = self._reader.rows(
            "SELECT * FROM strips WHERE job = ? AND bond = 'good' AND coalesce(pulled_utc, seen_utc) <= ? "
            "AND by_hand = ? ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 60",
            (self._reader.job.id, until, int(by_hand)),
        )
        return [strip for strip in self.judged(rows) if not strip["shortfalls"]]

    def _standing(self, strip: dict[str, Any]) -> Standing:
        return Standing(
            id=strip["id"],
            name=strip["name"],
            key=Key(
                strip["machine"],
                strip["sheet"],
                strip["lap"],
                strip["nozzle_width_mm"],
                strip["seen_by"] if strip["by_hand"] else None,
            ),
            day=strip["day"],
            nozzle_c=strip["nozzle_c"],
            speed_m_per_min=strip["true_speed_m_per_min"] or strip["speed_m_per_min"],
        )

    def day_of(self, at: str) -> str:
        """The job's local day of a time."""
        local = datetime.fromisoformat(at)
        return (local - timedelta(hours=self._reader.job.day_begins)).date().isoformat()


def _stamp_s(at: str) -> float:
    return datetime.fromisoformat(at).timestamp()


def _minutes(start_utc: str, end_utc: str | None) -> float | None:
    if end_utc is None:
        return None
    between = datetime.fromisoformat(end_utc) - datetime.fromisoformat(start_utc)
    return between.total_seconds() / 60


def _same_machine(dial: Dial, machine: str) -> bool:
    return same_name(dial.machine) == same_name(machine)


def _off_dial(strip: dict[str, Any], dials: Sequence[Dial]) -> dict[str, Any] | None:
    """Machine, low and high of a dial that does not have the strip's speed."""
    mark = strip["dial_mark"]
    number, unit = (strip["speed_m_per_min"], "m/min") if mark is None else (mark, "mark")
    if number is None:
        return None
    speed = _quantity(number, unit)
    for dial in dials:
        if _same_machine(dial, strip["machine"]) and speed_slip(speed, dial):
            return {"machine": dial.machine, "low": dial.low, "high": dial.high}
    return None


def _slip_note(slip: Slip) -> Note:
    if slip.code == "off_dial":
        return Note("off_dial", slip.values)
    if slip.code == "wind_hardly":
        return Note("wind_hardly", slip.values)
    return Note("sheet_hardly", slip.values)


def _quantity(value: float, unit: str) -> Quantity:
    """A carried-over SI value, as the shortest decimal that is that float."""
    from fractions import Fraction

    return Quantity(text=repr(value), number=Fraction(repr(value)), unit=unit)


def setting_of(strip: dict[str, Any]) -> Setting:
    """A strip's setting, as it was typed."""
    speed_unit = "" if strip["speed_unit"] == "mark" else strip["speed_unit"]
    return Setting(
        strip["machine"],
        strip["sheet"],
        strip["lap"],
        retyped(strip["nozzle_text"], strip["nozzle_unit"]),
        retyped(strip["speed_text"], speed_unit),
    )
