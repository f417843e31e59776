"""What is in doubt, where to look for a leak, where faults come from.

Invariant: a finding mended and probed again no longer puts its own place in
doubt, but what was welded around it stays bracketed as it was found.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from weldcal.book.core import Named, NamedSeam
from weldcal.book.doubt_rows import (
    Bled,
    CutAt,
    Found,
    FoundAt,
    Looked,
    Pulled,
    Run,
    Typed,
    Walked,
)
from weldcal.book.fault_groups import work_of
from weldcal.book.hiding import in_reach, spells_of
from weldcal.book.job_reader import AS_SEEN
from weldcal.book.kept import JobCache
from weldcal.book.walked import that_count
from weldcal.errors import NoneYet
from weldcal.quality.bracket import Bracketed
from weldcal.quality.doubt import BLEED, PEEL, PROBE, Check, Cut, Doubt, Doubts, Welded, of_seam
from weldcal.quality.faults import Faults, fault_rates, nameless
from weldcal.quality.goahead import CLEAN
from weldcal.records.fields import same_name
from weldcal.records.times import seconds
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.roof import SeamStates
    from weldcal.book.runs import Runs
    from weldcal.book.verdicts import Verdicts


_SEAMS_AT_ONCE = 500
_SEAMS_OF_A_LINE = 5000  # more of them are as many as all of the job, and too many for a query
# Keys of the seams asked about; None for all of the job.
Seams = Sequence[str] | None


# How far beyond a mend still is beside the failure, and how near to a place drawn a sample
# was cut there (site settings, no source).
BESIDE_M = 1.0


_CUT_NEAR_M = 0.3


_PROBED = {"void", "fishmouth", "wrinkle", "blister", "other"}


# Seams welded on a line (a machine's, on a go-ahead) that welded a seam, itself among them.
_ON_ITS_LINES = (
    "SELECT DISTINCT r.seam_key FROM runs o JOIN runs r ON r.job = o.job "
    "AND r.machine IS o.machine AND r.go_ahead IS o.go_ahead AND r.by_hand = 0 "
    "WHERE o.job = ? AND o.seam_key = ? AND o.by_hand = 0"
)


class Doubting:
    """What is in doubt, what to cut, and how many faults there were."""

    def __init__(
        self,
        reader: JobReader,
        limits: Limits,
        roof: SeamStates,
        runs: Runs,
        verdicts: Verdicts,
    ) -> None:
        self._reader = reader
        self._limits = limits
        self._roof = roof
        self._runs = runs
        self._verdicts = verdicts
        self._laid: JobCache[Bracketed] = JobCache(reader)
        self._doubted: JobCache[Doubts] = JobCache(reader)

    def doubt(self) -> Doubts:
        """All that failures put in doubt, in the order of welding, but their own place once mended.

        A go-ahead's strip that fell short since puts in doubt all that was welded on it.
        """
        return self._doubted.get("doubt", self._all_doubts)

    def _all_doubts(self) -> Doubts:
        with self._reader.snapshot():
            return self._still_open(self._bracketed().doubts())

    def on_seam(self, key: str) -> tuple[Doubt, ...]:
        """The doubts of `doubt` that reach a seam, from the lines that welded it alone.

        Args:
            key: of the seam.
        """
        with self._reader.snapshot():
            seams = self._reader.column(str, _ON_ITS_LINES, (self._reader.job.id, key))
            if not seams:
                return ()
            if len(seams) > _SEAMS_OF_A_LINE:
                return of_seam(self.doubt(), key)
            return of_seam(self._still_open(self._bracket(seams).doubts(), seams), key)

    def _still_open(self, doubts: Doubts, seams: Seams = None) -> Doubts:
        """Without the failures mended and probed again, where only their own place is left."""
        closed = self._closed(seams)
        left = [d for d in doubts.doubts if d.failure not in closed or d.beyond]
        return Doubts(tuple(left), doubts.unplaced)

    def cuts(self) -> tuple[Cut, ...]:
        """The fewest cuts that end what is in doubt beside failures, places drawn first."""
        with self._reader.snapshot():
            doubted = {doubt.failure for doubt in self.doubt().doubts}
            return self._bracketed().least_cuts(
                doubted,
                self._limits.limits()["mend_margin"].value.si("m"),
                BESIDE_M,
                self.drawn_places(),
            )

    def _bracketed(self) -> Bracketed:
        """What was welded, with every check where it lies on it."""
        return self._laid.get("checks", self._bracket)

    def _bracket(self, seams: Seams = None) -> Bracketed:
        on, keys = self._on(seams)
        runs = self._reader.part(Run, "runs", f"{on} {AS_SEEN}", *keys)
        strips = self._verdicts.fallen()
        return Bracketed(_by_machine(runs), self._checks(runs, seams), strips)

    def drawn_places(self) -> list[tuple[str, float]]:
        """Places drawn for samples where none was cut since: seam key, m from its zero end."""
        cut: dict[str, list[float]] = {}
        for row in self._reader.select(
            CutAt,
            "SELECT seam_key, at_m FROM peels WHERE job = ? AND seam IS NOT NULL",
            (self._reader.job.id,),
        ):
            cut.setdefault(row["seam_key"], []).append(row["at_m"])
        return [
            (same_name(seam), at)
            for places in self._reader.column(
                str,
                "SELECT places FROM draws WHERE job = ? ORDER BY seen_utc, tick, device",
                (self._reader.job.id,),
            )
            for seam, at in json.loads(places)
            if all(abs(at - cut_at) > _CUT_NEAR_M for cut_at in cut.get(same_name(seam), []))
        ]

    def _closed(self, seams: Seams) -> set[str]:
        """Names of findings mended and probed again, and of samples whose cut is."""
        on, of = self._on(seams)
        findings = self._reader.part(Found, "findings", on, *of)
        peels = self._names_of("peels")
        holding: set[str] = set()
        keys = list(dict.fromkeys(row["seam_key"] for row in findings))
        for at in range(0, len(keys), _SEAMS_AT_ONCE):
            for state in self._roof.states_of(keys[at : at + _SEAMS_AT_ONCE]):
                holding |= {*state.open, *state.mended}
        closed = [f for f in findings if f["name"] not in holding]
        return {f["name"] for f in closed} | {
            peels[f["peel"]] for f in closed if f["peel"] in peels
        }

    def seam_names(self) -> dict[str, str]:
        """Seams as people spell them, by key: as listed, else as first typed."""
        names: dict[str, str] = {}
        for row in self._reader.select(
            Typed,
            "SELECT seam_key, seam FROM runs WHERE job = ? ORDER BY tick, device",
            (self._reader.job.id,),
        ):
            names.setdefault(row["seam_key"], row["seam"])
        listed = self._reader.select(
            NamedSeam,
            "SELECT seam_key, name FROM seams WHERE job = ? ORDER BY tick, device",
            (self._reader.job.id,),
        )
        return {**names, **{row["seam_key"]: row["name"] for row in listed}}

    def strip_names(self) -> dict[str, str]:
        """Short names of strips by id."""
        return self._names_of("strips")

    def _names_of(self, table: str) -> dict[str, str]:
        """Short names of a table's records by id."""
        rows = self._reader.select(
            Named, f"SELECT id, name FROM {table} WHERE job = ?", (self._reader.job.id,)
        )
        return {row["id"]: row["name"] for row in rows}

    def _on(self, seams: Seams) -> tuple[str, tuple[str, ...]]:
        """The end of a query that keeps it to some seams, and its values."""
        if seams is None:
            return "", ()
        return f" AND seam_key IN ({', '.join('?' * len(seams))})", tuple(seams)

    def _checks(self, runs: list[Run], seams: Seams) -> list[Check]:
        """Bleed checks by the limits, walks, findings and peel samples, as good or bad."""
        on, keys = self._on(seams)
        part = self._reader.part
        bleeds = self._runs.laid(part(Bled, "bleeds", on, *keys), runs)
        walks = part(Walked, "walks", on, *keys)
        findings = part(FoundAt, "findings", f"AND peel IS NULL{on}", *keys)
        peels = part(Pulled, "peels", f"AND seam IS NOT NULL{on}", *keys)
        slack, spells = self._limits.tolerances(), spells_of(self._reader)
        inside = self._inside(bleeds)

        def _check(
            row: Looked, kind: str, good: bool, start: float, end: float, what: str | None = None
        ) -> Check:
            at = seconds(row["seen_local"])
            near = slack.at(row["seen_utc"])
            return Check(row["name"], kind, good, row["seam_key"], start, end, at, near, what)

        def _seen(c: Bled) -> bool:
            place = c["at_m"], c["at_m"]
            hidden = spells.get(c["seam_key"], [])
            return bool(in_reach(hidden, place, c["seen_utc"], c["entered_utc"]))

        # What was hidden then is shown good by nobody; what was found bad there stays so.
        checks = [
            *(
                _check(c, BLEED, good, c["at_m"], c["at_m"])
                for (c, _run), good in zip(bleeds, inside, strict=True)
                if not good or _seen(c)
            ),
            *(
                _check(r, PROBE, True, *place)
                for r, place in that_count(self._reader, self._limits, walks, runs)
            ),
            *(
                _check(r, _shows(r["kind"]), False, r["start_m"], r["end_m"], r["kind"])
                for r in findings
            ),
            *(_check(r, PEEL, r["parted"] != CLEAN, r["at_m"], r["at_m"]) for r in peels),
        ]
        return sorted(checks, key=lambda check: check.at_s)

    def _inside(self, bleeds: Sequence[tuple[Bled, Run | None]]) -> list[bool]:
        """Whether bleed checks are inside the limits; those that read alike are judged once."""
        period = self._limits.periods()
        answers: dict[tuple[object, ...], bool] = {}
        inside = []
        for check, run in bleeds:
            alike = (
                run and run["sheet"],
                period(check["seen_utc"]),
                check["width_min_mm"],
                check["width_max_mm"],
                check["bubbling"],
            )
            if alike not in answers:
                answers[alike] = not self._runs.check_shortfalls(check, run)
            inside.append(answers[alike])
        return inside

    def fault_rates(self, *, people: bool = True, by: Sequence[str] = ()) -> Faults:
        """Fault rate per 100 ft probed by operator, machine, sheet, kind of lap, hour, weather.

        Args:
            people: False leaves out who welded.
            by: only these of `records.fields.CHOICES["factor"]`, the hour by the clock; all,
                with morning and afternoon, where none is given. Groups not asked for are not
                looked at, and count for nothing among those that are.

        Raises:
            NoneYet: nothing that was welded is probed yet.
        """
        work = work_of(self._reader, self._limits, self._roof.seams(), by_clock=bool(by))
        if not work:
            raise NoneYet(what=_("probed lap"), then=_("Probe what is welded: weldcal probe SEAM"))
        return fault_rates(work if people else nameless(work), list(by) or None)


def _shows(kind: str) -> str:
    """Which check could have seen a finding of a kind: a cold weld only a pull."""
    return PEEL if kind == "cold" else PROBE if kind in _PROBED else BLEED


def _by_machine(runs: list[Run]) -> list[Welded]:
    """What machines welded, in the order welded."""
    return [
        Welded(
            r["id"],
            r["machine"] or "",
            r["go_ahead"],
            r["seam_key"],
            r["start_m"],
            r["end_m"],
            seconds(r["seen_local"]),
        )
        for r in runs
        if not r["by_hand"]
    ]
