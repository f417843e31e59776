"""Crews compared, as fairly as counts allow: on like work, with what chance can do.

Invariant: a crew is compared with what all crews together had on work of the same kind, never
with the plain average; where only one crew did such work there is nothing to compare, and it is
said. No number here says why.

Like work is indirect standardisation (Breslow & Day 1987, IARC 82, ch. 2, from memory): a length
counts as so much of the whole firm's lap as its kind's rate is to the firm's. Levels pull few
faults towards the others: ln of a crew's ratio is normal about 0 with a spread learnt from all;
with the Poisson count as a quadratic at the firm's own rate it is the normal hierarchical model
of `calibration.levels` with one level.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct

from weldcal.quality.faults import Faults, Sums, rates_of

# Of ln(ratio) between crews: a third either way is usual (ours, no source).
SPREAD, SPREAD_LOG_SD = 0.3, 0.7
# Probabilists' Gauss-Hermite, five nodes (Abramowitz & Stegun 1972, table 25.10, scaled).
_NODES = (
    (-2.8569700138728056, 0.011257411327720693),
    (-1.355626179974266, 0.22207592200561266),
    (0.0, 0.5333333333333333),
    (1.355626179974266, 0.22207592200561266),
    (2.8569700138728056, 0.011257411327720693),
)


class Done(Struct, frozen=True):
    """What a crew did.

    Attributes:
        probed_m: its exposure, lap probed.
        alone_m: of it, of kinds that nobody else welded.
        like: the same work, each length as so much of the firm's lap as its kind's rate says.
    """

    probed_m: float
    alone_m: float
    like: Sums


class CrewLevel(Struct, frozen=True):
    """A crew's ratio to the others on like work, shrunk towards 1 by what chance explains."""

    ratio: float
    low: float
    high: float


class Crews(Struct, frozen=True):
    """Crews compared: rates on like work with their flags, and levels, by name."""

    rates: Faults
    levels: dict[str, CrewLevel]
    done: dict[str, Done]


def compare(done: Mapping[str, Done]) -> Crews:
    """Compare crews on like work; those with none of it are left out."""
    with_work = {name: crew for name, crew in done.items() if crew.like.length_m > 0}
    rates = rates_of({"operator": {name: crew.like for name, crew in with_work.items()}})
    dispersion = rates.dispersion["operator"]
    length = sum(crew.like.length_m for crew in with_work.values())
    faults = sum(crew.like.faults for crew in with_work.values())
    counts = [
        (float(crew.like.faults), faults * crew.like.length_m / length)
        for crew in with_work.values()
    ]
    levels = dict(zip(with_work, pooled(counts, dispersion), strict=True))
    return Crews(rates, levels, dict(with_work))


def pooled(counts: Sequence[tuple[float, float]], dispersion: float) -> list[CrewLevel]:
    """Levels of (faults, faults expected): mean and 90 % interval of the ratio."""
    scores = [(e / dispersion, (o - e) / dispersion) for o, e in counts]
    variance = _mean_square(scores)
    levels = []
    for information, pull in scores:
        sd = 1.0 / math.sqrt(information + 1.0 / variance)
        mean = sd * sd * pull
        low, high = (math.exp(mean + z * sd) for z in (-1.6448536269514722, 1.6448536269514722))
        levels.append(CrewLevel(math.exp(mean), low, high))
    return levels


def _mean_square(scores: Sequence[tuple[float, float]]) -> float:
    """Mean square of the spread between crews, its log integrated out."""
    tried = [(SPREAD * math.exp(SPREAD_LOG_SD * node)) ** 2 for node, _weight in _NODES]
    logs = [
        math.log(weight) + math.fsum(_evidence(a, b, value) for a, b in scores)
        for (_node, weight), value in zip(_NODES, tried, strict=True)
    ]
    weights = [math.exp(one - max(logs)) for one in logs]
    return math.fsum(w * v for w, v in zip(weights, tried, strict=True)) / math.fsum(weights)


def _evidence(information: float, pull: float, variance: float) -> float:
    scaled = 1.0 + information * variance
    return 0.5 * (pull * pull * variance / scaled - math.log(scaled))
