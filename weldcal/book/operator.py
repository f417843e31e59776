"""The operator's verbs on a seam: runs, bleed checks.

Invariant: what can be kept is kept; what is odd about it is told in notes, and
what was warned of before welding stands in the run's own entry.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, TypeVar

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded
from weldcal.book.hiding import Hiding
from weldcal.errors import EndUnknown
from weldcal.quality.coverage import past_end
from weldcal.quality.goahead import (
    Judged,
    Key,
    Looked,
    Shortfall,
    no_look_mends,
    shortfalls,
)
from weldcal.quantities import Quantity
from weldcal.records.codec import decode
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.fields import END, is_end, same_name
from weldcal.records.seam import BleedCheck, Finding, Mend, Peel, RunFinish, RunStart, Walk
from weldcal.rules.welded import by_seam, moment, run_that_welded
from weldcal.tables.columns import utc
from weldcal.tables.projector import subject_of

Placed = TypeVar("Placed", BleedCheck, Finding, Mend, Peel, Walk)

# What `voids` already tells, in its own words.
_TOLD_BY_KEY = {
    "new_day",
    "other_machine",
    "other_sheet",
    "other_lap",
    "other_nozzle",
}


class Operator(Hiding):
    """Verbs of the person who welds."""

    def start_run(
        self,
        seam: str,
        start: Quantity,
        setting: Setting | None,
        conditions: Conditions,
        seen: Seen,
        *,
        roll_lot: str | None = None,
        note: str | None = None,
    ) -> Recorded:
        """Begin a run. Never refused: what speaks against it is warned of and kept with it."""
        strip: dict[str, Any] | None = None
        against = [Shortfall("hand_not_said", {})] if setting is None else []
        looks: list[Shortfall] = []
        if setting is not None:
            width = setting.nozzle_width.si("mm") if setting.nozzle_width else None
            hand = seen.by if setting.by_hand else None
            key = Key(setting.machine, setting.sheet, setting.lap, width, hand)
            strip, void = self.go_ahead(key, seen.at)
            moved, looks = (
                self._moved(strip, setting, conditions, seen, roll_lot)
                if strip and not void
                else ([], [])
            )
            listed = self.lap_of(seam)
            if listed is not None and listed != setting.lap:
                told = {"was": listed, "now": setting.lap}
                moved.append(Shortfall("other_lap_than_listed", told))
            against = [*void, *moved]
        start = self.placed(seam, start)
        open_runs = self.open_runs(seam)
        notes = list(self.unlikely(setting, conditions, seen.at)) if setting is not None else []
        notes += [Note("warning", {"shortfall": short}) for short in against]
        notes += [Note("look", {"shortfall": short}) for short in looks]
        notes += self._under_and_of(seam, roll_lot)
        notes += [Note("second_start", {"seam": seam, "run": run["name"]}) for run in open_runs]
        with self.writing(self.typist(seen.by)) as writer:
            record = RunStart(
                name=writer.next_name("R", self.job.id),
                seam=seam,
                seen=seen,
                start=start,
                setting=setting,
                conditions=conditions,
                go_ahead=strip["id"] if strip and not against else None,
                by_hand=setting is None or bool(setting.by_hand),
                roll_lot=roll_lot,
                note=note,
                warnings=tuple(short.code for short in against),
            )
            run_id = writer.add("run", record, job=self.job.id)
        values = {"go_ahead": strip["name"] if strip and not against else None}
        return Recorded(
            run_id,
            record.name,
            (*self.told("runs", run_id), *notes, *self._seam_notes(seam, start, seen)),
            values,
        )

    def _under_and_of(self, seam: str, roll_lot: str | None) -> list[Note]:
        """What the substrate's last look, and the roll's lot, say against welding here."""
        notes = []
        for row in self.rows(
            "SELECT u.* FROM substrates u JOIN seams s ON s.job = u.job AND lower(s.area) = lower(u.area) "
            "WHERE u.job = ? AND s.seam_key = ? ORDER BY u.seen_utc DESC, u.tick DESC LIMIT 1",
            (self.job.id, same_name(seam)),
        ):
            short = [name for name in ("dry", "primed", "clean") if row[name] == 0]
            if short:
                notes.append(Note("substrate_short", {"area": row["area"], "short": short}))
        if same_name(seam) in self.bare_granules():
            notes.append(Note("embed_granules", {"seam": seam}))
        if roll_lot:
            notes += [
                Note("lot_in_doubt", {"lot": row["lot"], "why": row["why"]})
                for row in self.rows(
                    "SELECT lot, why FROM lot_doubts WHERE job = ? ORDER BY seen_utc, tick",
                    (self.job.id,),
                )
                if same_name(row["lot"]) == same_name(roll_lot)
            ]
        return notes

    def _moved(
        self,
        strip: dict[str, Any],
        setting: Setting,
        conditions: Conditions,
        seen: Seen,
        roll_lot: str | None,
    ) -> tuple[list[Shortfall], list[Shortfall]]:
        """What has moved since the strip: what calls for a new one, and what for a look."""
        from weldcal.book.standing import GoAheads, start_event

        assert isinstance(self, GoAheads)
        extra = start_event(setting, conditions, seen, self._day(seen.at), roll_lot)
        now = self.verdict_on(strip, seen.at, extra)
        holding = [t for t in now.triggers if t.until_s is None and t.code not in _TOLD_BY_KEY]
        found = {
            level: [
                Shortfall(f"moved_{t.code}", dict(t.values)) for t in holding if t.level == level
            ]
            for level in ("wait", "strip_again", "look")
        }
        return found["wait"] + found["strip_again"], found["look"]

    def placed(self, seam: str, place: Quantity) -> Quantity:
        """A place along a seam as a distance: its end is as far as the seam is listed.

        Raises:
            EndUnknown: the end was typed, and no length is listed.
        """
        if not is_end(place):
            return place
        length = self.seam_length(seam)
        if length is None:
            raise EndUnknown(seam=seam, example="33ft" if self.job.units == "us" else "10m")
        return Quantity(text=END, number=length.number, unit=length.unit)

    def placed_in(self, record: Placed) -> Placed:
        """A record of something along a seam, with its places as distances."""
        found = {
            name: self.placed(record.seam or "", place)
            for name in ("start", "end", "at")
            if (place := getattr(record, name, None)) is not None
        }
        return replace(record, **found)

    def slack_then(self, seen: Seen) -> float:
        """How near two places along a lap counted as one when something was seen, m."""
        return self.tolerances().at(utc(seen.at))

    def seam_length(self, name: str) -> Quantity | None:
        """How long a listed seam is, as it was typed."""
        for row in self.seams_named(name):
            subject = subject_of(self.reading(), row["id"])
            if subject is not None:
                length: Quantity | None = decode("seam", subject.payload).length
                return length
        return None

    def seams_named(self, name: str) -> list[dict[str, Any]]:
        """The rows of a seam that is listed, the one first listed first."""
        return self.rows(
            "SELECT id, name FROM seams WHERE job = ? AND seam_key = ? ORDER BY tick, device",
            (self.job.id, same_name(name)),
        )

    def lap_of(self, seam: str) -> str | None:
        """The lap kind that a seam is listed as; None where nobody said, or nobody listed it."""
        rows = self.rows(
            "SELECT lap FROM seams WHERE job = ? AND seam_key = ? ORDER BY tick, device",
            (self.job.id, same_name(seam)),
        )
        return rows[0]["lap"] if rows else None

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
        end = self.placed(run["seam"] if run else seam, end)
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
        notes = self._seam_notes(seam, end, seen)
        if run is None:
            return Recorded(entry, seam, (*notes, Note("no_start", {"seam": seam})))
        length = abs(end.si("m") - run["start_m"])
        return Recorded(run["id"], run["name"], notes, {"length_m": length})

    def record_bleed(self, check: BleedCheck) -> Recorded:
        """Record a bleed check on a seam, judged by the limits in force."""
        check = self.placed_in(check)
        with self.writing(self.typist(check.seen.by)) as writer:
            named = replace(check, name=writer.next_name("B", self.job.id))
            check_id = writer.add("bleed", named, job=self.job.id)
        (row,) = self.rows("SELECT * FROM bleeds WHERE id = ?", (check_id,))
        ((row, run),) = self.with_runs([row])
        notes = [
            *self.told("bleeds", check_id),
            *self._seam_notes(check.seam, check.at, check.seen),
        ]
        if run is None:
            notes.append(Note("no_run", {"seam": check.seam}))
        notes += [
            Note("off_limits", {"shortfall": short}) for short in self.check_shortfalls(row, run)
        ]
        if run is not None and self._run_ends(check_id, run):
            at = {"seam": check.seam, "at_m": check.at.si("m")}
            notes.append(Note("run_ends", at))
        return Recorded(check_id, named.name, tuple(notes))

    def _run_ends(self, check_id: str, run: dict[str, Any]) -> bool:
        """Whether a bleed check calls for a strip at once: then the run on its seam ends there."""
        rows = self.rows(
            "SELECT * FROM bleeds WHERE job = ? AND seam_key = ? ORDER BY seen_utc, tick",
            (self.job.id, run["seam_key"]),
        )
        own = [(row, on) for row, on in self.with_runs(rows) if on and on["id"] == run["id"]]
        failed = self.fail_outright(own)
        return any(
            row["id"] == check_id and at_once
            for (row, _on), at_once in zip(own, failed, strict=True)
        )

    def fail_outright(
        self, checks: Sequence[tuple[dict[str, Any], dict[str, Any] | None]]
    ) -> tuple[bool, ...]:
        """Which bleed checks call for a strip at once, not for a look.

        Args:
            checks: rows in the order seen, each with the run that had welded its place.
        """
        widths = self._readings([row for row, _run in checks]) if checks else {}
        return no_look_mends(
            [
                Looked(
                    tuple(r["width_mm"] for r in widths.get(row["id"], [])),
                    row["bubbling"],
                    frozenset(s.code for s in self.check_shortfalls(row, run)),
                )
                for row, run in checks
            ]
        )

    def check_shortfalls(
        self, check: dict[str, Any], run: dict[str, Any] | None
    ) -> tuple[Shortfall, ...]:
        """What of a bleed check is outside the limits in force when it was seen.

        Args:
            check: its row.
            run: the run that had welded its place, where one is known: its sheet's limits.
        """
        sheet = (run["sheet"] if run else None) or ""
        limits = replace(self.acceptance(sheet, check["seen_utc"]), readings_least=1)
        ends = (check["width_min_mm"], check["width_max_mm"])
        widths = tuple(float(width) for width in ends if width is not None)
        judged = Judged(widths_mm=widths, bubbling=check["bubbling"] or "none", bond="good")
        return tuple(shortfalls(judged, limits))

    def with_runs(
        self, checks: list[dict[str, Any]]
    ) -> list[tuple[dict[str, Any], dict[str, Any] | None]]:
        """Bleed checks, each with the run that had welded its place when it was seen."""
        seams = {check["seam_key"] for check in checks}
        where, values = ("", []) if len(seams) != 1 else ("AND seam_key = ?", list(seams))
        runs = by_seam(
            self.rows(f"SELECT * FROM runs WHERE job = ? {where}", (self.job.id, *values))
        )
        slack = self.tolerances()

        def welded(check: dict[str, Any]) -> dict[str, Any] | None:
            on = runs.get(check["seam_key"], [])
            return run_that_welded(on, check["at_m"], moment(check), slack.at(check["seen_utc"]))

        return [(check, welded(check)) for check in checks]

    def _seam_notes(self, seam: str, at: Quantity, seen: Seen) -> tuple[Note, ...]:
        key = same_name(seam)
        found = self.rows(
            "SELECT length_m FROM seams WHERE job = ? AND seam_key = ?", (self.job.id, key)
        )
        notes: tuple[Note, ...] = ()
        if not found and (ends := self._range_of_seams(seam)):
            notes = (Note("several_seams", {"seam": seam, "first": ends[0], "last": ends[1]}),)
        elif not found:
            notes = (Note("unlisted", {"what": "seam", "name": seam, "known": []}),)
        elif (length := found[0]["length_m"]) is not None and past_end(
            at.si("m"), length, self.slack_then(seen)
        ):
            notes = (Note("past_end", {"seam": seam, "at_m": at.si("m"), "length_m": length}),)
        here = (at.si("m"), at.si("m"))
        return (*notes, Note("hidden", {"seam": seam})) if self._hidden(key, here) else notes

    def _range_of_seams(self, name: str) -> tuple[str, str] | None:
        """The two listed seams that a name not listed joins, as in A1-A3."""
        ends = re.split(r"\s*[-–]\s*|\s+(?:to|a)\s+", name.strip(), maxsplit=1)
        if len(ends) != 2:
            return None
        first, last = (same_name(end) for end in ends)
        named = {
            row["seam_key"]: row["name"]
            for row in self.rows(
                "SELECT seam_key, name FROM seams WHERE job = ? AND seam_key IN (?, ?)",
                (self.job.id, first, last),
            )
        }
        return (named[first], named[last]) if first in named and last in named else None
