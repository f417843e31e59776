"""Rows on seams, seam by seam: as little as a state needs of each, or all of it.

Invariant: rows are marked, in the order seen, and say from when what was welded was cold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict, TypeVar

from msgspec import Struct

from weldcal.book import seam_rows
from weldcal.book.core import Service
from weldcal.book.probing import END_LAP, NARROW
from weldcal.row_types import work
from weldcal.views import rows as viewed
from weldcal.views.rows import Marks as Marked

if TYPE_CHECKING:
    from typing_extensions import ReadOnly

    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Markable, Marking
    from weldcal.book.probing import Probing

# Tables of what is on a seam, in the order their marks become its flags.
ON_SEAMS = ("runs", "finishes", "bleeds", "widths", "walks", "findings", "mends", "peels")


class _Keyed(TypedDict):
    seam_key: ReadOnly[str | None]


class _OfSeams(Struct, frozen=True):
    """Which rows of a table: a condition, its values, and their order."""

    where: str
    values: tuple[str, ...] = ()
    order: str = "seen_utc, tick, id"

    @classmethod
    def named(cls, keys: Sequence[str] | None, first: str = "") -> _OfSeams:
        """Those of some seams; of all, where none are named."""
        order = f"{first}seen_utc, tick, id"
        if keys is None:
            return cls("seam IS NOT NULL", (), order)
        return cls(f"seam_key IN ({', '.join('?' * len(keys))})", tuple(keys), order)


P = TypeVar("P", bound="Markable")
M = TypeVar("M", bound=Marked)
K = TypeVar("K", bound=_Keyed)
W = TypeVar("W", bound=seam_rows.WidthOn)
S = TypeVar("S", bound=seam_rows.SeamRows)


class OnSeams(Service):
    """Reads what is on seams."""

    _reader: JobReader
    _limits: Limits
    _marks: Marking
    _probing: Probing

    def parts(self, keys: Sequence[str] | None = None) -> dict[str, seam_rows.SeamRows]:
        """What is on seams, as much of it as states and flags follow from, by seam key.

        Args:
            keys: of these seams; of all, where not given.
        """
        of = _OfSeams.named(keys)
        runs = _by_key(self._run_parts(of))
        finishes = _by_key(self._read(seam_rows.OnSeam, seam_rows.FinishOn, "finishes", of))
        bleeds = _by_key(self._read(seam_rows.AtPart, seam_rows.AtOn, "bleeds", of))
        widths = _by_key(
            self._narrow(self._read(seam_rows.WidthPart, seam_rows.WidthOn, "widths", of))
        )
        walks = _by_key(self._read(seam_rows.WalkPart, seam_rows.WalkOn, "walks", of))
        findings = _by_key(self._read(seam_rows.FindingPart, seam_rows.FindingOn, "findings", of))
        cold_from = self._limits.cooling()
        mended: list[seam_rows.MendOn] = [
            {**mend, "cold_utc": cold_from(mend["seen_utc"])}
            for mend in self._read(seam_rows.MendPart, seam_rows.MendMarked, "mends", of)
        ]
        mends = _by_key(mended)
        peels = _by_key(self._read(seam_rows.PeelPart, seam_rows.PeelOn, "peels", of))
        return _seam_by_seam(
            seam_rows.SeamRows, runs, finishes, bleeds, widths, walks, findings, mends, peels
        )

    def whole(
        self, keys: Sequence[str] | None = None, *, seam_by_seam: bool = False
    ) -> dict[str, seam_rows.WholeRows]:
        """All that is on seams, by seam key.

        Args:
            keys: of these seams; of all, where not given.
            seam_by_seam: seams in the order of their keys, not of what was seen first.
        """
        of = _OfSeams.named(keys, "seam_key, " if seam_by_seam else "")
        cold_from = self._limits.cooling()
        cooled: list[viewed.CooledRun] = [
            {**run, "cold_utc": cold_from(run["finished_utc"])}
            for run in self._read(work.RunRow, viewed.MarkedRun, "runs", of)
        ]
        runs = _by_key(cooled)
        finishes = _by_key(self._read(work.FinishRow, viewed.MarkedFinish, "finishes", of))
        bleeds = _by_key(self._read(work.BleedRow, viewed.MarkedBleed, "bleeds", of))
        widths = _by_key(self._narrow(self._read(work.WidthRow, viewed.MarkedWidth, "widths", of)))
        walks = _by_key(self._read(work.WalkRow, viewed.MarkedWalk, "walks", of))
        findings = _by_key(self._read(work.FindingRow, viewed.MarkedFinding, "findings", of))
        mended: list[viewed.CooledMend] = [
            {**mend, "cold_utc": cold_from(mend["seen_utc"])}
            for mend in self._read(work.MendRow, viewed.MarkedMend, "mends", of)
        ]
        mends = _by_key(mended)
        peels = _by_key(self._read(work.PeelRow, viewed.MarkedPeel, "peels", of))
        return _seam_by_seam(
            seam_rows.WholeRows, runs, finishes, bleeds, widths, walks, findings, mends, peels
        )

    def batches(self, at_once: int) -> Iterator[dict[str, seam_rows.WholeRows]]:
        """All that is on seams, some seams at a time, so that ten thousand need little memory.

        Args:
            at_once: how many seams.
        """
        every = " UNION ".join(
            f"SELECT seam_key FROM {table} WHERE job = ?1 AND seam IS NOT NULL"
            for table in ON_SEAMS
        )
        keys = self._reader.column(str, f"{every} ORDER BY seam_key", (self._reader.job.id,))
        for at in range(0, len(keys), at_once):
            yield self.whole(keys[at : at + at_once], seam_by_seam=True)

    def meeting(self) -> dict[str, seam_rows.SeamRows]:
        """Runs and walks of the laps that meet at T-joints: all that a joint needs of them."""
        joints = "FROM seams j WHERE j.job = ? AND j.joins IS NOT NULL"
        of = _OfSeams(
            f"seam_key IN (SELECT j.joins {joints} UNION SELECT {END_LAP} {joints})",
            (self._reader.job.id,) * 2,
        )
        runs = _by_key(self._run_parts(of))
        walks = _by_key(self._read(seam_rows.WalkPart, seam_rows.WalkOn, "walks", of))
        return {
            key: seam_rows.SeamRows(runs=runs.get(key, ()), walks=walks.get(key, ()))
            for key in dict.fromkeys([*runs, *walks])
        }

    def _run_parts(self, of: _OfSeams) -> list[seam_rows.RunOn]:
        cold_from = self._limits.cooling()
        return [
            {**run, "cold_utc": cold_from(run["finished_utc"])}
            for run in self._read(seam_rows.RunPart, seam_rows.RunMarked, "runs", of)
        ]

    def _read(self, part: type[P], struct: type[M], table: str, of: _OfSeams) -> list[M]:
        """Rows of a table: the columns that `part` names, marked."""
        rest = f"AND {of.where} ORDER BY {of.order}"
        rows = self._reader.part(part, table, rest, *of.values)
        return self._marks.marked(struct, rows)

    def _narrow(self, widths: list[W]) -> list[W]:
        """Lap widths, those below their limits marked."""
        for row in widths:
            row["marks"] += [NARROW] if self._probing.width_shortfalls(row) else []
        return widths


def _seam_by_seam(kind: type[S], *each: Mapping[str, Sequence[object]]) -> dict[str, S]:
    """What is on each seam, from the rows of each table in the order of `kind`, by seam key."""
    made: Callable[..., S] = kind
    keys = dict.fromkeys(key for part in each for key in part)
    return {key: made(*(part.get(key, ()) for part in each)) for key in keys}


def _by_key(rows: Iterable[K]) -> dict[str, list[K]]:
    """Rows by the key of their seam."""
    by_key: dict[str, list[K]] = {}
    for row in rows:
        if (key := row["seam_key"]) is not None:
            by_key.setdefault(key, []).append(row)
    return by_key
