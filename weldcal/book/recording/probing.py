"""The inspector's verbs: probe walks, findings, mends, peel samples.

Invariant: what was found is recorded where it was found, on a seam known or
not; a mend leaves its finding unprobed until a walk covers it again.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.probing import _further
from weldcal.errors import NoneYet
from weldcal.quality.coverage import covers, ordered
from weldcal.quality.goahead import CLEAN
from weldcal.records.seam import Finding, LapWidth, Mend, Peel, Walk
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import WidthRow

if TYPE_CHECKING:
    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.probing import Probing
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.runs import Runs
    from weldcal.book.standing import GoAheads


class ProbingRecorder(Service):
    """Records probe walks, findings, mends, lap widths and peel samples."""

    _reader: JobReader
    _transactions: Transactions
    _go_aheads: GoAheads
    _hiding: Hiding
    _marks: Marking
    _probing: Probing
    _runs: Runs

    def record_walk(self, walk: Walk, findings: Sequence[Finding] = ()) -> Recorded:
        """Record a probe walk and what it found, together or not at all.

        Args:
            walk: as typed.
            findings: what it found.
        """
        walk, findings = self._runs.placed_in(walk), [self._runs.placed_in(one) for one in findings]
        names = []
        with self._transactions.by(walk.seen) as writer:
            named = writer.named("walk", walk)
            walk_id = writer.add("walk", named)
            for finding in findings:
                one = writer.named("finding", replace(finding, walk=walk_id))
                writer.add("finding", one)
                names.append(one.name)
        notes = self._probing.walk_notes(walk, findings, names)
        row_notes = self._marks.notes("walks", walk_id)
        return Recorded(walk_id, named.name, (*row_notes, *notes), {"findings": names})

    def record_finding(self, finding: Finding) -> Recorded:
        """Record a finding by itself: seen, or cut.

        Args:
            finding: as typed.
        """
        finding = self._runs.placed_in(finding)
        finding_id, named = self._transactions.record_named("finding", finding)
        far = _further(finding.start, finding.end)
        notes = (
            *self._marks.notes("findings", finding_id),
            *self._runs.seam_notes(finding.seam, far, finding.seen),
            *self._probing.across(named.name, finding),
        )
        return Recorded(finding_id, named.name, notes)

    def record_mend(self, name: str, mend: Mend) -> Recorded:
        """Record the mend of a finding.

        Args:
            name: of the finding.
            mend: as typed.

        Raises:
            Misplaced: the name is not of a finding.
        """
        row = self._probing.mended(name)
        mend = self._runs.placed_in(replace(mend, seam=row["seam"]))
        wanted = self._probing.mend_reach(row)
        reach = ordered(mend.start.si("m"), mend.end.si("m"))
        short = not covers([reach], wanted, self._runs.slack_then(mend.seen))
        notes = (Note("mend_short", {"from_m": wanted[0], "to_m": wanted[1]}),) if short else ()
        on = self._hand_strip(mend)
        mend = replace(mend, finding=row["id"], go_ahead=on["id"] if on else None)
        mend_id, named = self._transactions.record_named("mend", mend)
        seam = {"seam": row["seam"]}
        hidden = self._hiding.hidden(row["seam_key"], ordered(row["start_m"], row["end_m"]))
        again = Note("open_up", seam) if hidden else Note("probe_again", seam)
        stands = _stands_on(mend, on)
        return Recorded(
            mend_id, named.name, (*self._marks.notes("mends", mend_id), *notes, stands, again)
        )

    def _hand_strip(self, mend: Mend) -> StripRow | None:
        """The hand strip that a mend is based on, by the verdict on its person's go-ahead."""

        try:
            go_ahead = self._go_aheads.go_ahead_stands(
                mend.tool, at=mend.seen.at, hand=mend.seen.by
            )
        except NoneYet:
            return None
        return go_ahead.strip if go_ahead.permits else None

    def record_width(self, width: LapWidth) -> Recorded:
        """Record the width of a lap read at a place, judged by the limits in force.

        Args:
            width: as typed.
        """
        width_id, named = self._transactions.record_named("lap-width", width)
        row = self._reader.by_id(WidthRow, width_id)
        short = (Note("too_narrow", {"shortfall": s}) for s in self._probing.width_shortfalls(row))
        notes = (
            *self._marks.notes("widths", width_id),
            *self._runs.seam_notes(width.seam, width.at, width.seen),
        )
        return Recorded(width_id, named.name, (*notes, *short))

    def record_peel(self, peel: Peel, cut: Finding | None = None) -> Recorded:
        """Record a peel sample; one cut from a seam leaves an open finding in its place.

        Args:
            peel: as typed.
            cut: the finding that its cut leaves in the seam.
        """
        names = []
        peel, cut = (
            self._runs.placed_in(peel),
            self._runs.placed_in(cut) if cut is not None else None,
        )
        with self._transactions.by(peel.seen) as writer:
            named = writer.named("peel", peel)
            peel_id = writer.add("peel", named)
            if cut is not None:
                one = writer.named("finding", replace(cut, peel=peel_id))
                writer.add("finding", one)
                names.append(one.name)
        notes = self._marks.notes("peels", peel_id)
        if peel.seam and peel.at:
            notes += self._runs.seam_notes(peel.seam, peel.at, peel.seen)
        loaded = peel.load is not None or peel.line_load is not None
        if loaded and (peel.sample_temp is None or peel.pull_rate is None):
            notes += (Note("load_bare", {}),)
        if peel.parted == CLEAN:
            notes += (Note("parted_at_lap", {"strip": peel.strip is not None}),)
        if cut is not None:
            notes += self._probing.across(names[0], cut)
        return Recorded(peel_id, named.name, notes, {"findings": names})


def _stands_on(mend: Mend, strip: StripRow | None) -> Note:
    """On which hand strip a mend stands, or that there is none."""
    if strip is None:
        return Note("no_hand_strip", {"by": mend.seen.by, "tool": mend.tool})
    return Note("on_hand_strip", {"name": strip["name"]})
