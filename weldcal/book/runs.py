"""The operator's verbs on a seam: runs, bleed checks.

Invariant: what can be kept is kept; what is odd about it becomes a note, and
what was warned of before welding stands in the run's own entry.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TypedDict, TypeVar

from msgspec.structs import replace

from weldcal.book.core import Named, NamedSeam, Note, Service
from weldcal.book.hiding import Hiding
from weldcal.book.job_reader import AS_LISTED, AS_SEEN
from weldcal.errors import EndUnknown
from weldcal.quality import goahead
from weldcal.quality.coverage import past_end
from weldcal.quantities import Quantity
from weldcal.records.codec import decode
from weldcal.records.common import Seen
from weldcal.records.examples import example
from weldcal.records.fields import END, is_end, same_name
from weldcal.records.seam import BleedCheck, Finding, Mend, Peel, Seam, Walk
from weldcal.row_types.work import BleedRow, RunRow
from weldcal.rules.welded import RunPlace, by_seam, moment, run_that_welded
from weldcal.rules.welded import SeenAt as WhenSeen
from weldcal.tables.columns import utc
from weldcal.tables.projector import subject_of

if TYPE_CHECKING:
    from typing_extensions import ReadOnly

    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.strips import Strips


Placed = TypeVar("Placed", BleedCheck, Finding, Mend, Peel, Walk)


class _Looked(WhenSeen):
    """What was looked at at a place of a seam."""

    seam_key: ReadOnly[str | None]
    at_m: ReadOnly[float | None]


class _RunOn(RunPlace):
    """A run, and the seam it is on."""

    seam_key: ReadOnly[str]


class _Welded(TypedDict):
    """A run by whose sheet a check is judged."""

    sheet: ReadOnly[str | None]


class _Bled(TypedDict):
    """What a bleed check is judged by."""

    seen_utc: ReadOnly[str]
    width_min_mm: ReadOnly[float | None]
    width_max_mm: ReadOnly[float | None]
    bubbling: ReadOnly[str | None]


Check = TypeVar("Check", bound=_Looked)
RunOn = TypeVar("RunOn", bound=_RunOn)


class _Lap(TypedDict):
    lap: str | None


class _Length(TypedDict):
    length_m: float | None


# Seams whose runs are asked for by name; beyond, all of the job's runs are read once.
_FEW_SEAMS = 200


class Runs(Service):
    """Runs and bleed checks: which run welded what, and what a check falls short of."""

    _reader: JobReader
    _hiding: Hiding
    _limits: Limits
    _strips: Strips

    def placed(self, seam: str, place: Quantity) -> Quantity:
        """A place along a seam as a distance: its end is as far as the seam is listed.

        Args:
            seam: its name.
            place: from its zero end, or its end.

        Raises:
            EndUnknown: the end was typed, and no length is listed.
        """
        if not is_end(place):
            return place
        length = self.seam_length(seam)
        if length is None:
            raise EndUnknown(seam=seam, example=example("length", self._reader.job.units))
        return Quantity(text=END, number=length.number, unit=length.unit)

    def placed_in(self, record: Placed) -> Placed:
        """A record of something along a seam, with its places as distances.

        Args:
            record: as typed.

        Raises:
            EndUnknown: the end was typed, and no length is listed.
        """
        places = {
            name: self.placed(record.seam or "", place)
            for name in ("start", "end", "at")
            if (place := getattr(record, name, None)) is not None
        }
        return replace(record, **places)

    def slack_then(self, seen: Seen) -> float:
        """How near two places along a lap counted as one when something was seen, m.

        Args:
            seen: when, and by whom.
        """
        return self._limits.tolerances().at(utc(seen.at))

    def seam_length(self, name: str) -> Quantity | None:
        """How long a listed seam is, as it was typed; None where nobody said.

        Args:
            name: of the seam.
        """
        for row in self.seams_named(name):
            subject = subject_of(self._reader.reading(), row["id"])
            if subject is not None:
                listed = decode("seam", subject.payload)
                return listed.length if isinstance(listed, Seam) else None
        return None

    def seams_named(self, name: str) -> list[Named]:
        """The listings of a seam, the first one first.

        Args:
            name: of the seam, in any spelling.
        """
        return self._reader.part(Named, "seams", f"AND seam_key = ? {AS_LISTED}", same_name(name))

    def lap_of(self, seam: str) -> str | None:
        """The lap kind that a seam is listed as; None where nobody said, or nobody listed it.

        Args:
            seam: its name.
        """
        rows = self._reader.part(_Lap, "seams", f"AND seam_key = ? {AS_LISTED}", same_name(seam))
        return rows[0]["lap"] if rows else None

    def open_runs(self, seam: str | None = None) -> list[RunRow]:
        """Runs begun and not finished, newest last.

        Args:
            seam: of this one only.
        """
        where, values = ("AND seam_key = ?", [same_name(seam)]) if seam else ("", [])
        return self._reader.of_job(RunRow, f"AND end_m IS NULL {where} {AS_LISTED}", *values)

    def fail_outright(self, checks: Sequence[tuple[BleedRow, RunRow | None]]) -> tuple[bool, ...]:
        """Which bleed checks call for a strip at once, not for a look.

        Args:
            checks: rows in the order seen, each with the run that had welded its place.
        """
        widths = self._strips.readings_of([row for row, _run in checks]) if checks else {}
        return goahead.no_look_mends(
            [
                goahead.Looked(
                    tuple(r["width_mm"] for r in widths.get(row["id"], [])),
                    row["bubbling"],
                    frozenset(s.code for s in self.check_shortfalls(row, run)),
                )
                for row, run in checks
            ]
        )

    def check_shortfalls(self, check: _Bled, run: _Welded | None) -> tuple[goahead.Shortfall, ...]:
        """What of a bleed check is outside the limits in force when it was seen.

        Args:
            check: its row.
            run: the run that had welded its place, where one is known: its sheet's limits.
        """
        sheet = (run["sheet"] if run else None) or ""
        limits = replace(self._limits.acceptance(sheet, check["seen_utc"]), readings_least=1)
        ends = (check["width_min_mm"], check["width_max_mm"])
        widths = tuple(width for width in ends if width is not None)
        judged = goahead.Judged(widths_mm=widths, bubbling=check["bubbling"] or "none", bond="good")
        return goahead.shortfalls(judged, limits)

    def with_runs(self, checks: Sequence[Check]) -> list[tuple[Check, RunRow | None]]:
        """Bleed checks or peel samples, each with the run that had welded its place when seen.

        Args:
            checks: as they are recorded.
        """
        seams = {check["seam_key"] or "" for check in checks}
        few = sorted(seams) if len(seams) <= _FEW_SEAMS else []  # else all runs at once
        where = f"AND seam_key IN ({', '.join('?' * len(few))})" if few else ""
        return self.laid(checks, self._reader.of_job(RunRow, f"{where} {AS_SEEN}", *few))

    def laid(
        self, checks: Sequence[Check], runs: Iterable[RunOn]
    ) -> list[tuple[Check, RunOn | None]]:
        """`with_runs` where the runs of the job are at hand.

        Args:
            checks: as they are recorded.
            runs: of their seams, in the order seen.
        """
        welding, slack = by_seam(runs), self._limits.tolerances()

        def welded(check: Check) -> RunOn | None:
            on, at_m = welding.get(check["seam_key"] or "", []), check["at_m"]
            if at_m is None:
                return None
            return run_that_welded(on, at_m, moment(check), slack.at(check["seen_utc"]))

        return [(check, welded(check)) for check in checks]

    def checks_on(self, run: RunRow) -> list[tuple[BleedRow, RunRow | None]]:
        """The bleed checks of a run, in the order seen, each with the run.

        Args:
            run: its row.
        """
        checks = self._reader.of_job(BleedRow, f"AND seam_key = ? {AS_SEEN}", run["seam_key"])
        return [(row, on) for row, on in self.with_runs(checks) if on and on["id"] == run["id"]]

    def seam_notes(self, seam: str, at: Quantity, seen: Seen) -> tuple[Note, ...]:
        """What is odd about a seam that something is recorded on.

        Args:
            seam: its name.
            at: the farthest place recorded.
            seen: when, and by whom.
        """
        key = same_name(seam)
        lengths = self._reader.part(_Length, "seams", "AND seam_key = ?", key)
        notes: tuple[Note, ...] = ()
        if not lengths and (ends := self._range_of_seams(seam)):
            notes = (Note("several_seams", {"seam": seam, "first": ends[0], "last": ends[1]}),)
        elif not lengths:
            notes = (Note("unlisted", {"what": "seam", "name": seam, "known": []}),)
        elif (length := lengths[0]["length_m"]) is not None and past_end(
            at.si("m"), length, self.slack_then(seen)
        ):
            notes = (Note("past_end", {"seam": seam, "at_m": at.si("m"), "length_m": length}),)
        place = (at.si("m"), at.si("m"))
        return (
            (*notes, Note("hidden", {"seam": seam})) if self._hiding.hidden(key, place) else notes
        )

    def _range_of_seams(self, name: str) -> tuple[str, str] | None:
        """The two listed seams that a name not listed joins, as in A1-A3."""
        ends = re.split(r"\s*[-–]\s*|\s+(?:to|a)\s+", name.strip(), maxsplit=1)
        if len(ends) != 2:
            return None
        first, last = (same_name(end) for end in ends)
        named = {
            row["seam_key"]: row["name"]
            for row in self._reader.part(NamedSeam, "seams", "AND seam_key IN (?, ?)", first, last)
        }
        return (named[first], named[last]) if first in named and last in named else None
