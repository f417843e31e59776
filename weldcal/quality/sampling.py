"""How many samples show what, where to cut them, and what their loads say.

Invariant: more good samples never show less, and the same seed draws the same
places on any machine.

Sources: exact binomial limits, Clopper & Pearson 1934 (NIST/SEMATECH e-Handbook
7.2.4.2); rule of three, Hanley & Lippman-Hand 1983; one-sided tolerance factor
from the noncentral t, e-Handbook 7.2.6.3 (which prints an approximation of it);
design effect 1 + (m - 1)·rho, Kish 1965 (from memory).

scipy is imported inside the functions that need its distributions.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import accumulate
from statistics import NormalDist, fmean, stdev

from msgspec import Struct

from weldcal.records.limits import SITE
from weldcal.words import mark

# How alike two feet of one lap are: the correlation within a lap. Site setting, no source.
WITHIN_LAP = 0.3
WITHIN_LAP_SOURCE = SITE
FOOT_M = 0.3048
_RULE_OF_THREE_LEAST = 30
_OF_THREE = 0.95  # the confidence it is for
_MOST_SAMPLES = 10_000_000
_LOADS_COVERAGE = 0.90
_LOADS_CONFIDENCE = 0.95


class ShareBad(Struct, frozen=True):
    """The share of lap that samples show to be bad, at a confidence.

    Attributes:
        low, high: two-sided exact interval; `most`: one-sided exact upper limit.
        by_three: the rule of three's upper limit; None where it does not hold.
    """

    bad: int
    samples: int
    low: float
    high: float
    most: float
    by_three: float | None
    confidence: float


class Feet(Struct, frozen=True):
    """How much probing shows that no more than a share is bad.

    Attributes:
        independent: pieces it would take if no two were alike.
        design_effect: by how much the share found varies more, since feet of one lap are alike.
        pieces: what it takes by the risk itself; the last lap may be probed in part.
        length_m: their length.
        laps: how many laps are probed.
        risk: chance to pass lap of which just that share is bad.
    """

    independent: int
    design_effect: float
    pieces: int
    length_m: float
    laps: int
    risk: float


class RandomPlace(Struct, frozen=True):
    """A place drawn at random: seam, and distance from its zero end, m."""

    seam: str
    at_m: float


class SpacingRules(Struct, frozen=True):
    """Spacing of samples, m of lap: reward good welding, penalise poor.

    The principle is that of GRI GM14 (method of attributes); its table is not
    copied, and the numbers here are site settings. The first spacing is the 150 m
    (500 ft) customary for geomembrane seams.
    """

    first_m: float = 150.0
    least_m: float = 15.0
    most_m: float = 300.0
    after_failure: float = 0.5
    after_passes: float = 1.5
    passes: int = 5


SPACING_SOURCE = mark(
    "principle of GRI GM14: reward good, penalise poor; numbers are site settings"
)


class Spacing(Struct, frozen=True):
    """How far to the next sample, and why: first, tightened, relaxed, held."""

    spacing_m: float
    why: str
    passes: int


class Loads(Struct, frozen=True):
    """What peel samples say of the load per width, N/mm.

    Attributes:
        spread: sample standard deviation, None for a single sample.
        bound: with the stated confidence, the stated share of lap holds more than this
            (loads taken as normal); None below two samples.
        below: how many samples lie below the limit.
        shown: whether the bound is at or above the limit; None where there is no limit or bound.
        parted: how the samples parted, by count.
    """

    n: int
    mean: float
    spread: float | None
    bound: float | None
    coverage: float
    confidence: float
    below: int
    shown: bool | None
    parted: dict[str, int]


def share_bad(bad: int, samples: int, confidence: float = 0.95) -> ShareBad:
    """The share bad that `bad` of `samples` show.

    Raises:
        ValueError: counts or a confidence that cannot be.
    """
    _check_counts(bad, samples, confidence)
    tail = (1.0 - confidence) / 2.0
    low = 0.0 if bad == 0 else _beta_inverse(bad, samples - bad + 1, tail)
    high = 1.0 if bad == samples else _beta_inverse(bad + 1, samples - bad, 1.0 - tail)
    by_three = rule_of_three(samples) if bad == 0 and confidence == _OF_THREE else None
    most = most_bad(bad, samples, confidence)
    return ShareBad(bad, samples, low, high, most, by_three, confidence)


def most_bad(bad: int, samples: int, confidence: float = 0.95) -> float:
    """One-sided exact upper limit of the share that is bad. Raises as `share_bad`."""
    _check_counts(bad, samples, confidence)
    return 1.0 if bad == samples else _beta_inverse(bad + 1, samples - bad, confidence)


def rule_of_three(samples: int) -> float | None:
    """95 % upper limit of the share that is bad when none of the samples was; None below 30."""
    return 3.0 / samples if samples >= _RULE_OF_THREE_LEAST else None


def samples_needed(most: float, confidence: float = 0.95, allowed: int = 0) -> int:
    """Least samples of which no more than `allowed` may be bad, to show a share bad below `most`.

    The least n with P(X <= allowed; n, most) <= 1 - confidence.

    Raises:
        ValueError: a share or confidence not between 0 and 1, or more than 10 million.
    """
    if not 0.0 < most < 1.0 or not 0.0 < confidence < 1.0 or allowed < 0:
        raise ValueError("share and confidence lie between 0 and 1")
    low, high = allowed, allowed + 1
    while _at_most(allowed, high, most) > 1.0 - confidence:
        low, high = high, high * 2
        if high > _MOST_SAMPLES:
            raise ValueError("that would take more than 10 million samples")
    while high - low > 1:
        middle = (low + high) // 2
        enough = _at_most(allowed, middle, most) <= 1.0 - confidence
        low, high = (low, middle) if enough else (middle, high)
    return high


def _at_most(bad: int, samples: int, share: float) -> float:
    """P(X <= bad) of a binomial, in logarithms so that large n do not overflow."""
    log_p, log_q = math.log(share), math.log1p(-share)
    logs = (
        math.lgamma(samples + 1)
        - math.lgamma(k + 1)
        - math.lgamma(samples - k + 1)
        + k * log_p
        + (samples - k) * log_q
        for k in range(min(bad, samples) + 1)
    )
    return math.fsum(math.exp(term) for term in logs)


def design_effect(per_lap: float, within_lap: float = WITHIN_LAP) -> float:
    """How many feet count as one: 1 + (m - 1)·rho for m alike feet of one lap.

    Raises:
        ValueError: fewer than one foot a lap, or a correlation outside 0 to 1.
    """
    if per_lap < 1.0 or not 0.0 <= within_lap <= 1.0:
        raise ValueError("at least one foot a lap, and a correlation from 0 to 1")
    return 1.0 + (per_lap - 1.0) * within_lap


def feet_needed(
    most: float,
    confidence: float = 0.95,
    *,
    allowed: int = 0,
    per_lap: float = 1.0,
    within_lap: float = WITHIN_LAP,
    piece_m: float = FOOT_M,
) -> Feet:
    """How much lap to probe to show that no more than `most` of it is bad.

    Pieces of `piece_m`, `per_lap` of them probed in a row on each lap. Bad pieces of a lap are
    taken as beta-binomial with that share and that likeness within a lap, laps as independent:
    the least number of pieces of which more than `allowed` are bad with the confidence asked.
    (The design effect alone, 1 + (m - 1)·rho, asks about twice as much: it is of the variance
    of the share found, and no bad piece in a lap says more than its variance.) Raises as
    `samples_needed` and `design_effect`.
    """
    independent = samples_needed(most, confidence, allowed)
    effect = design_effect(per_lap, within_lap)
    row = max(1, round(per_lap))
    risk = 1.0 - confidence
    bad_of_lap = _bad_of_a_lap(row, most, within_lap, allowed)
    laps, chance, before = 0, [1.0], [1.0]
    while sum(chance) > risk:
        before, chance = chance, _together(chance, bad_of_lap, allowed)
        laps += 1
        if laps * row > _MOST_SAMPLES:
            raise ValueError("that would take more than 10 million samples")
    for part in range(1, row + 1):
        last = _together(before, _bad_of_a_lap(part, most, within_lap, allowed), allowed)
        if sum(last) <= risk:
            break
    pieces = (laps - 1) * row + part
    return Feet(independent, effect, pieces, pieces * piece_m, laps, sum(last))


def _bad_of_a_lap(pieces: int, share: float, alike: float, most: int) -> list[float]:
    """P(X = 0), ..., P(X = most) of the bad among a lap's pieces: beta-binomial."""
    counts = range(min(most, pieces) + 1)
    if alike <= 0.0:
        return [math.comb(pieces, k) * share**k * (1.0 - share) ** (pieces - k) for k in counts]
    if alike >= 1.0:
        return [1.0 - share, *(share if k == pieces else 0.0 for k in counts if k)]
    a, b = (part * (1.0 - alike) / alike for part in (share, 1.0 - share))
    return [
        math.comb(pieces, k) * math.exp(_log_beta(a + k, b + pieces - k) - _log_beta(a, b))
        for k in counts
    ]


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def _together(first: Sequence[float], second: Sequence[float], most: int) -> list[float]:
    """Chances of a sum of two counts, up to `most`."""
    chances = [0.0] * min(most + 1, len(first) + len(second) - 1)
    for n, p in enumerate(first):
        for k, q in enumerate(second[: len(chances) - n]):
            chances[n + k] += p * q
    return chances


def draw_places(
    stretches: Sequence[tuple[str, float, float]], count: int, seed: int
) -> tuple[RandomPlace, ...]:
    """Places drawn evenly at random along all the lap there is, in the order drawn.

    Args:
        stretches: (seam, from, to) in m; one of no length is never drawn.
        count: how many.
        seed: recorded, so that anybody can draw them again: Python documents that
            `random.random` of a seed stays the same from version to version.

    Raises:
        ValueError: there is no length to draw from.
    """
    spans = [(name, min(a, b), max(a, b)) for name, a, b in stretches if a != b]
    ends = list(accumulate(high - low for _name, low, high in spans))
    if not ends or count < 0:
        raise ValueError("there is no lap to draw places on")
    source = random.Random(seed)
    return tuple(_place(source.random() * ends[-1], spans, ends) for _ in range(count))


def _place(along: float, spans: list[tuple[str, float, float]], ends: list[float]) -> RandomPlace:
    n = min(bisect_right(ends, along), len(spans) - 1)
    name, low, high = spans[n]
    return RandomPlace(name, min(high, low + along - (ends[n - 1] if n else 0.0)))


def next_spacing(outcomes: Iterable[bool], rules: SpacingRules | None = None) -> Spacing:
    """How far to the next sample after these (True: passed), in order."""
    rules = rules or SpacingRules()
    spacing, why, row = rules.first_m, "first", 0
    for passed in outcomes:
        row = row + 1 if passed else 0
        if not passed:
            spacing, why = max(rules.least_m, spacing * rules.after_failure), "tightened"
        elif row >= rules.passes:
            spacing, why, row = min(rules.most_m, spacing * rules.after_passes), "relaxed", 0
        else:
            why = "held"
    return Spacing(spacing, why, row)


def tolerance_factor(
    n: int, coverage: float = _LOADS_COVERAGE, confidence: float = _LOADS_CONFIDENCE
) -> float:
    """k such that mean - k·s is below `coverage` of a normal population, at `confidence`.

    `k = t'(confidence; n - 1, z·sqrt(n))/sqrt(n)`, t' the noncentral t quantile.

    Args:
        n: samples, two at least.
        coverage, confidence: between 0 and 1.
    """
    from scipy.special import nctdtrit

    away = NormalDist().inv_cdf(coverage) * math.sqrt(n)
    return float(nctdtrit(n - 1, away, confidence)) / math.sqrt(n)


def loads(
    line_loads: Sequence[float],
    parted: Sequence[str] = (),
    least: float | None = None,
) -> Loads:
    """Peel loads per width, N/mm, against a least one: 90 % of the population, sure to 95 %.

    Raises:
        ValueError: no loads.
    """
    if not line_loads:
        raise ValueError("there are no loads")
    n, mean = len(line_loads), fmean(line_loads)
    spread = stdev(line_loads) if n > 1 else None
    bound = None if spread is None else mean - tolerance_factor(n) * spread
    return Loads(
        n=n,
        mean=mean,
        spread=spread,
        bound=bound,
        coverage=_LOADS_COVERAGE,
        confidence=_LOADS_CONFIDENCE,
        below=0 if least is None else sum(load < least for load in line_loads),
        shown=None if least is None or bound is None else bound >= least,
        parted=dict(Counter(parted)),
    )


def _beta_inverse(a: float, b: float, share: float) -> float:
    from scipy.special import betaincinv

    return float(betaincinv(a, b, share))


def _check_counts(bad: int, samples: int, confidence: float) -> None:
    if samples < 1 or not 0 <= bad <= samples or not 0.0 < confidence < 1.0:
        raise ValueError("at least one sample, no more bad than samples, confidence in 0 to 1")
