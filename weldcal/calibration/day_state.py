"""Is the machine, and the surface, still what it was? Inferred from today's strips in order.

Invariant: failures in a row are not independent. A hidden state goes through the day: working;
the machine's heat off by a jump of unknown size; a surface that does not bond; a surface that
bubbles. It may change before any strip, and what it is now is the chance of each given every
strip and check so far (the forward pass of a hidden Markov model, Rabiner 1989, Proc. IEEE
77:257), averaged over draws of everything else unknown. Those draws know every day and machine
but the machine's own strips of today, which so enter once only.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logsumexp

from weldcal.calibration import priors
from weldcal.calibration.features import Array
from weldcal.calibration.observation import DayState, Observation, SpeedQuestion
from weldcal.calibration.posterior import Draws
from weldcal.calibration.response import Point, Response
from weldcal.calibration.strips import BOND, HEAVY, TRACE, StripArrays, strips

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

_DRAWS = 800
_TILES = 10  # times as many to choose from, where nothing is known
_RANGE = 1.3  # ln speed about the prior: a factor of 3.7 either way
_JUMPS = np.linspace(-1.5, 1.5, 31)
_ASIDE = 0.5  # chance of having been made while broken, from which a strip is left aside
WORKING, FIRST_JUMP = 0, 1
BOND_FAILS = FIRST_JUMP + len(_JUMPS)
BUBBLES = BOND_FAILS + 1


def in_order(observations: tuple[Observation, ...], question: SpeedQuestion) -> list[int]:
    """Positions of what this machine did on the question's day, in order of time.

    Args:
        observations: of the job, in the order recorded.
        question: whose day and machine are meant.

    Returns:
        the positions, earliest first.
    """
    mine = [
        i
        for i, o in enumerate(observations)
        if (o.day, o.machine) == (question.day, question.machine)
    ]
    for name in ("seen_s", "hour"):
        at = {i: getattr(observations[i], name) for i in mine}
        if all(value is not None for value in at.values()):
            return sorted(mine, key=lambda i: at[i])
    return mine


def day_state(known: Fit, question: SpeedQuestion) -> DayState:
    """The state of the question's machine and sheet after everything seen today.

    Args:
        known: a fit of all observations; the one without today's is made here.
        question: day, machine and sheet asked about.

    Returns:
        chances of the states, and the strips left aside.
    """
    order = in_order(known.observations, question)
    if not order:
        return DayState()
    before = known.before(question)
    today = [known.observations[i] for i in order]
    data = strips(today, known.layout.levels, known.window.by_bleed_out)
    if not len(data.kind):
        return DayState()
    data = replace(data, share=np.ones(len(data.kind)))  # what they share today is the state
    unseen = replace(question, day="") if before is known else question
    draws, log_weight = _before_today(before, unseen)
    response = Response(data, known.layout)
    usual = _by_strip(data, response.row_log_like(_points(draws), draws.strip), len(today))
    draws, log_weight = _telling(draws, log_weight, usual, known.seed)
    log_like = _log_like(data, response, draws, len(today))
    _spare_other_sheets(log_like, today, question.sheet)
    breaks = _breaks(today, _known_before(known, question))
    return _read(_Day(log_like, breaks, _mends(today)), log_weight, order)


def _known_before(known: Fit, question: SpeedQuestion) -> bool:
    """Whether the machine has shown anything on another day."""
    machine, day = question.machine, question.day
    return any(o.machine == machine and o.day != day for o in known.observations)


def _before_today(before: Fit, question: SpeedQuestion) -> tuple[Draws, Array]:
    """Draws of all that was unknown before today's strips, and their log weights.

    Where nothing was known but the priors, right speeds are drawn evenly over a wide range
    and weighted by the prior: an unusual rig must have its draws.
    """
    draws = before.draws(question)
    if len(before.data.kind) or before.known is not None:
        return draws, np.zeros(len(draws.t))
    rng = np.random.default_rng(before.seed + 3)
    tiled = Draws(*(np.repeat(getattr(draws, f.name), _TILES, axis=0) for f in fields(Draws)))
    prior, sds = before.layout.priors[0], [(1.0, before.layout.priors[0].sd)]
    if before.window.by_bleed_out:
        share = priors.OTHER_RIG_SHARE
        sds = [(1.0 - share, prior.sd), (share, priors.OTHER_RIG_SD)]
    away = rng.uniform(-_RANGE, _RANGE, len(tiled.t))
    density = sum(share / sd * np.exp(-0.5 * (away / sd) ** 2) for share, sd in sds)
    tiled.u[:, 0] = prior.mean + away
    return tiled, np.log(density)


def _telling(draws: Draws, log_weight: Array, usual: Array, seed: int) -> tuple[Draws, Array]:
    """Fewer draws that stand for all: some for a machine that worked up to each of today's
    strips, weighted by one over how readily each was taken (importance sampling)."""
    worked = np.cumsum(usual, axis=0)
    log_each = log_weight + np.concatenate([np.zeros((1, usual.shape[1])), worked])
    log_each = log_each - logsumexp(log_each, axis=1, keepdims=True)
    taken = np.exp(logsumexp(log_each, axis=0) - np.log(len(log_each)))
    at = (np.random.default_rng(seed + 4).random() + np.arange(_DRAWS)) / _DRAWS
    which = np.minimum(np.searchsorted(np.cumsum(taken), at), len(taken) - 1)
    kept = Draws(*(getattr(draws, f.name)[which] for f in fields(Draws)))
    return kept, log_weight[which] - np.log(taken[which])


def _points(draws: Draws) -> Point:
    """Draws as points of one cell."""
    return Point(draws.u, draws.t[:, None], draws.s[:, None], np.zeros((len(draws.t), 0)))


def _by_strip(data: StripArrays, rows: Array, count: int) -> Array:
    """Sums of rows (..., rows) by observation, (observations, ...)."""
    out = np.zeros((count, *rows.shape[:-1]))
    np.add.at(out, data.kept[data.row_strip], np.moveaxis(rows, -1, 0))
    return out


def _log_like(data: StripArrays, response: Response, draws: Draws, count: int) -> Array:
    """Log likelihood of every observation in every state, (observations, draws, states)."""
    point = _points(draws)
    usual = response.row_log_like(point, draws.strip)
    repeated = (np.repeat(getattr(point, f.name), len(_JUMPS), axis=0) for f in fields(Point))
    jumped = response.row_log_like(
        Point(*repeated), np.repeat(draws.strip, len(_JUMPS)), np.tile(_JUMPS, len(usual))
    )
    rows = np.empty((len(usual), BUBBLES + 1, usual.shape[1]))
    rows[:, WORKING] = usual
    rows[:, FIRST_JUMP:BOND_FAILS] = jumped.reshape(len(usual), len(_JUMPS), -1)
    rows[:, BOND_FAILS], rows[:, BUBBLES] = _surfaces(data, usual)
    return _by_strip(data, rows, count)


def _surfaces(data: StripArrays, usual: Array) -> tuple[Array, Array]:
    """Rows where bonds fail, and where it bubbles, whatever the heat; the rest as usual."""

    def chance(kind: int, share: float) -> Array:
        mine = data.kind == kind
        log_likelihood = np.log(np.where(data.value == 1.0, share, 1.0 - share)) * data.share
        return np.where(mine, log_likelihood, 0.0)

    cold = data.kind == BOND
    bubbling = (data.kind == TRACE) | (data.kind == HEAVY)
    bond = np.where(cold, chance(BOND, 1.0 - priors.COLD_ANYWAY), usual)
    anyway = chance(TRACE, priors.BUBBLES_ANYWAY) + chance(HEAVY, priors.HEAVY_ANYWAY)
    return bond, np.where(bubbling, anyway, usual)


def _spare_other_sheets(log_like: Array, today: list[Observation], sheet: str) -> None:
    """A wet or dusty roll says nothing of another sheet: only the machine's heat is shared."""
    for i, o in enumerate(today):
        if o.sheet != sheet:
            log_like[i, :, BOND_FAILS:] = log_like[i, :, WORKING, None]


def _breaks(today: list[Observation], known_before: bool) -> Array:
    """Log chance that each broken state began before each observation and after the one
    before it, (observations, states but the working one)."""
    shares = _log_shares()
    out = np.empty((len(today), len(shares)))
    for i, o in enumerate(today):
        chance = priors.BREAKS_OVERNIGHT if i == 0 else _between(today[i - 1], o)
        if o.after_event:
            chance = 1.0 - (1.0 - chance) * (1.0 - priors.BREAKS_PER_EVENT)
        out[i] = np.log(chance) + shares
        if o.after_damp:  # water changes the sheet, not the machine
            surfaces = np.exp(out[i, len(_JUMPS) :])
            out[i, len(_JUMPS) :] = np.log(1.0 - (1.0 - surfaces) * (1.0 - priors.WET_AFTER_DAMP))
    if not known_before:  # what was never known cannot have changed; a roll can be wet
        out[0, : len(_JUMPS)] = -np.inf
    return out


def _between(last: Observation, now: Observation) -> float:
    """Chance that something broke between two observations."""
    known = now.hour is not None and last.hour is not None
    gone = (now.hour or 0.0) - (last.hour or 0.0) if known else 0.0
    return float(-np.expm1(-priors.BREAKS_PER_HOUR * gone - priors.BREAKS_PER_STRIP))


def _log_shares() -> Array:
    """Log chances of the broken states, given that something broke.

    A jump is never near 0: J² times a normal (a non-local prior, Johnson & Rossell 2010,
    JRSS B 72:143), so that an ordinary day's offset is no jump.
    """
    size = (_JUMPS / priors.JUMP) ** 2 * np.exp(-0.5 * (_JUMPS / priors.JUMP) ** 2)
    colder = np.where(_JUMPS < 0.0, priors.JUMP_COLDER, 1.0 - priors.JUMP_COLDER)
    jumps = priors.BROKEN_KINDS["machine"] * size * colder / (size * colder).sum()
    surfaces = [priors.BROKEN_KINDS["bond"], priors.BROKEN_KINDS["bubbling"]]
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.concatenate([jumps, surfaces])))


def _mends(today: list[Observation]) -> Array:
    """Chance that each broken state was mended before each observation, (observations, states
    but the working one): a repair mends the machine's heat, not the sheet."""
    out = np.full((len(today), BUBBLES), priors.MENDED)
    for i, (last, now) in enumerate(pairwise(today), 1):
        if now.repairs > last.repairs:
            out[i, : len(_JUMPS)] = priors.REPAIRED
    return out


@dataclass(frozen=True, slots=True)
class _Day:
    """A day in order of time: log likelihoods (observations, draws, states), log chances of
    breaking and chances of mending before each (observations, states but the working one)."""

    log_like: Array
    breaks: Array
    mends: Array


def _stays(breaks: Array) -> Array:
    """Log chance that nothing broke before each observation."""
    return np.asarray(np.log1p(-np.exp(logsumexp(breaks, axis=1))))


def _forward(day: _Day, log_weight: Array) -> Array:
    """Log chance of each state and of all seen so far, (observations, draws, states)."""
    out = np.empty_like(day.log_like)
    last = np.full(out.shape[1:], -np.inf)
    last[:, WORKING] = log_weight
    for i, stays in enumerate(_stays(day.breaks)):
        now = np.empty_like(last)
        back = logsumexp(last[:, FIRST_JUMP:] + np.log(day.mends[i]), axis=1)
        now[:, WORKING] = np.logaddexp(last[:, WORKING] + stays, back)
        broke = last[:, WORKING, None] + day.breaks[i]
        stayed = last[:, FIRST_JUMP:] + np.log1p(-day.mends[i])
        now[:, FIRST_JUMP:] = np.logaddexp(broke, stayed)
        last = now + day.log_like[i]
        out[i] = last
    return out


def _backward(day: _Day) -> Array:
    """Log chance of all seen later, given each state; like `_forward`."""
    out = np.zeros_like(day.log_like)
    stays = _stays(day.breaks)
    for i in range(len(out) - 2, -1, -1):
        later, mends = out[i + 1] + day.log_like[i + 1], day.mends[i + 1]
        broke = logsumexp(later[:, FIRST_JUMP:] + day.breaks[i + 1], axis=1)
        out[i, :, WORKING] = np.logaddexp(later[:, WORKING] + stays[i + 1], broke)
        mended = later[:, WORKING, None] + np.log(mends)
        stayed = later[:, FIRST_JUMP:] + np.log1p(-mends)
        out[i, :, FIRST_JUMP:] = np.logaddexp(mended, stayed)
    return out


def _chances(log_joint: Array) -> Array:
    """Chances of the states from their joint with the draws, (..., draws, states)."""
    total = logsumexp(log_joint, axis=-2)
    return np.asarray(np.exp(total - logsumexp(total, axis=-1, keepdims=True)))


def _read(day: _Day, log_weight: Array, order: list[int]) -> DayState:
    every = _chances(_forward(day, log_weight) + _backward(day))
    now, broken = every[-1], 1.0 - every[:, WORKING]
    jumps = now[FIRST_JUMP:BOND_FAILS]
    machine, working = float(jumps.sum()), float(now[WORKING])
    jump = float(jumps @ _JUMPS / machine) if machine > 0.0 else 0.0
    since: int | None = None
    aside: tuple[int, ...] = ()
    if working < _ASIDE:
        first = len(order) - 1
        while first > 0 and broken[first - 1] > _ASIDE:
            first -= 1
        since = order[first]
    else:
        aside = tuple(order[i] for i in np.flatnonzero(broken > _ASIDE).tolist())
    return DayState(
        working, machine, float(now[BOND_FAILS]), float(now[BUBBLES]), since, jump, aside
    )
