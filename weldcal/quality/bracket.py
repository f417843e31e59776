"""Bracketing: checks laid on what was welded, the doubt around failures, the fewest cuts.

`quality.doubt` states the invariant and defines the line.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import cached_property

from msgspec import Struct

from weldcal.quality.coverage import SAME_PLACE_M, Stretch, minus, ordered, union
from weldcal.quality.doubt import (
    ANSWERS,
    PEEL,
    PROBE,
    Check,
    Clear,
    Cut,
    Doubt,
    Doubts,
    FailedStrip,
    Key,
    Place,
    Welded,
    each_once,
)
from weldcal.quality.goods import Goods, fewest_points, sides

_OnLine = tuple[Welded, "_Line", Stretch]


class Bracketed:
    """All that was welded, with every check on the line of what welded its place.

    A check that covers a stretch (a walk) is good wherever no failure of it or of another check
    of its kind lies. A place welded twice is judged by the last run before the check; welded
    again since a failure, it is in doubt until a good check of the new weld. A strip that failed
    lies before all that was welded on it.
    """

    def __init__(
        self, runs: Sequence[Welded], checks: Sequence[Check], strips: Sequence[FailedStrip] = ()
    ) -> None:
        self._lines = _lines(runs, checks)
        for line in self._lines:
            line.begins_with(strip for strip in strips if strip.go_ahead == line.key[1])
        by_seam: dict[str, list[_OnLine]] = {}
        for line in self._lines:
            for run in line.runs:
                by_seam.setdefault(run.seam, []).append((run, line, line.span(run)))
        for welded in by_seam.values():
            welded.sort(key=lambda one: one[0].at_s, reverse=True)
        self._unplaced = [c.id for c in checks if not _place(c, by_seam.get(c.seam, []))]
        again = {
            seam: [_Again(run.at_s, span, line.shown_good(run)) for run, line, span in welded]
            for seam, welded in by_seam.items()
            if len(welded) > 1
        }
        for line in self._lines:
            line.again = again

    def doubts(self) -> Doubts:
        """What every failed check puts in doubt, in the order of welding."""
        doubts = [doubt for line in self._lines for doubt in line.doubts()]
        return Doubts(tuple(doubts), tuple(self._unplaced))

    def least_cuts(
        self,
        open_: Collection[str],
        margin_m: float,
        reach_m: float,
        drawn: Sequence[tuple[str, float]] = (),
    ) -> tuple[Cut, ...]:
        """The fewest cuts with one just beside each failure that only a pull or a check answers.

        A good pull beyond the mend's margin ends the doubt on its side there. One cut may serve
        failures on both of its sides: the fewest points that meet all intervals of a line, taken
        by their ends, are the fewest there are (stabbing intervals, greedy by right end).

        Args:
            open_: the failures still in doubt.
            margin_m: how far a mend reaches past a failure; what it covers needs no cut.
            reach_m: how far beyond that still is beside it.
            drawn: (seam, place) drawn for samples and not cut: taken where one serves.
        """
        return tuple(
            cut for line in self._lines for cut in line.cuts(open_, margin_m, reach_m, drawn)
        )


def _lines(runs: Sequence[Welded], checks: Sequence[Check]) -> list[_Line]:
    """Runs in the order welded, a line a machine and go-ahead."""
    furthest = _furthest(checks)
    grouped: dict[Key, list[Welded]] = {}
    for run in sorted(runs, key=lambda run: run.at_s):
        grouped.setdefault((run.machine, run.go_ahead), []).append(run)
    return [_Line(key, mine, furthest) for key, mine in grouped.items()]


def _furthest(checks: Sequence[Check]) -> dict[str, Stretch]:
    """Least and greatest place of each seam that was checked."""
    reach: dict[str, Stretch] = {}
    for check in checks:
        low, high = ordered(check.start_m, check.end_m)
        was = reach.get(check.seam, (low, high))
        reach[check.seam] = (min(was[0], low), max(was[1], high))
    return reach


def _place(check: Check, welded: list[_OnLine]) -> bool:
    """Put a check on the line of the run that welded its place; False where nothing did.

    Args:
        welded: what was welded on its seam, the latest first.
    """
    checked_span = ordered(check.start_m, check.end_m)
    left = [checked_span]
    placed = False
    for run, line, span in welded:
        if run.at_s > check.at_s:
            continue
        if left == [checked_span] and span[0] <= checked_span[0] and checked_span[1] <= span[1]:
            line.add(check, run, checked_span)  # most lie within one run
            return True
        for stretch in left:
            low, high = max(stretch[0], span[0]), min(stretch[1], span[1])
            point = stretch[1] - stretch[0] <= SAME_PLACE_M and high >= low - check.slack_m
            if point or high - low > SAME_PLACE_M:
                line.add(check, run, _within(ordered(low, high), span))
                placed = True
        left = minus(left, [span])
        if not left:
            break
    return placed


def _within(stretch: Stretch, span: Stretch) -> Stretch:
    """A stretch moved into a span that it misses by less than a tape can tell."""
    low, high = (min(max(at, span[0]), span[1]) for at in stretch)
    return low, high


class _Again(Struct, frozen=True):
    """What may have been welded over something else.

    Attributes:
        at_s, span: when it was begun, and its stretch of the seam, m.
        shown_good: kinds of the good checks that looked at it.
    """

    at_s: float
    span: Stretch
    shown_good: frozenset[str]


class _Line:
    """What one machine welded on one go-ahead, end to end; `again` has what was welded since."""

    def __init__(self, key: Key, runs: list[Welded], furthest: dict[str, Stretch]) -> None:
        self.key, self.runs = key, runs
        self._ends: dict[str, float] = {}
        self._from: dict[str, float] = {}
        self._good: dict[str, list[tuple[float, float, str]]] = {}
        self._bad: list[tuple[float, float, Check]] = []
        self._strips: list[tuple[float, float, Check]] = []
        self.length = 0.0
        self._starts: list[float] = []
        self._whole: list[Place] = []
        self._shown: dict[str, set[str]] = {}
        self.again: dict[str, list[_Again]] = {}
        for run in runs:
            self._ends[run.id] = _end(run, furthest.get(run.seam))
            self._from[run.id] = self.length
            self._starts.append(self.length)
            self._whole.append(Place(run.seam, *self.span(run)))
            self.length += abs(self._ends[run.id] - run.start_m)

    def span(self, run: Welded) -> Stretch:
        """A run's stretch of its seam; one under way reaches to the furthest place checked."""
        return ordered(run.start_m, self._ends[run.id])

    def begins_with(self, strips: Iterable[FailedStrip]) -> None:
        """Note what failed of the strip that the line stands on: it was welded just before it."""
        self._strips = [
            (0.0, 0.0, Check(strip.id, strip.kind, False, "", 0.0, 0.0, 0.0, finding=strip.finding))
            for strip in strips
        ]

    def add(self, check: Check, run: Welded, stretch: Stretch) -> None:
        """Note a check of a stretch of a run."""
        begins = self._from[run.id]
        low, high = ordered(
            begins + abs(stretch[0] - run.start_m), begins + abs(stretch[1] - run.start_m)
        )
        if check.good:
            self._shown.setdefault(run.id, set()).add(check.kind)
            self._good.setdefault(check.kind, []).append((low, high, check.id))
        else:
            self._bad.append((low, high, check))

    def shown_good(self, run: Welded) -> frozenset[str]:
        """Kinds of the good checks that looked at a run."""
        return frozenset(self._shown.get(run.id, ()))

    def cuts(
        self,
        open_: Collection[str],
        margin: float,
        reach: float,
        drawn: Sequence[tuple[str, float]],
    ) -> list[Cut]:
        """The fewest cuts of this line; see `least_cuts`."""
        wanted = sorted(self._near_failures(open_, margin, reach))
        strips = {check.id for _low, _high, check in self._strips}
        drawn_at = [at for seam, place in drawn for at in self._on_line(seam, place)]
        cuts_made = []
        while wanted:
            end, start, name = wanted.pop(0)
            low, names = start, [name]
            met = [stretch for stretch in wanted if stretch[1] <= end]
            low = max([low, *(stretch[1] for stretch in met)])
            wanted = [stretch for stretch in wanted if stretch[1] > end]
            names += [stretch[2] for stretch in met]
            already = next((at for at in drawn_at if low <= at <= end), None)
            at = (low + end) / 2 if already is None else already
            (place, *_rest) = self._places(at, at)
            clears = tuple(dict.fromkeys(names))
            of_strips = tuple(name for name in clears if name in strips)
            cuts_made.append(Cut(place, clears, already is not None, of_strips))
        return cuts_made

    def _near_failures(
        self, open_: Collection[str], margin: float, reach: float
    ) -> Iterator[tuple[float, float, str]]:
        """(end, start, failure) of where a cut would end a doubt, on each side of a failure."""
        good = self._bracketing
        for low, high, check in (*self._strips, *self._bad):
            if check.kind == PROBE or check.id not in open_:
                continue
            start, _before = good[check.kind].before(low)
            end, _after = good[check.kind].after(high, self.length)
            # A good check nearer than a cut could be leaves nothing for a cut to end.
            if low - start > margin + reach + SAME_PLACE_M:
                beside = low - margin - reach, low - margin
                if self._left(*beside, check):
                    yield beside[1], beside[0], check.id
            if end - high > margin + reach + SAME_PLACE_M:
                beside = high + margin, high + margin + reach
                if self._left(*beside, check):
                    yield beside[1], beside[0], check.id

    def _on_line(self, seam: str, at_m: float) -> Iterator[float]:
        """Where a place of a seam lies on this line."""
        for run in self.runs:
            low, high = self.span(run)
            if run.seam == seam and low <= at_m <= high:
                yield self._from[run.id] + abs(at_m - run.start_m)

    def doubts(self) -> list[Doubt]:
        """One for each failure, in the order welded; a strip has no place of its own to doubt."""
        good = self._bracketing
        bad = [*self._strips, *sorted(self._bad, key=lambda failed: failed[:2])]
        apart = [
            side
            for low, high, check in bad
            if check.kind == PEEL
            for side in sides(low, high, good[PEEL], self.length)
        ]
        cuts = fewest_points(apart)
        made = [self._doubt(low, high, check, good[check.kind], cuts) for low, high, check in bad]
        strips = {check.id for _low, _high, check in self._strips}
        return [one for one in made if one.places and (one.beyond or one.failure not in strips)]

    @cached_property
    def _bracketing(self) -> dict[str, Goods]:
        """The good stretches that bracket each kind of failure, once all checks are noted."""
        return {kind: self._goods(answers) for kind, answers in ANSWERS.items()}

    def _goods(self, kinds: Iterable[str]) -> Goods:
        """Good stretches of the line by checks of some kinds, without what failed, by end and start."""
        failed = union((low, high) for low, high, _check in self._bad)
        lows = [low for low, _high in failed]
        pieces = []
        for kind in kinds:
            for good in self._good.get(kind, []):
                low, high, name = good
                near = failed[max(0, bisect_left(lows, low) - 1) : bisect_right(lows, high)]
                if near:
                    pieces += [(a, b, name) for a, b in minus([(low, high)], near)]
                else:
                    pieces.append(good)
        return Goods(pieces)

    def _doubt(
        self, low: float, high: float, check: Check, goods: Goods, cuts: Sequence[float]
    ) -> Doubt:
        start, before = goods.before(low)
        end, after = goods.after(high, self.length)
        failed = self._left(low, high, check)
        places = each_once(self._left(start, end, check))
        machine, go_ahead = self.key
        return Doubt(
            machine,
            go_ahead,
            check.id,
            check.kind,
            places,
            before,
            after,
            sum(place.end_m - place.start_m for place in places),
            sum(place.end_m - place.start_m for place in failed),
            self._clears(check, cuts, (start, low), (high, end)),
            check.finding,
        )

    def _left(self, start: float, end: float, check: Check) -> tuple[Place, ...]:
        """The same, without what was welded again since a failure, and shown good.

        What was found is left in: it is open until it is mended.
        """
        left: list[Place] = []
        for run, place in self._welded(start, end):
            anew = [] if check.finding is not None else list(self._welded_anew(run, check))
            stretch = place.start_m, place.end_m
            left += (
                [Place(place.seam, *part) for part in minus([stretch], anew)] if anew else [place]
            )
        return tuple(left)

    def _welded_anew(self, run: Welded, check: Check) -> Iterator[Stretch]:
        """Where a run's seam was welded again after a failure, and a check of the kind was good."""
        for again in self.again.get(run.seam, ()):
            if again.at_s > max(run.at_s, check.at_s) and again.shown_good & ANSWERS[check.kind]:
                yield again.span

    def _places(self, start: float, end: float) -> tuple[Place, ...]:
        """The stretches of seams between two points of the line."""
        return tuple(place for _run, place in self._welded(start, end))

    def _welded(self, start: float, end: float) -> list[tuple[Welded, Place]]:
        """The stretches of seams between two points of the line, each with its run."""
        first = max(0, bisect_right(self._starts, start) - 1)
        last = bisect_right(self._starts, end)
        if last - first < 3:  # nothing whole lies between the first and the last
            return list(self._parts(range(first, last), start, end))
        between = zip(
            self.runs[first + 1 : last - 1], self._whole[first + 1 : last - 1], strict=True
        )
        return [
            *self._parts([first], start, end),
            *((run, at) for run, at in between if at.end_m - at.start_m > SAME_PLACE_M),
            *self._parts([last - 1], start, end),
        ]

    def _parts(
        self, numbers: Iterable[int], start: float, end: float
    ) -> Iterator[tuple[Welded, Place]]:
        """The parts of some runs, by their number on the line, between two points of it."""
        for n in numbers:
            run, begins = self.runs[n], self._starts[n]
            size = abs(self._ends[run.id] - run.start_m)
            a, b = min(max(start - begins, 0.0), size), min(end - begins, size)
            if b - a > SAME_PLACE_M or end - start <= SAME_PLACE_M:
                low, high = ordered(self._at(run, a), self._at(run, b))
                yield run, Place(run.seam, low, high)

    def _at(self, run: Welded, along: float) -> float:
        return run.start_m + (along if self._ends[run.id] >= run.start_m else -along)

    def _clears(self, check: Check, cuts: Sequence[float], *sides: Stretch) -> tuple[Clear, ...]:
        """Look or probe along both sides of what failed; only for a cold bond, cut them."""
        clears = []
        for start, end in sides:
            if end - start <= SAME_PLACE_M:
                continue
            left = each_once(self._left(start, end, check))
            if check.kind == PEEL:
                inside = [cut for cut in cuts if start <= cut <= end] if left else []
                clears += [Clear("cut_here", self._places(cut, cut)[0]) for cut in inside[:1]]
            else:
                code = "probe_again" if check.kind == PROBE else "look_again"
                clears += [Clear(code, place) for place in left]
        return tuple(clears)


def _end(run: Welded, checked: Stretch | None) -> float:
    if run.end_m is not None:
        return run.end_m
    return run.start_m if checked is None else max(run.start_m, checked[1])
