"""The roof: seams with their state, what hides them, what was warned of, and a seam traced.

Invariant: state and flags are derived when asked for, of one moment.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict, cast

from weldcal.book.probing import NARROW
from weldcal.book.seams import ON_SEAMS, Beside, Row, Rows, SeamFound, name_of
from weldcal.book.writing import LETTERS
from weldcal.errors import Unheard
from weldcal.log import chain
from weldcal.quality.layout import Area
from weldcal.quality.probing import Disagreement
from weldcal.quality.seam import SeamRecord, SeamState, state_of
from weldcal.records.fields import same_name
from weldcal.records.notes import WITHDRAWN
from weldcal.row_types import (
    AmendmentRow,
    BleedRow,
    RunRow,
    SeamRow,
    StripRow,
    WidthRow,
    WithdrawnRow,
)
from weldcal.rules.on_seam import seam_of
from weldcal.rules.welded import moment, run_that_welded
from weldcal.views.clash import Clash
from weldcal.views.rows import JudgedStrip, NamedAmendment, OpenWarning
from weldcal.views.trace import Apart, Event, SeamTrace, SeenEvent, WithdrawnEvent
from weldcal.views.trace import event as event_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marks
    from weldcal.book.probing import Probing
    from weldcal.book.runs import Runs
    from weldcal.book.strips import Strips


_WHOLE = dict.fromkeys(ON_SEAMS, "*")


# What the state of a seam and its marks follow from.
_MARKED = "id, seam, seam_key, seen_utc, tick, seen_by, flags, instrument, day"


_STRETCH = f"{_MARKED}, start_m, end_m"


_FOR_STATE = {
    **dict.fromkeys(ON_SEAMS, _MARKED),
    "runs": f"{_STRETCH}, machine, sheet, go_ahead, finished_utc",
    "walks": f"{_STRETCH}, started_utc, ended_utc, entered_utc",
    "widths": f"{_MARKED}, overlap_mm, bonded_mm",
    "findings": f"{_STRETCH}, name, how, walk",
    "mends": f"{_STRETCH}, finding",
}


KIND_OF = {
    "strips": "strip",
    "runs": "run",
    "finishes": "finish",
    "bleeds": "bleed",
    "walks": "walk",
    "widths": "lap-width",
    "findings": "finding",
    "mends": "mend",
    "peels": "peel",
    "seams": "seam",
}


_IDS_AT_ONCE = 500


# The mark of a changed copy, told after the entry that was known first.
COPY = "another entry of this id"


# Table of what was welded -> the column that says when.
_WELDED_AT = {"runs": "finished_utc", "mends": "seen_utc"}


class WalkSeen(TypedDict):
    """Which walk, by whom and when."""

    walk: str
    seen_by: str
    seen_local: str


class SeamStates:
    """Seams with their states, the plan, and the trace of one seam."""

    def __init__(
        self,
        reader: JobReader,
        hiding: Hiding,
        limits: Limits,
        marks: Marks,
        probing: Probing,
        runs: Runs,
        strips: Strips,
    ) -> None:
        self._reader = reader
        self._hiding = hiding
        self._limits = limits
        self._marks = marks
        self._probing = probing
        self._runs = runs
        self._strips = strips

    def seams(self, keys: Sequence[str] | None = None) -> list[Row]:
        """The seams listed (those of some keys), in order."""
        only, some = "", list(keys or ())
        if keys is not None:
            only = f"AND seam_key IN ({', '.join('?' * len(some))})"
        return self._reader.rows(
            f"SELECT * FROM seams WHERE job = ? {only} ORDER BY tick, device",
            (self._reader.job.id, *some),
        )

    def laid_areas(self) -> list[Area]:
        """Rectangles of the plan, in the order laid."""
        rows = self._reader.rows(
            "SELECT * FROM areas WHERE job = ? AND x_m IS NOT NULL ORDER BY tick, device",
            (self._reader.job.id,),
        )
        return [
            Area(r["name"], r["x_m"], r["y_m"], r["length_m"], r["width_m"], r["slope"], r["over"])
            for r in rows
        ]

    def view(self) -> list[SeamFound]:
        """Every seam, listed or only heard of, with its state, of one moment."""
        with self._reader.snapshot():
            return self._roof(_FOR_STATE)

    def _roof(self, columns: dict[str, str], keys: Sequence[str] | None = None) -> list[SeamFound]:
        """Seams with their state: all, or those of `keys` and what they join; rows with `columns`."""
        beside = self.beside(self.seams(keys))
        joined = [row["joins"] for row in beside.listed.values() if row["joins"]]
        on = self._on_seams(columns, None if keys is None else [*keys, *joined])
        found: list[SeamFound] = []
        for key in dict.fromkeys([*beside.listed, *on]):
            if keys is not None and key not in keys:
                continue
            seam, rows = beside.listed.get(key), on.get(key, {})
            judged = beside.judged(key, rows, on.get(seam["joins"], {}) if seam else {})
            found.append(
                {
                    "name": name_of(seam, rows),
                    "seam": cast("SeamRow | None", seam),
                    "state": judged.state,
                    "flags": list(judged.flags),
                    "rows": rows,
                    "hidden": beside.hidden(key),
                    "disagreements": judged.disagreements,
                }
            )
        return found

    def beside(self, seams: list[Row]) -> Beside:
        """What bears on the seams listed beside their own rows."""
        listed: dict[str, Row] = {}
        for row in seams:
            listed.setdefault(row["seam_key"], row)
        counted = Counter(row["seam_key"] for row in seams)
        amended = self._reader.rows(
            "SELECT seam_key, max(conflict) AS conflict, max(path <> ?) AS corrected "
            'FROM seams JOIN amendments ON "of" = seams.id WHERE seams.job = ? GROUP BY seam_key',
            (WITHDRAWN, self._reader.job.id),
        )
        return Beside(
            listed=listed,
            twice=frozenset(key for key, count in counted.items() if count > 1),
            covers=self._hiding.covers(),
            warned=frozenset(warning["of"] for warning in self.warnings()),
            corrected={
                row["seam_key"]: (
                    *(("amended",) if row["corrected"] else ()),
                    *(("conflict",) if row["conflict"] else ()),
                )
                for row in amended
            },
            slack=self._limits.tolerances(),
            bare=self._hiding.bare_granules(),
        )

    def seam_state(self, name: str) -> tuple[SeamFound, SeamState]:
        """One seam's rows and state.

        Raises:
            Unheard: nothing is recorded of such a seam.
        """
        with self._reader.snapshot():
            for found in self._roof(_WHOLE, [same_name(name)]):
                return found, found["state"]
        known = ", ".join(row["name"] for row in self.seams()[:12]) or _("none yet")
        raise Unheard(what=_("seam"), text=name, known=known)

    def states_of(self, keys: Sequence[str]) -> list[SeamState]:
        """The states of some seams."""
        with self._reader.snapshot():
            return [found["state"] for found in self._roof(_FOR_STATE, keys)]

    def _on_seams(self, columns: dict[str, str], keys: Sequence[str] | None) -> dict[str, Rows]:
        """Rows on seams, by seam key and table, in the order they were seen."""
        found: dict[str, Rows] = {}
        only, some = "seam IS NOT NULL", list(keys or ())
        if keys is not None:
            only = f"seam_key IN ({', '.join('?' * len(some))})"
        for table in ON_SEAMS:
            rows = self._reader.rows(
                f"SELECT {columns[table]} FROM {table} WHERE job = ? AND {only} ORDER BY seen_utc, tick, id",
                (self._reader.job.id, *some),
            )
            for row in self.as_welded(table, self._marks.marked_rows(rows)):
                found.setdefault(row["seam_key"], {}).setdefault(table, []).append(row)
        return found

    def as_welded(self, table: str, rows: list[Row]) -> list[Row]:
        """Rows on seams; those of what was welded say from when they were cold."""
        if table == "widths":
            for row in rows:
                row["marks"] += (
                    [NARROW] if self._probing.width_shortfalls(cast("WidthRow", row)) else []
                )
        welded = _WELDED_AT.get(table)
        return self._limits.with_cold(rows, welded) if welded else rows

    def warnings(self, *, open_only: bool = True) -> list[OpenWarning]:
        """Warnings overridden, with the run or cover (`area` is 1) they stand with, in order."""
        where = "AND warnings.done IS NULL" if open_only else ""
        columns = "name AS run, seen_local, seen_by, tick"
        return self._reader.select(
            OpenWarning,
            f'SELECT warnings.*, seam, 0 AS area, {columns} FROM warnings JOIN runs ON runs.id = warnings."of" '
            f"WHERE warnings.job = ?1 {where} UNION ALL "
            f'SELECT warnings.*, area, 1, {columns} FROM warnings JOIN covers ON covers.id = warnings."of" '
            f"WHERE warnings.job = ?1 {where} ORDER BY tick, code",
            (self._reader.job.id,),
        )

    def amendments(self) -> list[NamedAmendment]:
        """Corrections, each with the name of what it corrects."""
        rows = self._reader.select(
            AmendmentRow,
            "SELECT * FROM amendments WHERE job = ? ORDER BY tick, id",
            (self._reader.job.id,),
        )
        called: dict[str, str] = {}
        for table in {t for t, _what in LETTERS.values()} | {"seams", "jobs"}:
            found = self._reader.rows(
                f"SELECT id, name FROM {table} WHERE id IN "
                '(SELECT "of" FROM amendments WHERE job = ?)',
                (self._reader.job.id,),
            )
            called |= {row["id"]: row["name"] for row in found}
        gone = self._reader.rows("SELECT * FROM withdrawn WHERE job = ?", (self._reader.job.id,))
        called |= {row["id"]: row["name"] or row["kind"] for row in gone if row["id"] == row["of"]}
        return [{**row, "name": called.get(row["of"], "–")} for row in rows]

    def conflicts(self) -> list[Clash]:
        """Values corrected on devices that did not know of each other, and not settled since."""
        apart: dict[tuple[str, str], list[NamedAmendment]] = {}
        for row in self.amendments():
            about = (row["of"], row["path"])
            if row["withdrawn"]:
                continue
            if row["conflict"]:
                apart.setdefault(about, []).append(row)
            elif about in apart:  # corrected again, with both known
                del apart[about]
        return [
            Clash(rows[0]["name"], path, tuple((row["new"], row["seen_by"]) for row in rows))
            for (_of, path), rows in apart.items()
        ]

    def trace(self, name: str) -> SeamTrace:
        """All that is recorded of a seam, in the order it was seen.

        The strips its runs stand on, corrections and answered warnings are among the events.
        Where all of it was taken back, what was is told.

        Raises:
            Unheard: nothing was ever recorded of such a seam.
        """
        key = same_name(name)
        with self._reader.snapshot():
            try:
                found, state = self.seam_state(name)
            except Unheard:
                events = self._withdrawn(key, [])
                if not events:
                    raise
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
            return SeamTrace(
                key=key,
                name=found["name"],
                seam=found["seam"],
                flags=found["flags"],
                state=state,
                disagreements=[self.apart(one) for one in found["disagreements"]],
                events=self.events(found["seam"], found["rows"]),
            )

    def apart(self, one: Disagreement) -> Apart:
        """A finding, and the walk over it that told nothing."""
        (walk,) = self._reader.select(
            WalkSeen,
            "SELECT name AS walk, seen_by, seen_local FROM walks WHERE job = ? AND seen_utc = ? AND tick = ?"
            " LIMIT 1",
            (self._reader.job.id, *one.silent),
        )
        start, end = one.stretch
        return {"finding": one.finding, "start_m": start, "end_m": end, **walk, "after": one.after}

    def events(self, seam: SeamRow | None, rows: Rows) -> list[Event]:
        """What is recorded on a seam and of its own entry, in the order it was seen."""
        events = [_seen(KIND_OF[table], row) for table in ON_SEAMS for row in rows.get(table, [])]
        strips = {run["go_ahead"] for run in rows.get("runs", []) if run["go_ahead"]}
        events += [
            event_of("strip", row, row["seen_utc"], row["tick"])
            for row in self._marks.marked(
                JudgedStrip,
                self._strips.judged(cast("list[StripRow]", self._by_ids("strips", strips))),
            )
        ]
        key = seam["seam_key"] if seam else next((str(e.row["seam_key"]) for e in events), None)
        events += [*self._hiding_events(key), *self._asked_on(key)]
        self.add_readings(rows.get("bleeds", []))
        self._judge_bleeds(rows.get("bleeds", []), rows.get("runs", []))
        called = {str(e.row["id"]): str(e.row["name"]) for e in events}
        if seam:
            called[seam["id"]] = seam["name"]
        about = list(called)
        for at in range(0, len(about), _IDS_AT_ONCE):
            events += self._about(about[at : at + _IDS_AT_ONCE], called)
        events += self._copies(events)
        events += self._withdrawn(key, [*strips, *about])
        return sorted(events, key=lambda event: (event.seen_utc, event.tick, event.copy))

    def _copies(self, events: list[Event]) -> list[Event]:
        """What changed copies of these records say: entries of the same id, known later."""
        from weldcal.tables import projector

        connection, found = self._reader.reading(), list[Event]()
        for event in events:
            row = event.row
            if "conflict" not in str(row.get("flags", "")) or not isinstance(event, SeenEvent):
                continue
            of = str(row["id"])
            first = projector.first_known(connection).get(of)
            for copy in chain.copies_of(connection, of, first):
                made = dict(projector.rows_of([copy], {}))
                for said in self._marks.marked_rows(r for r in made.values() if r.get("id") == of):
                    said["marks"] = [*said["marks"], COPY]
                    blank = dict.fromkeys(row) | said
                    found.append(event_of(event.what, blank, event.seen_utc, event.tick, copy=True))
        return found

    def _hiding_events(self, key: str | None) -> list[Event]:
        """When the next ply hid a seam, or stretches of it, and when it was opened up."""
        found: list[Event] = []
        for row in self._marks.marked_rows(
            self._reader.rows("SELECT * FROM covers WHERE job = ?", (self._reader.job.id,))
        ):
            hides = self._hiding.hides(row).get(key or "")
            if hides is not None:
                found.append(_seen("cover", {**row, "stretches": hides.stretches}))
        for what, table in (("opening", "openings"), ("embed", "embeddings")):
            rows = self._reader.rows(
                f"SELECT * FROM {table} WHERE job = ? AND seam_key = ?",
                (self._reader.job.id, key),
            )
            found += [_seen(what, row) for row in self._marks.marked_rows(rows)]
        return found

    def _asked_on(self, key: str | None) -> list[Event]:
        """Items of visits, and what was done about leaks, whose place begins with a seam's name."""
        return [_seen(what, row) for what, row in self.placed_items() if row["seam_key"] == key]

    def placed_items(self) -> list[tuple[str, Row]]:
        """Items of visits and steps of leaks that lie on a seam, each with its `seam_key`."""
        items = self._marks.marked_rows(
            self._reader.rows("SELECT * FROM punch WHERE job = ?", (self._reader.job.id,))
        )
        steps = self._reader.rows(
            "SELECT s.*, l.name FROM leak_steps s JOIN leaks l ON l.id = s.of "
            "WHERE s.job = ? AND s.place IS NOT NULL",
            (self._reader.job.id,),
        )
        told = [("punch", row) for row in items]
        told += [("leak-step", {**row, "id": row["of"], "marks": []}) for row in steps]
        if not told:
            return []
        keys = {
            row["seam_key"]
            for row in self._reader.rows(
                "SELECT seam_key FROM seams WHERE job = ?", (self._reader.job.id,)
            )
        }
        return [(what, {**row, "seam_key": seam_of(row["place"], keys)}) for what, row in told]

    def add_readings(self, bleeds: list[Row]) -> None:
        """Put to each bleed check its readings as typed."""
        readings = self._strips.readings_of(cast("list[BleedRow]", bleeds))
        for row in bleeds:
            row["readings"] = [r["text"] for r in readings.get(row["id"], [])]

    def _judge_bleeds(self, bleeds: list[Row], runs: list[Row]) -> None:
        """Add to one seam's bleed checks what of them was outside the limits in force."""
        in_order, slack = sorted(cast("list[RunRow]", runs), key=moment), self._limits.tolerances()
        for row in bleeds:
            check = cast("BleedRow", row)
            run = run_that_welded(in_order, row["at_m"], moment(check), slack.at(row["seen_utc"]))
            row["shortfalls"] = self._runs.check_shortfalls(check, run)

    def _about(self, ids: list[str], called: dict[str, str]) -> list[Event]:
        """Corrections and answered warnings of the records with these ids."""
        places = ", ".join("?" * len(ids))
        amends = self._reader.rows(
            f'SELECT * FROM amendments WHERE "of" IN ({places}) '
            'AND withdrawn = 0 AND id NOT IN (SELECT "by" FROM withdrawn)',
            ids,
        )
        for row in amends:
            row["of_kind"] = self._taken_back_kind(row) if row["path"] == WITHDRAWN else None
        settled = self._reader.rows(
            f'SELECT * FROM warnings WHERE done_utc IS NOT NULL AND "of" IN ({places})', ids
        )
        for row in (*amends, *settled):
            row["name"] = called[row["of"]]
        return [
            *(event_of("amend", row, row["entered_utc"], row["tick"]) for row in amends),
            *(event_of("settle", row, row["done_utc"], row["done_tick"]) for row in settled),
        ]

    def _taken_back_kind(self, row: Row) -> str | None:
        """Which later stage of a record was taken back or put back; None: the record itself."""
        (of,) = self._reader.rows(
            "SELECT t.id, t.kind FROM entries a JOIN entries t ON t.id = json_extract(a.body, '$.payload.of') "
            "WHERE a.id = ?",
            (row["id"],),
        )
        return None if of["id"] == row["of"] else str(of["kind"])

    def _withdrawn(self, key: str | None, ids: list[str]) -> list[WithdrawnEvent]:
        """What was taken back on a seam, and of the records with these ids."""
        places = ", ".join("?" * len(ids))
        rows = self._reader.select(
            WithdrawnRow,
            f'SELECT * FROM withdrawn WHERE job = ? AND (seam_key = ? OR "of" IN ({places}))',
            (self._reader.job.id, key, *ids),
        )
        return [
            WithdrawnEvent(row=row, seen_utc=row["withdrawn_utc"], tick=row["tick"]) for row in rows
        ]

    def _by_ids(self, table: str, ids: set[str]) -> list[Row]:
        places = ", ".join("?" * len(ids))
        return self._reader.rows(f"SELECT * FROM {table} WHERE id IN ({places})", sorted(ids))


def _seen(what: str, row: Row) -> Event:
    """Something that somebody saw, as an event of the trace."""
    return event_of(what, row, row["seen_utc"], row["tick"])
