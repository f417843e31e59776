"""The operator's verbs: conditions, strips, pulls, runs, bleed checks.

Invariant: what can be kept is kept; what is odd about it is told in notes, and
what was warned of before welding stands in the run's own entry.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded
from weldcal.book.setup import Setup
from weldcal.errors import Misplaced
from weldcal.quality.goahead import Judged, Key, Shortfall, Standing, shortfalls, voids
from weldcal.quantities import DIMENSION, Quantity
from weldcal.records.common import Carried, Conditions, Photo, Seen, Setting
from weldcal.records.fields import same_name
from weldcal.records.seam import BleedCheck, RunFinish, RunStart
from weldcal.records.strip import Pull, Reading, Strip
from weldcal.settings import path_of
from weldcal.words import _

# A reading of the weather older than this is not carried over to a new strip.
CARRY_H = 12.0
_READ_BY = {
    "ambient": ("ambient_c", "C"), "sheet_temp": ("sheet_c", "C"), "under_temp": ("under_c", "C"),
    "humidity": ("humidity_pct", "%"), "wind": ("wind_m_per_s", "m/s"),
    "line_voltage": ("line_v", "V"),
}  # fmt: skip


# What `voids` and `_off_setting` already tell, in their own words.
_TOLD_BY_KEY = {
    "new_day", "other_machine", "other_sheet", "other_lap", "other_nozzle", "nozzle_temperature", "travel_speed",
}  # fmt: skip


class Operator(Setup):
    """Verbs of the person who welds."""

    # -- conditions ---------------------------------------------------------------

    def record_conditions(
        self, conditions: Conditions, *, by: str | None = None, at: str | None = None,
        instrument: str | None = None,
    ) -> Recorded:  # fmt: skip
        """Record conditions read by themselves."""
        record = Reading(seen=self.seen(by, at, instrument), conditions=conditions)
        with self.writing(self.typist(record.seen.by)) as writer:
            reading = writer.add("conditions", record, job=self.job.id)
        return Recorded(reading, _("conditions"), self.told("conditions", reading))

    def last_conditions(self, at: str) -> dict[str, tuple[float, str]]:
        """For each condition, the value last read before `at` within 12 h (SI), and when."""
        until = datetime.fromisoformat(at).timestamp()
        found: dict[str, tuple[float, str]] = {}
        for table in ("conditions", "strips", "runs"):
            rows = self.rows(
                f"SELECT seen_local, seen_utc, carried, ambient_c, sheet_c, under_c, humidity_pct, "
                f"wind_m_per_s, line_v FROM {table} WHERE job = ? ORDER BY seen_utc DESC LIMIT 40",
                (self.job.id,),
            )
            for row in rows:
                age_h = (until - datetime.fromisoformat(row["seen_local"]).timestamp()) / 3600
                if not 0 <= age_h <= CARRY_H:
                    continue
                for name, (column, _unit) in _READ_BY.items():
                    if row[column] is None or f'"{name}"' in row["carried"]:
                        continue
                    if name not in found or found[name][1] < row["seen_local"]:
                        found[name] = (row[column], row["seen_local"])
        return found

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

    def photos(self, files: Sequence[str]) -> tuple[Photo, ...]:
        """Read pictures; they are kept beside the book with the record that names them.

        Raises:
            FileTrouble: one cannot be read.
        """
        if not files:
            return ()
        from weldcal.log.photos import read_photo

        taken = [read_photo(path_of(file)) for file in files]
        self._pictures |= {photo.sha256: data for photo, data in taken}
        return tuple(photo for photo, _data in taken)

    # -- strips ----------------------------------------------------------------------

    def record_strip(self, strip: Strip, typist: str | None = None) -> Recorded:
        """Record a strip; its `name` is given here.

        The notes say what keeps it from being a go-ahead, or that it is one.
        """
        with self.writing(typist or self.typist(strip.seen.by)) as writer:
            named = replace(strip, name=writer.next_name("S", self.job.id))
            strip_id = writer.add("strip", named, job=self.job.id)
        notes = (*self.told("strips", strip_id), *_carried(strip), *self._verdict(strip_id))
        return Recorded(strip_id, named.name, notes)

    def record_pull(self, name: str, pull: Pull) -> Recorded:
        """Fill in a strip's cold stage."""
        row = self.find(name)
        if row["table"] != "strips":
            raise Misplaced(text=name, why=_("a pull is of a strip; type its name, like S1"))
        notes: tuple[Note, ...] = ()
        if row["pulled_utc"]:
            notes = (Note("pulled_twice", {"name": row["name"], "first": row["bond"]}),)
        with self.writing(self.typist(pull.seen.by)) as writer:
            writer.add("pull", pull, job=self.job.id, about=row["id"])
        return Recorded(row["id"], row["name"], (*notes, *self._verdict(row["id"])))

    def strips_on_day(self, at: str) -> int:
        """How many strips the job's day of that time has."""
        found = self.rows(
            "SELECT count(*) AS n FROM strips WHERE job = ? AND day = ?",
            (self.job.id, self._day(at)),
        )
        return int(found[0]["n"])

    def strips(self) -> list[dict[str, Any]]:
        """All strips, in the order they were seen, with readings, judgement and shortfalls."""
        rows = self.rows(
            "SELECT * FROM strips WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        )
        return self.marked(self._judged(rows))

    def _judged(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        widths = self._readings(rows)
        for row in rows:
            readings = widths.get(row["id"], [])
            row["widths_mm"] = [r["width_mm"] for r in readings]
            row["readings"] = [r["text"] for r in readings]
            row["shortfalls"] = self._shortfalls(row)
        return rows

    def _readings(self, rows: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
        """Readings by the id of their strip or bleed check, for these rows."""
        few = len(rows) < 200
        places = ", ".join("?" * len(rows))
        where, values = (
            (f'"of" IN ({places})', [r["id"] for r in rows]) if few else ("job = ?", [self.job.id])
        )
        found: dict[str, list[dict[str, Any]]] = {}
        for reading in self.rows(f'SELECT * FROM readings WHERE {where} ORDER BY "of", n', values):
            found.setdefault(reading["of"], []).append(reading)
        return found

    def _shortfalls(self, row: dict[str, Any]) -> tuple[Shortfall, ...]:
        strip = Judged(
            widths_mm=tuple(row["widths_mm"]), bubbling=row["bubbling"], bond=row["bond"],
            damp=bool(row["damp"]), exposed_mat=bool(row["exposed_mat"]),
        )  # fmt: skip
        return shortfalls(strip, self.acceptance(row["sheet"], row["seen_utc"]))

    def _verdict(self, strip_id: str) -> tuple[Note, ...]:
        (row,) = self._judged(self.rows("SELECT * FROM strips WHERE id = ?", (strip_id,)))
        if not row["shortfalls"]:
            return (Note("go_ahead", {k: row[k] for k in ("name", "machine", "sheet", "lap")}),)
        return tuple(Note("short", {"shortfall": short}) for short in row["shortfalls"])

    # -- the go-ahead -------------------------------------------------------------------

    def go_ahead(self, key: Key, at: str) -> tuple[dict[str, Any] | None, tuple[Shortfall, ...]]:
        """The strip that permits welding `key` at a time, else the nearest, and what voided it.

        Returns:
            (strip row, ()) where one stands; (strip row, what voided it) where the
            last one no longer does; (None, (no_go_ahead,)) where there never was one.
        """
        best: tuple[dict[str, Any], tuple[Shortfall, ...]] | None = None
        for strip in self._passed(_utc(at)):
            void = voids(self._standing(strip), key, self._day(at))  # fmt: skip
            if not void:
                return strip, ()
            if best is None or len(void) < len(best[1]):
                best = (strip, void)
        return best or (None, (Shortfall("no_go_ahead", {}),))

    def _passed(self, until: str) -> list[dict[str, Any]]:
        """The last strips that met the limits, newest first."""
        rows = self.rows(
            "SELECT * FROM strips WHERE job = ? AND bond = 'good' AND coalesce(pulled_utc, seen_utc) <= ? "
            "ORDER BY seen_utc DESC, tick DESC LIMIT 60",
            (self.job.id, until),
        )
        return [strip for strip in self._judged(rows) if not strip["shortfalls"]]

    def _standing(self, strip: dict[str, Any]) -> Standing:
        return Standing(
            id=strip["id"], name=strip["name"],
            key=Key(strip["machine"], strip["sheet"], strip["lap"], strip["nozzle_width_mm"]),
            day=strip["day"], nozzle_c=strip["nozzle_c"],
            speed_m_per_min=strip["true_speed_m_per_min"] or strip["speed_m_per_min"],
        )  # fmt: skip

    def _day(self, at: str) -> str:
        local = datetime.fromisoformat(at)
        return (local - timedelta(hours=self.job.day_begins)).date().isoformat()

    # -- seams ----------------------------------------------------------------------------

    def start_run(
        self, seam: str, start: Quantity, setting: Setting | None, conditions: Conditions, seen: Seen,
        *, roll_lot: str | None = None, note: str | None = None,
    ) -> Recorded:  # fmt: skip
        """Begin a run. Never refused: what speaks against it is warned of and kept with it."""
        strip: dict[str, Any] | None = None
        against: list[Shortfall] = []
        looks: list[Shortfall] = []
        if setting is not None:
            width = setting.nozzle_width.si("mm") if setting.nozzle_width else None
            key = Key(setting.machine, setting.sheet, setting.lap, width)
            strip, void = self.go_ahead(key, seen.at)
            moved, looks = (
                self._moved(strip, setting, conditions, seen, roll_lot)
                if strip and not void
                else ([], [])
            )
            off = self._off_setting(strip, setting) if strip and not void else []
            against = [*void, *moved, *off]
        open_runs = self.open_runs(seam)
        notes = [Note("warning", {"shortfall": short}) for short in against]
        notes += [Note("look", {"shortfall": short}) for short in looks]
        notes += [Note("second_start", {"seam": seam, "run": run["name"]}) for run in open_runs]
        with self.writing(self.typist(seen.by)) as writer:
            record = RunStart(
                name=writer.next_name("R", self.job.id), seam=seam, seen=seen, start=start, setting=setting,
                conditions=conditions, go_ahead=strip["id"] if strip and not against else None,
                by_hand=setting is None, roll_lot=roll_lot, note=note,
                warnings=tuple(short.code for short in against),
            )  # fmt: skip
            run_id = writer.add("run", record, job=self.job.id)
        values = {"go_ahead": strip["name"] if strip and not against else None}
        return Recorded(
            run_id,
            record.name,
            (*self.told("runs", run_id), *notes, *self._seam_notes(seam, start)),
            values,
        )

    def _moved(
        self, strip: dict[str, Any], setting: Setting, conditions: Conditions, seen: Seen, roll_lot: str | None
    ) -> tuple[list[Shortfall], list[Shortfall]]:  # fmt: skip
        """What has moved since the strip: what calls for a new one, and what for a look."""
        from weldcal.book.standing import GoAheads, start_event

        assert isinstance(self, GoAheads)
        extra = start_event(setting, conditions, seen, self._day(seen.at), roll_lot)
        now = self.go_ahead_stands(strip["machine"], strip["sheet"], strip["lap"], seen.at, extra)
        holding = [t for t in now.triggers if t.until_s is None and t.code not in _TOLD_BY_KEY]
        found = {
            level: [
                Shortfall(f"moved_{t.code}", dict(t.values)) for t in holding if t.level == level
            ]
            for level in ("strip_again", "look")
        }
        return found["strip_again"], found["look"]

    def _off_setting(self, strip: dict[str, Any], setting: Setting) -> list[Shortfall]:
        """Whether a run is set otherwise than its go-ahead, beyond one step of the dial."""
        found = []
        nozzle = setting.nozzle.si("C")
        if abs(nozzle - strip["nozzle_c"]) > 10:
            found.append(
                Shortfall("other_nozzle_temperature", {"was_c": strip["nozzle_c"], "now_c": nozzle})
            )
        was, same_unit = strip["speed_m_per_min"], DIMENSION[setting.speed.unit] != "mark"
        if was is None or not same_unit:
            was, now = strip["dial_mark"], float(setting.speed.number)
            unit = ""
        else:
            now, unit = setting.speed.si("m/min"), "m/min"
        step = self._dial_step(setting.machine, unit)
        if was is not None and abs(now - was) > step * 1.01:
            found.append(Shortfall("other_speed", {"was": was, "now": now, "unit": unit}))
        return found

    def _dial_step(self, machine: str, unit: str) -> float:
        found = self.rows(
            "SELECT dial, dial_step FROM machines WHERE job = ? AND name = ?",
            (self.job.id, machine),
        )
        if not found:
            return 0.1
        step, dial = found[0]["dial_step"], found[0]["dial"]
        return step * 0.3048 if dial == "ft/min" and unit else float(step)

    def open_runs(self, seam: str | None = None) -> list[dict[str, Any]]:
        """Runs begun and not finished, newest last."""
        where, values = ("AND seam_key = ?", [same_name(seam)]) if seam else ("", [])
        return self.rows(
            f"SELECT * FROM runs WHERE job = ? AND end_m IS NULL {where} ORDER BY tick",
            (self.job.id, *values),
        )

    def finish_run(
        self, seam: str, end: Quantity, seen: Seen, why: str | None = None, power_lost: bool = False
    ) -> Recorded:
        """Finish the run open on a seam; one begun on another device is kept by itself."""
        runs = self.open_runs(seam)
        run = runs[-1] if runs else None
        finish = RunFinish(
            seam=run["seam"] if run else seam,
            seen=seen,
            end=end,
            why=why,
            power_lost=power_lost or None,
        )
        with self.writing(self.typist(seen.by)) as writer:
            entry = writer.add(
                "run-finish", finish, job=self.job.id, about=run["id"] if run else None
            )
        notes = self._seam_notes(seam, end)
        if run is None:
            return Recorded(entry, seam, (*notes, Note("no_start", {"seam": seam})))
        length = abs(end.si("m") - run["start_m"])
        return Recorded(run["id"], run["name"], notes, {"length_m": length})

    def record_bleed(self, check: BleedCheck) -> Recorded:
        """Record a bleed check on a seam, judged by the limits in force."""
        with self.writing(self.typist(check.seen.by)) as writer:
            named = replace(check, name=writer.next_name("B", self.job.id))
            check_id = writer.add("bleed", named, job=self.job.id)
        run = self.run_at(check.seam, check.at.si("m"))
        notes = [*self.told("bleeds", check_id), *self._seam_notes(check.seam, check.at)]
        if run is None:
            notes.append(Note("no_run", {"seam": check.seam}))
        else:
            limits = self.acceptance(run["sheet"] or "", _utc(check.seen.at))
            widths = tuple(reading.si("mm") for reading in check.readings)
            judged = Judged(widths_mm=widths, bubbling=check.bubbling or "none", bond="good")
            notes += [
                Note("off_limits", {"shortfall": short})
                for short in shortfalls(judged, replace(limits, readings_least=1))
            ]
        return Recorded(check_id, named.name, tuple(notes))

    def run_at(self, seam: str, at_m: float) -> dict[str, Any] | None:
        """The run that welded a place of a seam: the last one that reaches it, else the open one."""
        runs = self.rows(
            "SELECT * FROM runs WHERE job = ? AND seam_key = ? ORDER BY tick",
            (self.job.id, same_name(seam)),
        )
        return last_reaching(runs, at_m)

    def _seam_notes(self, seam: str, at: Quantity) -> tuple[Note, ...]:
        key = same_name(seam)
        found = self.rows(
            "SELECT length_m FROM seams WHERE job = ? AND seam_key = ?", (self.job.id, key)
        )
        notes: tuple[Note, ...] = ()
        if not found:
            notes = (Note("unlisted", {"what": "seam", "name": seam, "known": []}),)
        elif (length := found[0]["length_m"]) is not None and at.si("m") > length + 1e-4:
            notes = (Note("past_end", {"seam": seam, "at_m": at.si("m"), "length_m": length}),)
        return (*notes, Note("hidden", {"seam": seam})) if self._hidden(key) else notes

    def _hidden(self, key: str) -> bool:
        """Whether the next ply hides a seam."""
        covers = self.rows("SELECT seams, seen_utc FROM covers WHERE job = ?", (self.job.id,))
        last = max((c["seen_utc"] for c in covers if key in json.loads(c["seams"])), default=None)
        if last is None:
            return False
        opened = self.rows(
            "SELECT 1 FROM openings WHERE job = ? AND seam_key = ? AND seen_utc >= ?",
            (self.job.id, key, last),
        )
        return not opened


def _carried(strip: Strip) -> tuple[Note, ...]:
    seen = datetime.fromisoformat(strip.seen.at)
    return tuple(
        Note("carried", {
            "name": part.name,
            "age_h": (seen - datetime.fromisoformat(part.read_at)).total_seconds() / 3600,
        })
        for part in strip.conditions.carried
    )  # fmt: skip


def last_reaching(runs: list[dict[str, Any]], at_m: float) -> dict[str, Any] | None:
    """Of one seam's runs, in order, the last that reaches a place."""
    return next((run for run in reversed(runs) if _reaches(run, at_m)), None)


def _reaches(run: dict[str, Any], at_m: float) -> bool:
    end = run["end_m"]
    return end is None or min(run["start_m"], end) <= at_m <= max(run["start_m"], end)


def _utc(at: str) -> str:
    from weldcal.tables.rows import utc

    return utc(at)


def _quantity(value: float, unit: str) -> Quantity:
    """A carried-over SI value, as the shortest decimal that is that float."""
    from fractions import Fraction

    return Quantity(text=repr(value), number=Fraction(repr(value)), unit=unit)
