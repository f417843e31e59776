"""The roof: seams with their state, what hides them, what was warned of, and a seam traced.

Invariant: state and flags are derived when asked for, of one moment.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypedDict, TypeVar

from weldcal.book.on_seams import OnSeams
from weldcal.book.seam_rows import NOTHING, NOTHING_WHOLE, SeamRows, WholeRows
from weldcal.book.seams import Beside, SeamFound, name_of
from weldcal.book.traced import Traces
from weldcal.book.writing import LETTERS
from weldcal.errors import Unheard
from weldcal.quality.layout import Area
from weldcal.quality.probing import Disagreement
from weldcal.quality.seam import SeamRecord, SeamState, state_of
from weldcal.records.fields import same_name
from weldcal.records.notes import WITHDRAWN
from weldcal.row_types import AmendmentRow, SeamRow, WithdrawnRow
from weldcal.views.clash import Clash
from weldcal.views.rows import NamedAmendment, OpenWarning
from weldcal.views.trace import Apart, Event, SeamTrace
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marks
    from weldcal.book.probing import Probing
    from weldcal.book.runs import Runs
    from weldcal.book.strips import Strips


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


class _Laid(TypedDict):
    name: str
    x_m: float
    y_m: float
    length_m: float
    width_m: float
    slope: str | None
    over: str | None


class _Amended(TypedDict):
    seam_key: str
    conflict: int
    corrected: int


class _Named(TypedDict):
    id: str
    name: str


S = TypeVar("S", bound=SeamRows)


class SeamStates:
    """Seams with their states, the plan, and the trace of one seam.

    Attributes:
        on_seams: what is on seams, seam by seam.
    """

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
        self.on_seams = OnSeams(reader, limits, marks, probing)
        self._traces = Traces(reader, hiding, limits, marks, runs, strips)

    def seams(self, keys: Sequence[str] | None = None) -> list[SeamRow]:
        """The seams listed, in order.

        Args:
            keys: those of these keys; all, where not given.
        """
        only, some = "", list(keys or ())
        if keys is not None:
            only = f"AND seam_key IN ({', '.join('?' * len(some))})"
        return self._reader.select(
            SeamRow,
            f"SELECT * FROM seams WHERE job = ? {only} ORDER BY tick, device",
            (self._reader.job.id, *some),
        )

    def laid_areas(self) -> list[Area]:
        """Rectangles of the plan, in the order laid."""
        rows = self._reader.select(
            _Laid,
            "SELECT name, x_m, y_m, length_m, width_m, slope, over FROM areas "
            "WHERE job = ? AND x_m IS NOT NULL ORDER BY tick, device",
            (self._reader.job.id,),
        )
        return [
            Area(r["name"], r["x_m"], r["y_m"], r["length_m"], r["width_m"], r["slope"], r["over"])
            for r in rows
        ]

    def view(self) -> list[SeamFound]:
        """Every seam, listed or only heard of, with its state, of one moment."""
        with self._reader.snapshot():
            return self._roof()

    def _roof(self) -> list[SeamFound]:
        """Seams with their state."""
        beside, on = self._read(None, self.on_seams.parts)
        found: list[SeamFound] = []
        for key in dict.fromkeys([*beside.listed, *on]):
            seam, rows = beside.listed.get(key), on.get(key, NOTHING)
            judged = beside.judged(key, rows, on.get(_side(seam), NOTHING))
            found.append(
                {
                    "name": name_of(seam, rows),
                    "seam": seam,
                    "state": judged.state,
                    "flags": list(judged.flags),
                    "rows": rows,
                    "hidden": beside.hidden(key),
                    "disagreements": judged.disagreements,
                }
            )
        return found

    def _read(
        self, keys: Sequence[str] | None, read: Callable[[Sequence[str] | None], dict[str, S]]
    ) -> tuple[Beside, dict[str, S]]:
        """What bears on seams and what is on them, and on those that they join."""
        beside = self.beside(self.seams(keys))
        joined = [row["joins"] for row in beside.listed.values() if row["joins"]]
        return beside, read(None if keys is None else [*keys, *joined])

    def beside(self, seams: Sequence[SeamRow]) -> Beside:
        """What bears on the seams listed beside their own rows.

        Args:
            seams: as listed.
        """
        listed: dict[str, SeamRow] = {}
        for row in seams:
            listed.setdefault(row["seam_key"], row)
        counted = Counter(row["seam_key"] for row in seams)
        amended = self._reader.select(
            _Amended,
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

    def _unheard(self, name: str) -> Unheard:
        known = ", ".join(row["name"] for row in self.seams()[:12]) or _("none yet")
        return Unheard(what=_("seam"), text=name, known=known)

    def states_of(self, keys: Sequence[str]) -> list[SeamState]:
        """The states of some seams.

        Args:
            keys: of these.
        """
        with self._reader.snapshot():
            beside, on = self._read(keys, self.on_seams.parts)
            found = []
            for key in keys:
                if key in beside.listed or key in on:
                    side = on.get(_side(beside.listed.get(key)), NOTHING)
                    found.append(beside.state(key, on.get(key, NOTHING), side))
            return found

    def warnings(self, *, open_only: bool = True) -> list[OpenWarning]:
        """Warnings overridden, with the run or cover (`area` is 1) they stand with, in order.

        Args:
            open_only: without those that were answered.
        """
        where = "AND warnings.done IS NULL" if open_only else ""
        columns = "name AS run, seen_local, seen_by, tick"
        return self._reader.select(
            OpenWarning,
            f"SELECT warnings.*, seam, 0 AS area, {columns} FROM warnings "
            'JOIN runs ON runs.id = warnings."of" '
            f"WHERE warnings.job = ?1 {where} UNION ALL "
            f"SELECT warnings.*, area, 1, {columns} FROM warnings "
            'JOIN covers ON covers.id = warnings."of" '
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
            found = self._reader.select(
                _Named,
                f"SELECT id, name FROM {table} WHERE id IN "
                '(SELECT "of" FROM amendments WHERE job = ?)',
                (self._reader.job.id,),
            )
            called |= {row["id"]: row["name"] for row in found}
        gone = self._reader.select(
            WithdrawnRow, "SELECT * FROM withdrawn WHERE job = ?", (self._reader.job.id,)
        )
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

        Args:
            name: of the seam, in any spelling.

        Raises:
            Unheard: nothing was ever recorded of such a seam.
        """
        key = same_name(name)
        with self._reader.snapshot():
            beside, on = self._read([key], self.on_seams.whole)
            if key not in beside.listed and key not in on:
                return self._trace_of_nothing(key, name)
            seam, rows = beside.listed.get(key), on.get(key, NOTHING_WHOLE)
            judged = beside.judged(key, rows, on.get(_side(seam), NOTHING_WHOLE))
            return SeamTrace(
                key=key,
                name=name_of(seam, rows),
                seam=seam,
                flags=list(judged.flags),
                state=judged.state,
                disagreements=[self.apart(one) for one in judged.disagreements],
                events=self.events(seam, rows),
            )

    def _trace_of_nothing(self, key: str, name: str) -> SeamTrace:
        """What was taken back of a seam of which nothing else is recorded."""
        events = self._traces.withdrawn(key, [])
        if not events:
            raise self._unheard(name)
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

    def apart(self, one: Disagreement) -> Apart:
        """A finding, and the walk over it that told nothing.

        Args:
            one: the two that disagree.
        """
        return self._traces.apart(one)

    def events(self, seam: SeamRow | None, rows: WholeRows) -> list[Event]:
        """What is recorded on a seam and of its own entry, in the order it was seen.

        Args:
            seam: its row; None where nobody listed it.
            rows: what is on it.
        """
        return self._traces.events(seam, rows)

    def placed_keys(self) -> set[str]:
        """Keys of the seams that items of visits and steps of leaks lie on."""
        items, steps = self._traces.placed_items()
        return {row["seam_key"] for row in (*items, *steps) if row["seam_key"] is not None}


def _side(seam: SeamRow | None) -> str:
    """The key of the side lap that a T-joint lies on."""
    return (seam["joins"] if seam else None) or ""
