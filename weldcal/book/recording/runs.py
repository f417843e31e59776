"""The operator's verbs on a seam: runs, bleed checks.

Invariant: what can be kept is kept; what is odd about it becomes a note, and
what was warned of before welding stands in the run's own entry.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.hiding import Hiding
from weldcal.book.job_reader import AS_SEEN
from weldcal.quality.goahead import Key, Shortfall
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.fields import same_name
from weldcal.records.seam import BleedCheck, RunFinish, RunStart
from weldcal.row_types.site import SubstrateRow
from weldcal.row_types.work import BleedRow, RunRow
from weldcal.rules.power_said import power_said
from weldcal.views.rows import TriedStrip

if TYPE_CHECKING:
    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.runs import Runs
    from weldcal.book.slips import Slips
    from weldcal.book.standing import GoAheads
    from weldcal.book.strips import Strips


# What `voids` already tells, in its own words.
_TOLD_BY_KEY = {
    "new_day",
    "other_machine",
    "other_sheet",
    "other_lap",
    "other_nozzle",
}


class _Doubted(TypedDict):
    lot: str
    why: str


class RunRecorder(Service):
    """Records runs and bleed checks."""

    _reader: JobReader
    _transactions: Transactions
    _go_aheads: GoAheads
    _hiding: Hiding
    _marks: Marking
    _runs: Runs
    _slips: Slips
    _strips: Strips

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
        """Begin a run. Never refused: what is against it becomes a warning and is kept with it.

        Args:
            seam: its name.
            start: where it begins.
            setting: None by hand, where nobody said one.
            conditions: as read, and as carried over.
            seen: when, and by whom.
            roll_lot: of the roll welded.
            note: in their own words.
        """
        strip, against, looks = self._stands_on(seam, setting, conditions, seen, roll_lot)
        start = self._runs.placed(seam, start)
        notes = list(self._slips.unlikely(setting, conditions, seen.at)) if setting else []
        notes += [Note("warning", {"shortfall": short}) for short in against]
        notes += [Note("look", {"shortfall": short}) for short in looks]
        notes += self._under_and_of(seam, roll_lot)
        notes += [
            Note("second_start", {"seam": seam, "run": run["name"]})
            for run in self._runs.open_runs(seam)
        ]
        with self._transactions.by(seen) as writer:
            record = RunStart(
                name=writer.next_name("run"),
                seam=seam,
                seen=seen,
                start=start,
                setting=setting,
                conditions=conditions,
                go_ahead=strip["id"] if strip else None,
                by_hand=setting is None or bool(setting.by_hand),
                roll_lot=roll_lot,
                note=note,
                warnings=tuple(short.code for short in against),
            )
            run_id = writer.add("run", record)
        values = {"go_ahead": strip["name"] if strip else None}
        return Recorded(
            run_id,
            record.name,
            (*self._marks.notes("runs", run_id), *notes, *self._runs.seam_notes(seam, start, seen)),
            values,
        )

    def _stands_on(
        self,
        seam: str,
        setting: Setting | None,
        conditions: Conditions,
        seen: Seen,
        roll_lot: str | None,
    ) -> tuple[TriedStrip | None, list[Shortfall], list[Shortfall]]:
        """The strip that a run stands on, what is against it, and what calls for a look.

        There is no strip where anything is against it.
        """
        if setting is None:
            return None, [Shortfall("hand_not_said", {})], []
        width = setting.nozzle_width.si("mm") if setting.nozzle_width else None
        hand = seen.by if setting.by_hand else None
        key = Key(setting.machine, setting.sheet, setting.lap, width, hand)
        strip, void = self._strips.go_ahead(key, seen.at)
        against, looks = list(void), list[Shortfall]()
        if strip and not void:
            against, looks = self._moved(strip, setting, conditions, seen, roll_lot)
        listed = self._runs.lap_of(seam)
        if listed is not None and listed != setting.lap:
            values = {"was": listed, "now": setting.lap}
            against.append(Shortfall("other_lap_than_listed", values))
        return None if against else strip, against, looks

    def _under_and_of(self, seam: str, roll_lot: str | None) -> list[Note]:
        """What the substrate's last look, and the roll's lot, say against welding here."""
        notes = []
        for row in self._reader.select(
            SubstrateRow,
            "SELECT u.* FROM substrates u JOIN seams s ON s.job = u.job "
            "AND lower(s.area) = lower(u.area) WHERE u.job = ? AND s.seam_key = ? "
            "ORDER BY u.seen_utc DESC, u.tick DESC, u.device DESC LIMIT 1",
            (self._reader.job.id, same_name(seam)),
        ):
            answers = {"dry": row["dry"], "primed": row["primed"], "clean": row["clean"]}
            short = [name for name, answer in answers.items() if answer == 0]
            if short:
                notes.append(Note("substrate_short", {"area": row["area"], "short": short}))
        if same_name(seam) in self._hiding.bare_granules():
            notes.append(Note("embed_granules", {"seam": seam}))
        if roll_lot:
            notes += [
                Note("lot_in_doubt", {"lot": row["lot"], "why": row["why"]})
                for row in self._reader.part(_Doubted, "lot_doubts", AS_SEEN)
                if same_name(row["lot"]) == same_name(roll_lot)
            ]
        return notes

    def _moved(
        self,
        strip: TriedStrip,
        setting: Setting,
        conditions: Conditions,
        seen: Seen,
        roll_lot: str | None,
    ) -> tuple[list[Shortfall], list[Shortfall]]:
        """What has moved since the strip: what calls for a new one, and what for a look."""
        from weldcal.book.standing_events import start_event

        extra = start_event(setting, conditions, seen, self._strips.day_of(seen.at), roll_lot)
        now = self._go_aheads.verdict_on(strip, seen.at, extra)
        holding = [t for t in now.triggers if t.until_s is None and t.code not in _TOLD_BY_KEY]
        by_level = {
            level: [
                Shortfall(f"moved_{t.code}", dict(t.values)) for t in holding if t.level == level
            ]
            for level in ("wait", "strip_again", "look")
        }
        return by_level["wait"] + by_level["strip_again"], by_level["look"]

    def finish_run(
        self, seam: str, end: Quantity, seen: Seen, why: str | None = None, power_lost: bool = False
    ) -> Recorded:
        """Finish the run open on a seam; one begun on another device is kept by itself.

        Args:
            seam: its name.
            end: where it ends.
            seen: when, and by whom.
            why: it was finished, in words; that the power was lost counts as said.
            power_lost: it ended for want of power.
        """
        said = power_said(why)
        runs = self._runs.open_runs(seam)
        run = runs[-1] if runs else None
        end = self._runs.placed(run["seam"] if run else seam, end)
        finish = RunFinish(
            seam=run["seam"] if run else seam,
            seen=seen,
            end=end,
            why=why,
            power_lost=power_lost or said or None,
        )
        with self._transactions.by(seen) as writer:
            entry = writer.add("run-finish", finish, about=run["id"] if run else None)
        notes = self._runs.seam_notes(seam, end, seen)
        if run is None:
            return Recorded(entry, seam, (*notes, Note("no_start", {"seam": seam})))
        if said is not False and not power_lost:
            notes += (Note("power_said", {"run": run["name"], "lost": bool(said)}),)
        length = abs(end.si("m") - run["start_m"])
        return Recorded(run["id"], run["name"], notes, {"length_m": length})

    def record_bleed(self, check: BleedCheck) -> Recorded:
        """Record a bleed check on a seam, judged by the limits in force.

        Args:
            check: as typed; its end as the seam's length.
        """
        check = self._runs.placed_in(check)
        check_id, named = self._transactions.record_named("bleed", check)
        ((row, run),) = self._runs.with_runs([self._reader.by_id(BleedRow, check_id)])
        notes = [
            *self._marks.notes("bleeds", check_id),
            *self._runs.seam_notes(check.seam, check.at, check.seen),
        ]
        if run is None:
            notes.append(Note("no_run", {"seam": check.seam}))
        notes += [
            Note("off_limits", {"shortfall": short})
            for short in self._runs.check_shortfalls(row, run)
        ]
        if run is not None and self._run_ends(check_id, run):
            at = {"seam": check.seam, "at_m": check.at.si("m")}
            notes.append(Note("run_ends", at))
        return Recorded(check_id, named.name, tuple(notes))

    def _run_ends(self, check_id: str, run: RunRow) -> bool:
        """Whether a bleed check calls for a strip at once: then the run on its seam ends there."""
        own = self._runs.checks_on(run)
        failed = self._runs.fail_outright(own)
        return any(
            row["id"] == check_id and at_once
            for (row, _on), at_once in zip(own, failed, strict=True)
        )
