"""What a seam's record says of it: state, flags, what is left to do.

Invariant: state is derived from runs, walks, findings and mends and never
stored. "Sound" is not a state: the record says what was done and found.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from weldcal.quality.coverage import (
    SAME_PLACE_M,
    Stretch,
    covers,
    minus,
    ordered,
    past_end,
    to_its_end,
    total,
    union,
)
from weldcal.rules.cold import probes

NOT_STARTED = "not started"
IN_WORK = "in work"
UNPROBED = "unprobed"
IN_PART = "probed in part"
OPEN = "open findings"
MENDED = "mended and unprobed"
PROBED = "probed with no open finding"
STATES = (NOT_STARTED, IN_WORK, UNPROBED, IN_PART, OPEN, MENDED, PROBED)


class Run(Struct, frozen=True):
    """A run: `end` is None while it is being welded; `when` orders by what was seen when.

    `cold_utc` is from when it may be probed. `slack` is, here and below, how near two places
    along the lap counted as one when it was done, m.
    """

    id: str
    start: float
    end: float | None
    when: tuple[str, int]
    by: str
    warned: bool = False
    cold_utc: str | None = None
    slack: float = SAME_PLACE_M


class SeamWalk(Struct, frozen=True):
    """A probe walk; `id` where its findings name it, `began_utc` where somebody said."""

    start: float
    end: float
    when: tuple[str, int]
    by: str
    id: str = ""
    began_utc: str | None = None
    slack: float = SAME_PLACE_M

    def probes(self, welded: tuple[str, int], cold_utc: str | None) -> bool:
        """Whether it probes what was welded at a time, cold from a time on."""
        return probes(self.when, self.began_utc or self.when[0], welded, cold_utc)


class SeamFinding(Struct, frozen=True):
    """A finding; `walk` is the id of the walk that found it, None where it was recorded by itself."""

    id: str
    name: str
    start: float
    end: float
    when: tuple[str, int]
    walk: str | None = None
    slack: float = SAME_PLACE_M


class SeamMend(Struct, frozen=True):
    """A mend of the finding with id `finding`; `cold_utc` is from when it may be probed."""

    finding: str
    start: float
    end: float
    when: tuple[str, int]
    cold_utc: str | None = None
    slack: float = SAME_PLACE_M


class SeamRecord(Struct, frozen=True):
    """All that is recorded of one seam, distances in metres."""

    length: float | None = None
    known: bool = True
    loose_finishes: int = 0
    runs: tuple[Run, ...] = ()
    walks: tuple[SeamWalk, ...] = ()
    findings: tuple[SeamFinding, ...] = ()
    mends: tuple[SeamMend, ...] = ()


class ToProbe(Struct, frozen=True):
    """A mended finding, and what no walk since its last mend has covered, m."""

    finding: str
    stretches: tuple[Stretch, ...]


class SeamState(Struct, frozen=True):
    """What the record says.

    Attributes:
        state: one of `STATES`.
        flags: shown with the state.
        welded, unprobed: stretches, m.
        open: names of open findings.
        again: findings mended, but not probed again along all of the mend.
    """

    state: str
    flags: tuple[str, ...] = ()
    welded: tuple[Stretch, ...] = ()
    unprobed: tuple[Stretch, ...] = ()
    open: tuple[str, ...] = ()
    again: tuple[ToProbe, ...] = ()
    welded_m: float = 0.0
    probed_m: float = 0.0

    @property
    def mended(self) -> tuple[str, ...]:
        """Names of the findings mended but not probed again."""
        return tuple(one.finding for one in self.again)


def state_of(seam: SeamRecord) -> SeamState:
    """Derive a seam's state and flags."""
    welded = union(ordered(run.start, run.end) for run in seam.runs if run.end is not None)
    unprobed = _unprobed(seam)
    open_, again = _findings(seam) if seam.findings else ((), ())
    welded_m = total(welded)
    return SeamState(
        state=_state(seam, welded, unprobed, open_, again),
        flags=_flags(seam),
        welded=tuple(welded),
        unprobed=tuple(unprobed),
        open=open_,
        again=again,
        welded_m=welded_m,
        probed_m=welded_m - total(unprobed),
    )


def _state(
    seam: SeamRecord,
    welded: list[Stretch],
    unprobed: list[Stretch],
    open_: tuple[str, ...],
    mended: tuple[ToProbe, ...],
) -> str:
    if not seam.runs and not open_ and not mended:
        return NOT_STARTED
    if any(run.end is None for run in seam.runs):
        return IN_WORK
    if open_:
        return OPEN
    if mended:
        return MENDED
    if seam.length is not None and not to_its_end(welded, seam.length, _slack(seam.runs)):
        return IN_WORK
    if unprobed:
        return UNPROBED if total(unprobed) >= total(welded) - SAME_PLACE_M else IN_PART
    return PROBED


def _unprobed(seam: SeamRecord) -> list[Stretch]:
    """What of each run no walk made after it covers."""
    left: list[Stretch] = []
    for run in seam.runs:
        if run.end is None:
            continue
        later = [w for w in seam.walks if w.probes(run.when, run.cold_utc)]
        walked = [ordered(w.start, w.end) for w in later]
        left += minus([ordered(run.start, run.end)], walked, _slack(later))
    return union(left)


def _slack(done: Sequence[Run | SeamWalk | SeamMend]) -> float:
    """How near two places counted as one when the last of these was done; what was done before
    is judged with it."""
    return max(done, key=lambda one: one.when).slack if done else SAME_PLACE_M


def _findings(seam: SeamRecord) -> tuple[tuple[str, ...], tuple[ToProbe, ...]]:
    """Names of the findings still open, and what is to be probed again of those mended."""
    open_, again = [], []
    for found in seam.findings:
        mends = [mend for mend in seam.mends if mend.finding == found.id]
        if not mends:
            open_.append(found.name)
            continue
        last = max(mends, key=lambda mend: mend.when)
        place = ordered(found.start, found.end)
        patched = union([ordered(mend.start, mend.end) for mend in mends])
        after = (w for w in seam.walks if w.when > last.when)
        later = [w for w in after if w.probes(last.when, last.cold_utc)]
        walked = [ordered(w.start, w.end) for w in later]
        if not covers(patched, place, last.slack):
            open_.append(found.name)
        elif left := minus([*patched, place], walked, _slack(later)):
            again.append(ToProbe(found.name, tuple(left)))
    return tuple(open_), tuple(again)


def _flags(seam: SeamRecord) -> tuple[str, ...]:
    flags = []
    placed: list[Run | SeamWalk | SeamFinding] = [*seam.runs, *seam.walks, *seam.findings]
    if not seam.known:
        flags.append("not on the seam list")
    runs = sorted(seam.runs, key=lambda run: run.when)
    if len(runs) > 1 and any(
        _overlap(a, b, b.slack) for n, a in enumerate(runs) for b in runs[n + 1 :]
    ):
        flags.append("welded twice")
    if seam.loose_finishes:
        flags.append("finished without a start")
    if sum(run.end is None for run in runs) > 1:
        flags.append("second start")
    if any(run.warned for run in runs):
        flags.append("warned")
    if seam.length is not None and any(
        past_end(max(one.start, one.start if one.end is None else one.end), seam.length, one.slack)
        for one in placed
    ):
        flags.append("past its end")
    if (seam.walks or seam.findings) and not runs:
        flags.append("welding not recorded")
    hot: tuple[Run | SeamMend, ...] = (*runs, *seam.mends)
    if any(_warm(walk, one) for walk in seam.walks for one in hot):
        flags.append("probed warm")
    welders = {run.by for run in runs}
    if any(walk.by in welders for walk in seam.walks):
        flags.append("probed by its operator")
    return tuple(flags)


def _warm(walk: SeamWalk, done: Run | SeamMend) -> bool:
    """Whether a walk went over a run or a mend that was not cold yet."""
    if done.end is None or walk.when < done.when or walk.probes(done.when, done.cold_utc):
        return False
    low, high = ordered(done.start, done.end)
    start, end = ordered(walk.start, walk.end)
    return min(high, end) - max(low, start) > walk.slack


def _overlap(a: Run, b: Run, slack: float) -> bool:
    if a.end is None or b.end is None:
        return False
    (a1, a2), (b1, b2) = ordered(a.start, a.end), ordered(b.start, b.end)
    return min(a2, b2) - max(a1, b1) > slack
