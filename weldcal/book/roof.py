"""The roof: seams with their state, what hides them, what was warned of.

Invariant: state and flags are derived when asked for, of one moment.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypedDict, TypeVar

from weldcal.book.core import Named, Service
from weldcal.book.hiding import spells_of
from weldcal.book.job_reader import AS_LISTED
from weldcal.book.seam_rows import NOTHING, SeamRows
from weldcal.book.seams import SeamContext, SeamFound, meeting_at, name_of
from weldcal.book.writing import LETTERS
from weldcal.errors import Unheard
from weldcal.quality.seam import SeamState
from weldcal.quality.sheets import Rectangle
from weldcal.records.notes import WITHDRAWN
from weldcal.row_types.listed import SeamRow
from weldcal.row_types.record import AmendmentRow, WithdrawnRow
from weldcal.views.rows import Clash, NamedAmendment, OpenWarning
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.on_seams import OnSeams


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


S = TypeVar("S", bound=SeamRows)


class SeamStates(Service):
    """Seams with their states, and the plan."""

    _reader: JobReader
    _hiding: Hiding
    _limits: Limits
    _on_seams: OnSeams

    def seams(self, keys: Sequence[str] | None = None) -> list[SeamRow]:
        """The seams listed, in order.

        Args:
            keys: those of these keys; all, where not given.
        """
        only, some = "", list(keys or ())
        if keys is not None:
            only = f"AND seam_key IN ({', '.join('?' * len(some))})"
        return self._reader.of_job(SeamRow, f"{only} {AS_LISTED}", *some)

    def laid_areas(self) -> list[Rectangle]:
        """Rectangles of the plan, in the order laid."""
        rows = self._reader.select(
            _Laid,
            "SELECT name, x_m, y_m, length_m, width_m, slope, over FROM areas "
            "WHERE job = ? AND x_m IS NOT NULL ORDER BY tick, device",
            (self._reader.job.id,),
        )
        return [
            Rectangle(
                r["name"], r["x_m"], r["y_m"], r["length_m"], r["width_m"], r["slope"], r["over"]
            )
            for r in rows
        ]

    def view(self) -> list[SeamFound]:
        """Every seam, listed or only mentioned, with its state, of one moment."""
        with self._reader.snapshot():
            return self._roof()

    def _roof(self) -> list[SeamFound]:
        """Seams with their state."""
        context, rows_by_seam = self.read(None, self._on_seams.parts)
        seams: list[SeamFound] = []
        for key in dict.fromkeys([*context.listed, *rows_by_seam]):
            seam, rows = context.listed.get(key), rows_by_seam.get(key, NOTHING)
            judged = context.judged(key, rows, rows_by_seam)
            seams.append(
                {
                    "name": name_of(seam, rows),
                    "seam": seam,
                    "state": judged.state,
                    "flags": list(judged.flags),
                    "rows": rows,
                    "welds": judged.welds,
                    "hidden": context.hidden(key),
                    "disagreements": judged.disagreements,
                }
            )
        return seams

    def read(
        self, keys: Sequence[str] | None, read: Callable[[Sequence[str] | None], dict[str, S]]
    ) -> tuple[SeamContext, dict[str, S]]:
        """The context of seams and what is recorded on them, and on those that they join.

        Args:
            keys: of these; of all, where not given.
            read: what is on seams of some keys.
        """
        wanted = None if keys is None else [*keys, *meeting_at(self.seams(keys))]
        return self.context(self.seams(wanted)), read(wanted)

    def context(self, seams: Sequence[SeamRow]) -> SeamContext:
        """What the listed seams' states depend on besides their own rows.

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
        return SeamContext(
            listed=listed,
            twice=frozenset(key for key, count in counted.items() if count > 1),
            covers=self._hiding.covers(),
            spells=spells_of(self._reader),
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

    def unheard(self, name: str) -> Unheard:
        """The refusal of a seam of which nothing is recorded.

        Args:
            name: as typed.
        """
        known = ", ".join(row["name"] for row in self.seams()[:12]) or _("none yet")
        return Unheard(what=_("seam"), text=name, known=known)

    def states_of(self, keys: Sequence[str]) -> list[SeamState]:
        """The states of some seams.

        Args:
            keys: of these.
        """
        with self._reader.snapshot():
            context, rows_by_seam = self.read(keys, self._on_seams.parts)
            states = []
            for key in keys:
                if key in context.listed or key in rows_by_seam:
                    rows = rows_by_seam.get(key, NOTHING)
                    states.append(context.state(key, rows, rows_by_seam))
            return states

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
        rows = self._reader.of_job(AmendmentRow, "ORDER BY tick, id")
        called: dict[str, str] = {}
        for table in {t for t, _what in LETTERS.values()} | {"seams", "jobs"}:
            named = self._reader.select(
                Named,
                f"SELECT id, name FROM {table} WHERE id IN "
                '(SELECT "of" FROM amendments WHERE job = ?)',
                (self._reader.job.id,),
            )
            called |= {row["id"]: row["name"] for row in named}
        withdrawn = self._reader.of_job(WithdrawnRow)
        called |= {
            row["id"]: row["name"] or row["kind"] for row in withdrawn if row["id"] == row["of"]
        }
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
