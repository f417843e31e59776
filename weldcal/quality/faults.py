"""Where faults come from: rates per 100 ft by group, and how far a difference may be trusted.

Invariant: every group looked at counts among those looked at; a difference is
never called standing out unless it survives that count. Whether it is the
group, or something that always went with it, no rate can say: overlap does.

Faults come in clumps, so counts are taken as Poisson with a dispersion
(quasi-Poisson; McCullagh & Nelder 1989 §6.2, from memory): Pearson's X² over
its degrees of freedom, no smaller than 1. Exact Poisson limits: Garwood 1936.
Several looked at: Benjamini & Hochberg 1995.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import permutations

from msgspec import Struct
from msgspec.structs import replace

PER_M = 30.48  # 100 ft

CHANCE = "within_chance"
ONE_OF_MANY = "one_of_many"
STANDS_OUT = "stands_out"
TOO_FEW = "too_few"

# Our own, no source: from here on two factors go together too closely to tell apart.
OVERLAP_CONFOUNDED = 0.6
# With fewer pieces of work beyond the groups, or fewer faults, Pearson's dispersion is so rough
# that crews who do not differ seem to on up to one roof in four; with more, on at most one in
# twelve, however faults clump (our simulation, clumps up to five; part of it is in the tests).
_LEAST_FREEDOM = 30
_LEAST_FAULTS = 50


Group = tuple[str, str]
_Overlaps = Mapping[tuple[Group, Group], float]


class Work(Struct, frozen=True):
    """One piece of work, a run or a seam: its faults, length, and who and what it was made with.

    `groups` holds a level for each factor: {"operator": "RA", "hour": "07"}; a factor
    nobody noted is left out. `over_m` of its length was welded over since.
    """

    faults: int
    length_m: float
    groups: Mapping[str, str]
    over_m: float = 0.0


class ProbedPiece(Struct, frozen=True):
    """The part of one run that was probed: its length, m, and the faults on it by kind.

    `over_m` of it was welded over since.
    """

    length_m: float
    faults: Mapping[str, int]
    over_m: float = 0.0


class Sums(Struct, frozen=True):
    """Pieces of work of one group summed up, so that a million need no more room than a group.

    Attributes:
        pieces: how many.
        faults, length_m: of all of them together.
        squares: the sum of faults² / length, per m.
    """

    pieces: int
    faults: int
    length_m: float
    squares: float


class Overlap(Struct, frozen=True):
    """Another group that is nearly the same work: length of both over length of either."""

    factor: str
    level: str
    share: float


class FaultRate(Struct, frozen=True):
    """Fault rate of one group, against the rest of the work.

    Attributes:
        per_100ft, low, high: faults per 30.48 m, with an interval that allows for clumps.
        p: chance of a difference from the rest this large, by chance alone; None where
            there is no rest.
        p_among: the same, allowing for all groups looked at.
        flag: within_chance, one_of_many, stands_out, or too_few where it would stand out
            but the work is too little to know how faults clump; None where p is.
        confounded: other groups that overlap too closely to tell apart.
    """

    factor: str
    level: str
    faults: int
    length_m: float
    per_100ft: float
    low: float
    high: float
    p: float | None
    p_among: float | None
    flag: str | None
    confounded: tuple[Overlap, ...]


class Faults(Struct, frozen=True):
    """All rates, and what they were worked out with.

    Attributes:
        dispersion: by factor; 1 where faults fall as chance alone would have them.
        rough: factors with too little work to know their dispersion.
        looked_at: groups compared.
        probed_m: of all work; `probed_welded_over_m` of it was welded over since.
    """

    rates: tuple[FaultRate, ...]
    dispersion: dict[str, float]
    rough: tuple[str, ...]
    looked_at: int
    confidence: float
    probed_m: float = 0.0
    probed_welded_over_m: float = 0.0


def fault_rates(
    work: Sequence[Work], factors: Sequence[str] | None = None, confidence: float = 0.95
) -> Faults:
    """Rates of each level of each factor, in the order first met.

    Raises:
        ValueError: faults below 0, lengths not above 0, or a confidence that cannot be.
    """
    _check(work, confidence)
    factors = list(dict.fromkeys(f for w in work for f in w.groups)) if factors is None else factors
    together = {
        pair: share
        for pair, share in overlaps(work).items()
        if share >= OVERLAP_CONFOUNDED and pair[1][0] in factors
    }
    rates = rates_of({factor: _levels(work, factor) for factor in factors}, together, confidence)
    return replace(
        rates,
        probed_m=sum(w.length_m for w in work),
        probed_welded_over_m=sum(w.over_m for w in work),
    )


def rates_of(
    factors: Mapping[str, Mapping[str, Sums]],
    together: _Overlaps | None = None,
    confidence: float = 0.95,
) -> Faults:
    """Rates of each level of each factor, from their sums.

    Args:
        factors: factor -> level -> its sums.
        together: groups that overlap too closely to tell apart, with how much.
    """
    dispersion = {factor: dispersion_among(levels.values()) for factor, levels in factors.items()}
    rates = [
        rate
        for factor, levels in factors.items()
        for rate in _of_factor(factor, levels, dispersion[factor], confidence)
    ]
    chances = [rate.p for rate in rates if rate.p is not None]
    among = iter(benjamini_hochberg(chances))
    rough = tuple(factor for factor, levels in factors.items() if _is_rough(levels.values()))
    flagged = [_flagged(rate, among, 1.0 - confidence, together or {}, rough) for rate in rates]
    return Faults(tuple(flagged), dispersion, rough, len(chances), confidence)


def interval(
    faults: int, length_m: float, dispersion: float = 1.0, confidence: float = 0.95
) -> tuple[float, float]:
    """Limits of a rate per 30.48 m.

    Garwood's exact limits of a Poisson count, taken of faults/dispersion clumps and
    scaled back: exact where the dispersion is 1, and an approximation of ours above.
    """
    from scipy.special import chdtri

    tail = (1.0 - confidence) / 2.0
    clumps = faults / dispersion
    # chdtri is the inverse of the upper tail.
    low = 0.0 if faults == 0 else float(chdtri(2.0 * clumps, 1.0 - tail)) / 2.0
    high = float(chdtri(2.0 * clumps + 2.0, tail)) / 2.0
    scale = dispersion / length_m * PER_M
    return low * scale, high * scale


def dispersion_of(work: Sequence[Work], factor: str) -> float:
    """Pearson's X²/(n - groups) of the counts, each group at its own rate; at least 1."""
    return dispersion_among(_levels(work, factor).values())


def dispersion_among(levels: Iterable[Sums]) -> float:
    """The same, of the groups' sums.

    With a rate r = faults / length, the sum of (f - r·l)² / (r·l) is that of f² / l over r,
    less the faults.
    """
    levels = list(levels)
    freedom = sum(mine.pieces for mine in levels) - len(levels)
    if freedom < 1:
        return 1.0
    squares = sum(
        mine.squares * mine.length_m / mine.faults - mine.faults for mine in levels if mine.faults
    )
    return max(1.0, squares / freedom)


def sums_of(work: Iterable[Work]) -> Sums:
    """Pieces of work summed up."""
    pieces = list(work)
    return Sums(
        len(pieces),
        sum(w.faults for w in pieces),
        sum(w.length_m for w in pieces),
        math.fsum(w.faults**2 / w.length_m for w in pieces),
    )


def clumping(pieces: Iterable[ProbedPiece], kind: str | None = None) -> tuple[float, int]:
    """How faults clump at one rate for all.

    Args:
        pieces: the probed part of each run, as `fault_rates` takes it.
        kind: of the faults to count; all where None.

    Returns:
        The dispersion, and over how many pieces it was taken.
    """
    work = [
        Work(
            sum(piece.faults.values()) if kind is None else piece.faults.get(kind, 0),
            piece.length_m,
            {"all": ""},
        )
        for piece in pieces
        if piece.length_m > 0
    ]
    return dispersion_of(work, "all"), len(work)


def benjamini_hochberg(chances: Sequence[float]) -> list[float]:
    """Adjusted p-values, in the order given."""
    order = sorted(range(len(chances)), key=lambda n: chances[n], reverse=True)
    adjusted = [0.0] * len(chances)
    least = 1.0
    for rank, n in zip(range(len(chances), 0, -1), order, strict=True):
        least = min(least, chances[n] * len(chances) / rank)
        adjusted[n] = least
    return adjusted


def nameless(work: Iterable[Work]) -> list[Work]:
    """The same work with its operators as numbers in the order first met."""
    numbers: dict[str, str] = {}
    kept = []
    for piece in work:
        groups = dict(piece.groups)
        if "operator" in groups:
            number = f"operator {len(numbers) + 1}"
            groups["operator"] = numbers.setdefault(groups["operator"], number)
        kept.append(replace(piece, groups=groups))
    return kept


def overlaps(work: Iterable[Work]) -> dict[tuple[Group, Group], float]:
    """Of every two groups of different factors that share work: length of both over of either.

    Jaccard's index on lengths, above 0 to 1; both orders of each pair are there.
    """
    alone: dict[Group, float] = {}
    shared: dict[tuple[Group, Group], float] = {}
    for piece in work:
        for group in piece.groups.items():
            alone[group] = alone.get(group, 0.0) + piece.length_m
        for pair in permutations(piece.groups.items(), 2):
            shared[pair] = shared.get(pair, 0.0) + piece.length_m
    return {(a, b): both / (alone[a] + alone[b] - both) for (a, b), both in shared.items()}


def _of_factor(
    factor: str, levels: Mapping[str, Sums], dispersion: float, confidence: float
) -> list[FaultRate]:
    faults = sum(mine.faults for mine in levels.values())
    length = sum(mine.length_m for mine in levels.values())
    rates = []
    for level, mine in levels.items():
        count, part = mine.faults, mine.length_m
        low, high = interval(count, part, dispersion, confidence)
        p = _chance(count, faults, part / length, dispersion) if len(levels) > 1 else None
        per_100ft = count / part * PER_M
        rates.append(FaultRate(factor, level, count, part, per_100ft, low, high, p, None, None, ()))
    return rates


def _chance(count: int, faults: int, share: float, dispersion: float) -> float:
    """Two-sided chance of a count this far from its share of the faults: twice the lesser tail.

    Given all faults, a group's count is binomial with its share of the length (exact for
    Poisson counts at one rate); taken, like the interval, of faults/dispersion clumps, which
    keeps the long upper tail that a normal approximation would lose.
    """
    from scipy.special import betainc

    if faults == 0:
        return 1.0
    k, n = count / dispersion, faults / dispersion
    # P(X >= k) and P(X <= k) of a binomial as incomplete beta functions.
    at_least = float(betainc(k, n - k + 1.0, share)) if count > 0 else 1.0
    at_most = 1.0 - float(betainc(k + 1.0, n - k, share)) if count < faults else 1.0
    return min(1.0, 2.0 * min(at_least, at_most))


def _is_rough(levels: Iterable[Sums]) -> bool:
    levels = list(levels)
    few = sum(mine.pieces for mine in levels) - len(levels) < _LEAST_FREEDOM
    return few or sum(mine.faults for mine in levels) < _LEAST_FAULTS


def _flagged(
    rate: FaultRate,
    among: Iterator[float],
    alpha: float,
    together: _Overlaps,
    rough: Sequence[str],
) -> FaultRate:
    if rate.p is None:
        return rate
    adjusted = next(among)
    sure = TOO_FEW if rate.factor in rough else STANDS_OUT
    flag = CHANCE if rate.p >= alpha else ONE_OF_MANY if adjusted >= alpha else sure
    overlaps = [
        Overlap(*other, share)
        for (group, other), share in together.items()
        if group == (rate.factor, rate.level)
    ]
    return replace(rate, p_among=adjusted, flag=flag, confounded=tuple(overlaps))


def _levels(work: Iterable[Work], factor: str) -> dict[str, Sums]:
    levels: dict[str, list[Work]] = {}
    for piece in work:
        if factor in piece.groups:
            levels.setdefault(piece.groups[factor], []).append(piece)
    return {level: sums_of(mine) for level, mine in levels.items()}


def _check(work: Sequence[Work], confidence: float) -> None:
    if any(w.faults < 0 or w.length_m <= 0 for w in work) or not 0.0 < confidence < 1.0:
        raise ValueError("faults are not below 0, lengths above 0, confidence between 0 and 1")
