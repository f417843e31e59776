"""Probing along a seam: walked too fast, contradicted, mended far enough, across a T-joint.

Invariant: a finding stands until mended, whatever another walk says: the
disagreement is shown beside it. What walks cover is `quality.seam`'s.

Distances are metres from the seam's zero end; corrected walks come corrected.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.quality.coverage import SAME_PLACE_M, Stretch, covers, minus, ordered
from weldcal.records.fields import same_name
from weldcal.records.limits import SITE

if TYPE_CHECKING:  # for names only, on the recording path
    from weldcal.quality.seam import Run, SeamFinding, SeamMend, SeamWalk
    from weldcal.quality.sheets import TJoint

When = tuple[str, int]

# Site settings, no source: slower than this is a forgotten clock, faster is not probing.
PACE_LEAST_M_PER_MIN = 0.2
PACE_MOST_M_PER_MIN = 15.0
PACE_SOURCE = SITE


class Pace(Struct, frozen=True):
    """A walk's pace where it is not one of probing: too_fast, too_slow or clock_back."""

    code: str
    m_per_min: float | None


class Disagreement(Struct, frozen=True):
    """A finding, and a walk over the same place that found nothing, unmended in between.

    `walked` is when the walk was seen; `after` whether that was after the finding.
    """

    finding: str
    stretch: Stretch
    walked: When
    after: bool


def pace(length_m: float, seconds: float) -> Pace | None:
    """What is odd about a walk's pace, or None. A walk of no length has none."""
    if seconds < 0:
        return Pace("clock_back", None)
    if length_m <= SAME_PLACE_M:
        return None
    if seconds == 0:
        return Pace("too_fast", None)
    speed = length_m / seconds * 60.0
    if speed > PACE_MOST_M_PER_MIN:
        return Pace("too_fast", speed)
    return Pace("too_slow", speed) if speed < PACE_LEAST_M_PER_MIN else None


def disagreements(
    findings: Sequence[SeamFinding],
    walks: Sequence[SeamWalk],
    mends: Sequence[SeamMend],
    runs: Sequence[Run] = (),
) -> tuple[Disagreement, ...]:
    """Walks over the whole of an unmended finding that recorded nothing there.

    `findings` are those the probe found. A walk reports a finding that is its own, or that
    overlaps one of its own; one recorded by itself belongs to a walk seen at that very time.
    A walk before the place was welded, or after its mend, has nothing to report.
    """
    if not findings:
        return ()
    against = []
    own = [[f for f in findings if _found_by(walk, f)] for walk in walks]
    for finding in findings:
        place = ordered(finding.start, finding.end)
        mended = min((m.when for m in mends if m.finding == finding.id), default=None)
        welded = _welded_when(place, runs, finding.when)
        for walk, own_findings in zip(walks, own, strict=True):
            if _found_by(walk, finding):  # the usual case: its own, and it meets itself
                continue
            missed = not any(_meet(f, place) for f in own_findings)
            in_time = (welded is None or walk.when >= welded) and (
                mended is None or walk.when < mended
            )
            if missed and in_time and covers([ordered(walk.start, walk.end)], place):
                after = walk.when > finding.when
                against.append(Disagreement(finding.name, place, walk.when, after))
    return tuple(against)


def _found_by(walk: SeamWalk, finding: SeamFinding) -> bool:
    """Whether a finding is a walk's own. Entries of one moment differ in their order only."""
    return walk.id == finding.walk if finding.walk else walk.when[0] == finding.when[0]


def _meet(finding: SeamFinding, place: Stretch) -> bool:
    start, end = ordered(finding.start, finding.end)
    return start <= place[1] + SAME_PLACE_M and end >= place[0] - SAME_PLACE_M


def _welded_when(place: Stretch, runs: Sequence[Run], before: When) -> When | None:
    """When the place was last welded, before it was found open."""
    over = [
        run.when
        for run in runs
        if run.end is not None
        and run.when <= before
        and minus([place], [ordered(run.start, run.end)]) != [place]
    ]
    return max(over, default=None)


def mend_reach(place: Stretch, margin_m: float, seam_m: float | None = None) -> Stretch:
    """Where the mend of a finding should reach: past it by the margin, but not past the seam's ends."""
    start, end = place
    far = end + margin_m if seam_m is None else min(max(seam_m, end), end + margin_m)
    return max(0.0, start - margin_m), far


def across_t_joints(
    seam: str, start_m: float, end_m: float, joints: Iterable[TJoint]
) -> tuple[TJoint, ...]:
    """T-joints that a finding on `seam` touches: it concerns the other lap of each as well."""
    low, high = ordered(start_m, end_m)
    key = same_name(seam)
    across = []
    for joint in joints:
        ats = [joint.at_m] if same_name(joint.side_lap) == key else []
        ats += [joint.end_at_m] if same_name(joint.end_lap) == key else []
        if any(low - SAME_PLACE_M <= at <= high + SAME_PLACE_M for at in ats):
            across.append(joint)
    return tuple(across)
