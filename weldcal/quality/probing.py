"""Probing along a seam: what was walked, walked twice, too fast, or told otherwise.

Invariant: order and direction of walks never change what is covered, and a
walk covers only what was welded before it. A finding stands until mended,
whatever another walk says: the disagreement is shown beside it.

Distances are metres from the seam's zero end; corrected walks come corrected.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations

from msgspec import Struct

from weldcal.quality.coverage import SAME_PLACE_M, Stretch, covers, minus, ordered, total, union
from weldcal.quality.layout import TJoint
from weldcal.quality.seam import Found, Mend, Run, Walk
from weldcal.records.limits import SITE

When = tuple[str, int]

# Site settings, no source: slower than this is a forgotten clock, faster is not probing.
PACE_LEAST_M_PER_MIN = 0.2
PACE_MOST_M_PER_MIN = 15.0
PACE_SOURCE = SITE


class Coverage(Struct, frozen=True):
    """What walks cover of the welded length, sorted and disjoint, m.

    Attributes:
        twice: covered by two walks or more; `by_two` by two different people.
        left: welded, and not walked since.
        beyond: walked where nothing is welded.
    """

    welded: tuple[Stretch, ...]
    probed: tuple[Stretch, ...]
    twice: tuple[Stretch, ...]
    by_two: tuple[Stretch, ...]
    left: tuple[Stretch, ...]
    beyond: tuple[Stretch, ...]
    probed_m: float
    left_m: float


class Pace(Struct, frozen=True):
    """A walk's pace where it is not one of probing: too_fast, too_slow or clock_back."""

    code: str
    m_per_min: float | None


class Disagreement(Struct, frozen=True):
    """A finding, and a walk over the same place that found nothing, unmended in between."""

    finding: str
    stretch: Stretch
    silent_by: str
    silent_when: When
    after: bool


class MendShort(Struct, frozen=True):
    """Where a mend ends short of its finding plus the margin, m; 0 where it reaches."""

    finding: str
    short_low_m: float
    short_high_m: float


class ToProbe(Struct, frozen=True):
    """A mended stretch still to be probed again, m."""

    finding: str
    stretches: tuple[Stretch, ...]


def coverage(runs: Sequence[Run], walks: Sequence[Walk]) -> Coverage:
    """What is covered along one seam, each place by the walks made after it was last welded."""
    welded = union(ordered(run.start, run.end) for run in runs if run.end is not None)
    seen = [(walk, piece) for walk in walks for piece in _walked(walk, runs)]
    probed = union(piece for _walk, piece in seen)
    twice: list[Stretch] = []
    by_two: list[Stretch] = []
    for (one, a), (other, b) in combinations(seen, 2):
        if one is not other and (both := _common(a, b)):
            twice.append(both)
            if one.by != other.by:
                by_two.append(both)
    left = minus(welded, probed)
    everything = [ordered(walk.start, walk.end) for walk in walks]
    return Coverage(
        welded=tuple(welded),
        probed=tuple(probed),
        twice=tuple(union(twice)),
        by_two=tuple(union(by_two)),
        left=tuple(left),
        beyond=tuple(minus(everything, welded)),
        probed_m=total(probed),
        left_m=total(left),
    )


def _walked(walk: Walk, runs: Sequence[Run]) -> list[Stretch]:
    """What a walk covers: welded before it, and not again after it."""
    span = ordered(walk.start, walk.end)
    done = [(run.when, ordered(run.start, run.end)) for run in runs if run.end is not None]
    passed = [both for run in union(place for _when, place in done) if (both := _common(span, run))]
    return minus(passed, [place for when, place in done if when > walk.when])


def _common(a: Stretch, b: Stretch) -> Stretch | None:
    start, end = max(a[0], b[0]), min(a[1], b[1])
    return (start, end) if end - start > SAME_PLACE_M else None


def pace(
    length_m: float,
    seconds: float,
    least_m_per_min: float = PACE_LEAST_M_PER_MIN,
    most_m_per_min: float = PACE_MOST_M_PER_MIN,
) -> Pace | None:
    """What is odd about a walk's pace, or None. A walk of no length has none."""
    if seconds < 0:
        return Pace("clock_back", None)
    if length_m <= SAME_PLACE_M:
        return None
    if seconds == 0:
        return Pace("too_fast", None)
    speed = length_m / seconds * 60.0
    if speed > most_m_per_min:
        return Pace("too_fast", speed)
    return Pace("too_slow", speed) if speed < least_m_per_min else None


def disagreements(
    findings: Sequence[Found],
    walks: Sequence[Walk],
    mends: Sequence[Mend],
    runs: Sequence[Run] = (),
) -> tuple[Disagreement, ...]:
    """Walks that passed over the whole of a finding and told nothing, while it was not mended.

    `findings` are those the probe found. A walk tells of a finding where the two were seen
    at the same time, or where it has a finding of its own that overlaps. A walk before the
    place was welded, or after its mend, has nothing to tell of it.
    """
    found = []
    for finding in findings:
        place = ordered(finding.start, finding.end)
        mended = min((m.when for m in mends if m.finding == finding.id), default=None)
        welded = _welded_when(place, runs, finding.when)
        for walk in walks:
            silent = not any(walk.when == f.when and _meet(f, place) for f in findings)
            in_time = (welded is None or walk.when >= welded) and (
                mended is None or walk.when < mended
            )
            if silent and in_time and covers([ordered(walk.start, walk.end)], place):
                after = walk.when > finding.when
                found.append(Disagreement(finding.name, place, walk.by, walk.when, after))
    return tuple(found)


def _meet(finding: Found, place: Stretch) -> bool:
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


def mend_short(
    finding: Found, mend: Mend, margin_m: float, seam_m: float | None = None
) -> MendShort | None:
    """Where a mend does not reach past its finding by the margin; the seam's ends are far enough."""
    start, end = ordered(finding.start, finding.end)
    low, high = ordered(mend.start, mend.end)
    wanted_low = max(0.0, start - margin_m)
    wanted_high = end + margin_m if seam_m is None else min(max(seam_m, end), end + margin_m)
    short_low = max(0.0, min(low, wanted_high) - wanted_low)
    short_high = max(0.0, wanted_high - max(high, wanted_low))
    if short_low <= SAME_PLACE_M and short_high <= SAME_PLACE_M:
        return None
    return MendShort(finding.name, short_low, short_high)


def to_probe_again(
    findings: Sequence[Found], mends: Sequence[Mend], walks: Sequence[Walk]
) -> tuple[ToProbe, ...]:
    """Of each mended finding, what no walk since its last mend has covered."""
    found = []
    for finding in findings:
        mine = [mend for mend in mends if mend.finding == finding.id]
        if not mine:
            continue
        last = max(mend.when for mend in mine)
        places = [ordered(finding.start, finding.end), *(ordered(m.start, m.end) for m in mine)]
        later = [ordered(walk.start, walk.end) for walk in walks if walk.when > last]
        if left := minus(places, later):
            found.append(ToProbe(finding.name, tuple(left)))
    return tuple(found)


def across_t_joints(
    seam: str, start_m: float, end_m: float, joints: Iterable[TJoint], reach_m: float = 0.0
) -> tuple[TJoint, ...]:
    """T-joints that a finding on `seam` touches: it concerns the other lap of each as well.

    `reach_m` is how far beyond the finding a joint still counts.
    """
    low, high = ordered(start_m, end_m)
    key = seam.casefold()
    found = []
    for joint in joints:
        ats = [joint.at_m] if joint.side_lap.casefold() == key else []
        ats += [joint.end_at_m] if joint.end_lap.casefold() == key else []
        reach = reach_m + SAME_PLACE_M
        if any(low - reach <= at <= high + reach for at in ats):
            found.append(joint)
    return tuple(found)
