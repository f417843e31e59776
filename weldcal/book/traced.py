"""A seam's history, event by event: what is on it, what hid it, what was said of it since.

Invariant: every event is a row of the record, with what was worked out beside it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Named, Service
from weldcal.book.hiding import hides, in_reach, spells_of
from weldcal.book.seam_rows import NOTHING_WHOLE, WholeRows
from weldcal.book.seams import name_of
from weldcal.log import chain
from weldcal.quality.coverage import ordered
from weldcal.quality.probing import Disagreement
from weldcal.quality.seam import SeamRecord, state_of
from weldcal.records.fields import same_name
from weldcal.records.notes import WITHDRAWN
from weldcal.row_types.listed import SeamRow
from weldcal.row_types.record import AmendmentRow, WarningRow, WithdrawnRow
from weldcal.row_types.site import CoverRow, EmbeddingRow, LeakStepRow, OpeningRow, PunchRow
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import PeelRow
from weldcal.rules.on_seam import seam_of
from weldcal.rules.welded import SeenAt, moment, run_that_welded
from weldcal.views import rows as viewed
from weldcal.views import trace
from weldcal.views.trace import Apart, SeamEvent, SeamTrace

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marking
    from weldcal.book.on_seams import OnSeams
    from weldcal.book.roof import SeamStates
    from weldcal.book.runs import Runs
    from weldcal.book.strips import Strips

_IDS_AT_ONCE = 500


# The mark of a changed copy, shown after the entry that was known first.
COPY = "another entry of this id"


class _Walk(Named):
    seen_by: str
    seen_local: str


class _LeakStep(LeakStepRow):
    name: str


class _Stage(TypedDict):
    id: str
    kind: str


class _When(TypedDict):
    seen_utc: str
    tick: int


def _at(row: SeenAt) -> _When:
    """When a row was seen, as an event is sorted by it."""
    return {"seen_utc": row["seen_utc"], "tick": row["tick"]}


class Traces(Service):
    """Reads the history of seams."""

    _reader: JobReader
    _doubting: Doubting
    _limits: Limits
    _marks: Marking
    _on_seams: OnSeams
    _roof: SeamStates
    _runs: Runs
    _strips: Strips

    def of_seam(self, name: str) -> SeamTrace:
        """All that is recorded of a seam, in the order it was seen.

        The strips its runs stand on, corrections and answered warnings are among the events.
        Where all of it was taken back, what was taken back is shown.

        Args:
            name: of the seam, in any spelling.

        Raises:
            Unheard: nothing was ever recorded of such a seam.
        """
        key = same_name(name)
        with self._reader.snapshot():
            context, rows_by_seam = self._roof.read([key], self._on_seams.whole)
            if key not in context.listed and key not in rows_by_seam:
                return self._trace_of_nothing(key, name)
            seam, rows = context.listed.get(key), rows_by_seam.get(key, NOTHING_WHOLE)
            judged = context.judged(key, rows, rows_by_seam)
            return SeamTrace(
                key=key,
                name=name_of(seam, rows),
                seam=seam,
                flags=list(judged.flags),
                state=judged.state,
                disagreements=[self.apart(disagreement) for disagreement in judged.disagreements],
                events=self.events(seam, rows),
                doubts=self._doubting.on_seam(key),
            )

    def _trace_of_nothing(self, key: str, name: str) -> SeamTrace:
        """What was taken back of a seam of which nothing else is recorded."""
        events = self.withdrawn(key, [])
        if not events:
            raise self._roof.unheard(name)
        row = events[-1].row
        return SeamTrace(
            key=key,
            name=row["seam"] or row["name"] or "",
            seam=None,
            flags=[],
            state=state_of(SeamRecord(known=False)),
            disagreements=[],
            events=[*events],
        )

    def apart(self, disagreement: Disagreement) -> Apart:
        """A finding, and the walk over it that recorded nothing there.

        Args:
            disagreement: the two that disagree.
        """
        (walk,) = self._reader.select(
            _Walk,
            "SELECT id, name, seen_by, seen_local FROM walks "
            "WHERE job = ? AND seen_utc = ? AND tick = ? LIMIT 1",
            (self._reader.job.id, *disagreement.walked),
        )
        start, end = disagreement.stretch
        return {
            "finding": disagreement.finding,
            "start_m": start,
            "end_m": end,
            "walk": walk["name"],
            "seen_by": walk["seen_by"],
            "seen_local": walk["seen_local"],
            "after": disagreement.after,
        }

    def events(self, seam: SeamRow | None, rows: WholeRows) -> list[SeamEvent]:
        """What is recorded on a seam and of its own entry, in the order it was seen.

        Args:
            seam: its row; None where nobody listed it.
            rows: what is on it.
        """
        strips = {run["go_ahead"] for run in rows.runs if run["go_ahead"]}
        events = [*self._on(rows), *self._stood_on(strips)]
        key = seam["seam_key"] if seam else next((str(e.row["seam_key"]) for e in events), None)
        events += [*self._hiding_events(key), *self._asked_on(key)]
        called = {str(e.row["id"]): str(e.row["name"]) for e in events}
        if seam:
            called[seam["id"]] = seam["name"]
        about = list(called)
        for at in range(0, len(about), _IDS_AT_ONCE):
            events += self._about(about[at : at + _IDS_AT_ONCE], called)
        events += self.withdrawn(key, [*strips, *about])
        events += self._copies(events)
        # Of one moment a changed copy stays behind what was known first.
        return sorted(events, key=lambda event: (event.seen_utc, event.tick))

    def _on(self, rows: WholeRows) -> list[SeamEvent]:
        """What was seen on a seam, table by table."""
        return [
            *(trace.RunEvent(row=row, **_at(row)) for row in rows.runs),
            *(trace.FinishEvent(row=row, **_at(row)) for row in rows.finishes),
            *(
                trace.BleedEvent(row=row, **_at(row))
                for row in self._judged(rows.bleeds, rows.runs)
            ),
            *(trace.WidthEvent(row=row, **_at(row)) for row in rows.widths),
            *(trace.WalkEvent(row=row, **_at(row)) for row in self._walks(rows.walks)),
            *(trace.FindingEvent(row=row, **_at(row)) for row in rows.findings),
            *(trace.MendEvent(row=row, **_at(row)) for row in rows.mends),
            *(trace.PeelEvent(row=row, **_at(row)) for row in rows.peels),
        ]

    def _walks(self, walks: Sequence[viewed.MarkedWalk]) -> list[viewed.MarkedWalk]:
        """One seam's walks, those marked that say nothing of what the next ply hid."""
        spells = spells_of(self._reader) if walks else {}
        marked = list[viewed.MarkedWalk]()
        for walk in walks:
            own, seen = spells.get(walk["seam_key"], []), walk["seen_utc"]
            place = ordered(walk["start_m"], walk["end_m"])
            marks = list(walk["marks"])
            if in_reach(own, place, seen, seen) != [place]:
                marks.append("walked while it was covered")
            elif in_reach(own, place, seen, walk["entered_utc"]) != [place]:
                marks.append("entered after it was covered")
            marked.append({**walk, "marks": marks})
        return marked

    def _judged(
        self, bleeds: Sequence[viewed.MarkedBleed], runs: Sequence[viewed.CooledRun]
    ) -> list[viewed.JudgedBleed]:
        """One seam's bleed checks with their readings, and what was outside the limits in force."""
        readings = self._strips.readings_of(bleeds)
        in_order, slack = sorted(runs, key=moment), self._limits.tolerances()
        judged: list[viewed.JudgedBleed] = []
        for row in bleeds:
            run = run_that_welded(in_order, row["at_m"], moment(row), slack.at(row["seen_utc"]))
            judged.append(
                {
                    **row,
                    "readings": [one["text"] for one in readings.get(row["id"], [])],
                    "shortfalls": self._runs.check_shortfalls(row, run),
                }
            )
        return judged

    def _stood_on(self, strips: Collection[str]) -> list[SeamEvent]:
        """The strips of the go-aheads that runs stand on, by id, and samples of them."""
        rows = self._reader.of_ids(StripRow, sorted(strips))
        judged = self._marks.marked(viewed.JudgedStrip, self._strips.judged(rows))
        samples = self._reader.of_ids(PeelRow, sorted(strips), "strip")
        return [
            *(trace.StripEvent(row=row, **_at(row)) for row in judged),
            *(
                trace.PeelEvent(row=row, **_at(row))
                for row in self._marks.marked(viewed.MarkedPeel, samples)
            ),
        ]

    def _copies(self, events: list[SeamEvent]) -> list[SeamEvent]:
        """What changed copies of these records say: entries of the same id, known later."""
        from weldcal.tables import projector

        connection, copies = self._reader.reading(), list[SeamEvent]()
        for event in events:
            row = event.row
            if "conflict" not in str(row.get("flags", "")) or not isinstance(
                event, trace.SeenEvent
            ):
                continue
            subject = str(row["id"])
            first = projector.first_known(connection).get(subject)
            for copy in chain.copies_of(connection, subject, first):
                rows_made = dict(projector.rows_of([copy], {}))
                for copied in [r for r in rows_made.values() if r.get("id") == subject]:
                    marks = [*self._marks.marks_of(copied), COPY]
                    full_row = {**dict.fromkeys(row), **copied, "marks": marks}
                    copies.append(trace.event(event.what, full_row, event.seen_utc, event.tick))
        return copies

    def _hiding_events(self, key: str | None) -> list[SeamEvent]:
        """When the next ply hid a seam, or stretches of it, and when it was opened up."""
        events = list[SeamEvent]()
        covers = self._reader.of_job(CoverRow)
        for cover in self._marks.marked(viewed.MarkedCover, covers):
            hid = hides(cover).get(key or "")
            if hid is not None:
                hiding = {**cover, "stretches": hid.stretches}
                events.append(trace.event("cover", hiding, cover["seen_utc"], cover["tick"]))
        opened = self._reader.of_job(OpeningRow, "AND seam_key = ?", key)
        events += [
            trace.OpeningEvent(row=row, **_at(row))
            for row in self._marks.marked(viewed.MarkedOpening, opened)
        ]
        embedded = self._reader.of_job(EmbeddingRow, "AND seam_key = ?", key)
        events += [
            trace.EmbedEvent(row=row, **_at(row))
            for row in self._marks.marked(viewed.MarkedEmbedding, embedded)
        ]
        return events

    def _asked_on(self, key: str | None) -> list[SeamEvent]:
        """Items of visits, and what was done about leaks, whose place begins with a seam's name."""
        items, steps = self.placed_items()
        return [
            *(trace.PunchEvent(row=row, **_at(row)) for row in items if row["seam_key"] == key),
            *(trace.LeakStepEvent(row=row, **_at(row)) for row in steps if row["seam_key"] == key),
        ]

    def placed_items(self) -> tuple[list[viewed.PlacedPunch], list[viewed.PlacedLeakStep]]:
        """Items of visits and steps of leaks, each with the seam that it is about."""
        job = self._reader.job.id
        punch = self._reader.of_job(PunchRow)
        leak_steps = self._reader.select(
            _LeakStep,
            "SELECT s.*, l.name FROM leak_steps s JOIN leaks l ON l.id = s.of "
            "WHERE s.job = ? ORDER BY s.seen_utc, s.tick, s.id",
            (job,),
        )
        if not punch and not leak_steps:
            return [], []
        keys = set(self._reader.each_of(str, "seam_key", "seams"))
        items: list[viewed.PlacedPunch] = [
            {**item, "seam_key": seam_of(item["place"], keys)}
            for item in self._marks.marked(viewed.MarkedPunch, punch)
        ]
        return items, _placed_steps(leak_steps, keys)

    def placed_keys(self) -> set[str]:
        """Keys of the seams that items of visits and steps of leaks lie on."""
        items, steps = self.placed_items()
        return {row["seam_key"] for row in (*items, *steps) if row["seam_key"] is not None}

    def _about(self, ids: Sequence[str], called: Mapping[str, str]) -> list[SeamEvent]:
        """Corrections and answered warnings of the records with these ids."""
        places = ", ".join("?" * len(ids))
        amends = self._reader.select(
            AmendmentRow,
            f'SELECT * FROM amendments WHERE "of" IN ({places}) '
            'AND withdrawn = 0 AND id NOT IN (SELECT "by" FROM withdrawn)',
            ids,
        )
        settled = self._reader.select(
            WarningRow,
            f'SELECT * FROM warnings WHERE done_utc IS NOT NULL AND "of" IN ({places})',
            ids,
        )
        return [
            *(self._amended(row, called[row["of"]]) for row in amends),
            *(
                trace.SettleEvent(
                    row={**row, "name": called[row["of"]]},
                    seen_utc=row["done_utc"] or "",
                    tick=row["done_tick"] or 0,
                )
                for row in settled
            ),
        ]

    def _amended(self, row: AmendmentRow, name: str) -> trace.AmendEvent:
        """A correction; or something taken back or put back, with which stage of its record."""
        kind = self._taken_back_kind(row) if row["path"] == WITHDRAWN else None
        return trace.AmendEvent(
            row={**row, "name": name, "of_kind": kind},
            seen_utc=row["entered_utc"],
            tick=row["tick"],
        )

    def _taken_back_kind(self, row: AmendmentRow) -> str | None:
        """Which later stage of a record was taken back or put back; None: the record itself."""
        (stage,) = self._reader.select(
            _Stage,
            "SELECT t.id, t.kind FROM entries a JOIN entries t "
            "ON t.id = json_extract(a.body, '$.payload.of') WHERE a.id = ?",
            (row["id"],),
        )
        return None if stage["id"] == row["of"] else stage["kind"]

    def withdrawn(self, key: str | None, ids: Sequence[str]) -> list[trace.WithdrawnEvent]:
        """What was taken back.

        Args:
            key: of the seam it was on.
            ids: of records it was of.
        """
        places = ", ".join("?" * len(ids))
        about = f'AND (seam_key = ? OR "of" IN ({places}))'
        rows = self._reader.of_job(WithdrawnRow, about, key, *ids)
        return [
            trace.WithdrawnEvent(row=row, seen_utc=row["withdrawn_utc"], tick=row["tick"])
            for row in rows
        ]


def _placed_steps(steps: Sequence[_LeakStep], keys: Collection[str]) -> list[viewed.PlacedLeakStep]:
    """Steps of leaks, each once for every seam it is about.

    A step that says no place (a mend, a look after rain) is about each seam that its leak was
    placed on by another step.
    """
    named = [(step, seam_of(step["place"] or "", keys)) for step in steps]
    placed: dict[str, list[str]] = {}
    for step, key in named:
        if key is not None and key not in placed.setdefault(step["of"], []):
            placed[step["of"]].append(key)
    return [
        {**step, "id": step["of"], "marks": [], "seam_key": key}
        for step, own in named
        for key in ([own] if step["place"] else placed.get(step["of"], []))
    ]
