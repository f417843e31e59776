"""What the firm knows: levels learnt from its jobs, and the belief with which the next one begins.

Invariant: a job is never counted twice: knowledge is of other jobs. What it says of a machine or
sheet it never met is what such things have been like, with how far they differ. Names stay with
the caller: here are keys.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from weldcal.calibration import priors
from weldcal.calibration.belief import Belief
from weldcal.calibration.features import Array, Levels
from weldcal.calibration.job_said import DAY, STRIP, JobSaid, square
from weldcal.calibration.keys import SheetKey, Who
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.levels import Group, LevelTerm, Pool, Posterior, SpreadPrior
from weldcal.calibration.priors import Prior, Shared
from weldcal.calibration.strips import levels_of

_OWN = {
    "intercept": priors.SHARED_INTERCEPT,
    "sheet": priors.SHARED_SHEET,
    "machine": priors.SHARED_MACHINE,
    "elasticity": priors.SHARED_ELASTICITY,
    "bubbling": priors.SHARED_BUBBLING,
    "repair": priors.SHARED_REPAIR,
}
_OF_SHEET = ("sheet", "elasticity", "bubbling")
_FAR = 20.0  # sds: a file's number beyond them was not learnt from strips
_COMPOUND = ("curvature", "trace_at", "heavy_gap", "cold_at")  # rather the sheet's than the rig's


@dataclass(frozen=True, slots=True)
class TaughtJob:
    """A job that taught something: `key` identifies it."""

    key: str
    summary: JobSaid
    who: Who


@dataclass(frozen=True, slots=True)
class From:
    """What advice rests on besides the job: jobs in all, those with this machine, with this very
    sheet; sheets of its class; strips in all. `machine_shared`, `sheet_shared`: of how many things
    it is the name, where it leads to none of them for that reason; else 0."""

    jobs: int
    with_machine: int
    with_sheet: int
    sheets_alike: int
    strips: int
    machine_shared: int = 0
    sheet_shared: int = 0


@dataclass(frozen=True, slots=True)
class Knowledge:
    """Posterior of the levels that outlive a job.

    Attributes:
        levels, mean, cov: the levels of firm, classes, sheets and machines.
        variance: per group of levels, the mean square of its spread.
        jobs: keys of the jobs that taught it, each with its machines, sheets and strips.
    """

    levels: tuple[LevelTerm, ...]
    mean: Array
    cov: Array
    variance: dict[Group, float]
    jobs: tuple[Taught, ...]

    def belief(self, layout: ParameterLayout, sheet: str, who: Who) -> Belief:
        """The belief with which a job begins, for advice on one of its sheets.

        Args:
            layout: of the job's coefficients.
            sheet: the job's name of the sheet asked about.
            who: keys of the job's names.

        Returns:
            mean and covariance of the coefficients in the layout's order.
        """
        names = (*layout.names, DAY, STRIP)
        sums = [_sum_of(name, sheet, who, "") for name in names]
        at = {level: i for i, level in enumerate(self.levels)}
        fresh = sorted({level for one in sums for level in one} - at.keys())
        count = len(self.levels)
        column = at | {level: count + i for i, level in enumerate(fresh)}
        z = np.zeros((len(names), count + len(fresh)))
        for i, one in enumerate(sums):
            z[i, [column[level] for level in one]] = 1.0
        known, new = z[:, :count], z[:, count:]
        spread = np.array([self._variance(level) for level in fresh])
        cov = known @ self.cov @ known.T + (new * spread) @ new.T
        mean = np.array([_middle(name) for name in names]) + known @ self.mean
        p = len(layout.names)
        sds = np.sqrt(np.diagonal(cov)).tolist()
        return Belief(
            mean[:p],
            cov[:p, :p] + 1e-10 * np.eye(p),
            (float(mean[p]), sds[p]),
            (float(mean[p + 1]), sds[p + 1]),
            self._unlike(who.sheet(sheet).key, who),
        )

    def rests_on(self, machine: str, sheet: str, who: Who) -> From:
        """What it knows of a machine and a sheet, by the job's names of them.

        Args:
            machine: the job's name.
            sheet: the job's name.
            who: keys of the job's names.

        Returns:
            how many jobs taught something of either.
        """
        key, mine = who.machine(machine), who.sheet(sheet)
        alike = {
            s.key for job in self.jobs for s in job.sheets if mine.kind and s.kind == mine.kind
        }
        return From(
            jobs=len(self.jobs),
            with_machine=sum(key in job.machines for job in self.jobs),
            with_sheet=sum(any(s.key == mine.key for s in job.sheets) for job in self.jobs),
            sheets_alike=len(alike),
            strips=sum(job.strips for job in self.jobs),
        )

    def plain(self) -> dict[str, Any]:
        """It as plain values: what a knowledge file holds.

        Returns:
            names, numbers and lists, as JSON takes them.
        """
        return {
            "levels": [[level.of, level.at, level.key] for level in self.levels],
            "mean": [_short(v) for v in self.mean.tolist()],
            "cov": [_short(v) for v in self.cov[np.tril_indices(len(self.mean))].tolist()],
            "variance": [[*group, _short(v)] for group, v in sorted(self.variance.items())],
            "jobs": [
                [job.key, list(job.machines), [[s.key, s.kind] for s in job.sheets], job.strips]
                for job in self.jobs
            ],
        }

    @classmethod
    def of(cls, plain: dict[str, Any]) -> Knowledge:
        """It again, of plain values.

        Args:
            plain: what `plain` gave, or a knowledge file.

        Returns:
            the same knowledge.

        Raises:
            ValueError, TypeError, KeyError: they are no knowledge.
        """
        levels = tuple(LevelTerm(*map(str, level)) for level in plain["levels"])
        variance = {(str(of), str(at)): float(v) for of, at, v in plain["variance"]}
        mean = np.array(plain["mean"], dtype=float)
        cov = square(plain["cov"], len(levels))
        groups = {group for level in levels for group in [level.group]} | variance.keys()
        if len(mean) != len(levels) or not groups <= _GROUPS:
            raise ValueError("levels")
        if not _can_be(levels, mean, cov, variance):
            raise ValueError("numbers")
        jobs = tuple(
            Taught(str(key), tuple(map(str, machines)), tuple(SheetKey(*s) for s in sheets), int(n))
            for key, machines, sheets, n in plain["jobs"]
        )
        return cls(levels, mean, cov, variance, jobs)

    def _unlike(self, sheet: str, who: Who) -> float:
        """The chance that a job with this sheet and these machines is like none before."""
        share, sheet_known, machine_known = priors.UNLIKE
        if any(s.key == sheet for job in self.jobs for s in job.sheets):
            share *= sheet_known
        met = {machine for job in self.jobs for machine in job.machines}
        return share * machine_known if met & set(who.machines.values()) else share

    def _variance(self, level: LevelTerm) -> float:
        """The variance of a level not met: as learnt, or as believed where none was."""
        if level.group in self.variance:
            return self.variance[level.group]
        return believed(level.group).sd ** 2


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Knowledge, and whose names a job's are."""

    knowledge: Knowledge
    who: Who

    def levels(self, seen: Levels) -> Levels:
        """Levels with a column for every machine and sheet of the job, met by a strip or not.

        Args:
            seen: levels that the job's strips have.

        Returns:
            those and the listed ones.
        """
        return Levels(
            tuple(dict.fromkeys((*seen.sheets, *self.who.sheets))),
            tuple(dict.fromkeys((*seen.machines, *self.who.machines))),
            seen.volts,
            seen.repairs,
        )

    def belief(self, layout: ParameterLayout, sheet: str) -> Belief:
        """The belief with which the job begins.

        Args:
            layout: order of the coefficients.
            sheet: name of the sheet asked about.

        Returns:
            mean and covariance of the coefficients in the layout's order.
        """
        return self.knowledge.belief(layout, sheet, self.who)


@dataclass(frozen=True, slots=True)
class Taught:
    """A job that taught, by keys."""

    key: str
    machines: tuple[str, ...]
    sheets: tuple[SheetKey, ...]
    strips: int


def _can_be(
    levels: tuple[LevelTerm, ...], mean: Array, cov: Array, variance: dict[Group, float]
) -> bool:
    """Whether numbers read from a file can be a posterior of these levels: each named once, no
    covariance over its two sds, nothing `_FAR` times what is believed of its group."""
    if not (np.isfinite(mean).all() and np.isfinite(cov).all()) or len(set(levels)) < len(levels):
        return False
    if any(not 0.0 <= v <= (_FAR * believed(g).sd) ** 2 for g, v in variance.items()):
        return False
    most = _FAR * np.array([believed(level.group).sd for level in levels], dtype=float)
    sd = np.sqrt(np.maximum(np.diagonal(cov), 0.0))
    if (np.abs(mean) > most).any() or (sd > most).any():
        return False
    return bool((np.abs(cov) <= sd * sd[:, None] * (1.0 + 1e-6) + 1e-12).all())


def learn(jobs: Sequence[TaughtJob]) -> Knowledge:
    """Pool the jobs: posterior of the levels that outlive them.

    Args:
        jobs: those that taught something, each with keys of its names.

    Returns:
        the knowledge.
    """
    return lasting(pool_of(jobs).learn(believed), jobs)


def pool_of(jobs: Sequence[TaughtJob]) -> Pool:
    """The jobs with the levels that their unknowns are sums of.

    Args:
        jobs: as for `learn`.

    Returns:
        the pool.
    """
    sums = [
        [_sum_of(name, job.summary.sheet, job.who, job.key) for name in job.summary.evidence.names]
        for job in jobs
    ]
    means = [np.array([_middle(name) for name in job.summary.evidence.names]) for job in jobs]
    return Pool([job.summary.evidence for job in jobs], means, sums)


def lasting(posterior: Posterior, jobs: Sequence[TaughtJob]) -> Knowledge:
    """The part of a posterior that outlives the jobs.

    Args:
        posterior: posterior of all levels.
        jobs: those that taught it.

    Returns:
        the knowledge.
    """
    chosen = [i for i, level in enumerate(posterior.levels) if level.at != "job"]
    return Knowledge(
        tuple(posterior.levels[i] for i in chosen),
        posterior.mean[chosen],
        posterior.cov[np.ix_(chosen, chosen)],
        posterior.variance,
        tuple(_taught(job) for job in jobs),
    )


def _taught(job: TaughtJob) -> Taught:
    names = job.summary.evidence.names
    machines = [n.removeprefix("machine:") for n in names if n.startswith("machine:")]
    sheets = [n.removeprefix("sheet:") for n in names if n.startswith("sheet:")]
    return Taught(
        job.key,
        tuple(job.who.machine(m) for m in machines),
        tuple(job.who.sheet(s) for s in sheets),
        job.summary.strips,
    )


def _kind(name: str) -> tuple[str, str]:
    """What kind of unknown a name is of, and of which machine or sheet."""
    head, colon, own = name.partition(":")
    return (head, own) if colon and head in _OWN else (name, "")


def _shared(kind: str) -> Shared:
    """Spreads of an unknown's levels."""
    if kind in _OWN:
        return _OWN[kind]
    rest = priors.SHARED_COMPOUND if kind in _COMPOUND else priors.SHARED_REST
    sd = _TABLE[kind].sd
    return Shared(firm=rest.firm * sd, sheet=rest.sheet * sd, job=rest.job * sd)


def believed(group: Group) -> SpreadPrior:
    """What is believed of a group's spread: the firm's own place is one draw and known to be so.

    Args:
        group: what kind of unknown, and of which level.

    Returns:
        mean and sd of the spread's log are made of it (`levels.SpreadPrior`).
    """
    kind, at = group
    shared = _shared(kind)
    between = {
        "firm": shared.firm,
        "class": shared.sheet * priors.CLASS_SHARE**0.5,
        "sheet": shared.sheet * (1.0 - priors.CLASS_SHARE) ** 0.5,
        "machine": shared.machine,
        "job": shared.job,
    }
    return SpreadPrior(between[at], 0.0 if at == "firm" else priors.LEVEL_LOG_SD)


def _sum_of(name: str, sheet: str, who: Who, job: str) -> list[LevelTerm]:
    """The levels of an unknown on a job, whose other unknowns are those of a sheet."""
    kind, own = _kind(name)
    shared = _shared(kind)
    unseen = name.endswith(":")
    terms = [LevelTerm(kind, "firm")] if shared.firm else []
    if shared.sheet:
        key = who.sheet(own if kind in _OF_SHEET else sheet)
        key = SheetKey(f"\0{name}") if unseen else key
        kind_of = key.kind or f"\0{key.key}"  # of no class: one of its own
        terms += [LevelTerm(kind, "class", kind_of), LevelTerm(kind, "sheet", key.key)]
    if shared.machine:
        terms.append(LevelTerm(kind, "machine", f"\0{name}" if unseen else who.machine(own)))
    return [*terms, LevelTerm(kind, "job", f"{job}\0{own}")] if shared.job else terms


def _table() -> dict[str, Prior]:
    """The prior of every kind of unknown, by kind."""
    layout = ParameterLayout(levels_of(()), by_bleed_out=True)
    by_kind = {_kind(n)[0]: p for n, p in zip(layout.names, layout.priors, strict=True)}
    unit = Prior(0.0, 1.0, "sds", "")
    return by_kind | {DAY: unit, STRIP: unit, "repair": priors.REPAIR}


_TABLE = _table()


def _middle(name: str) -> float:
    return _TABLE[_kind(name)[0]].mean


def _short(value: float) -> float:
    """Ten digits: more are noise."""
    return float(f"{value:.10g}")


_GROUPS = {
    (kind, at)
    for kind in _TABLE
    for at in ("firm", "class", "sheet", "machine", "job")
    if getattr(_shared(kind), "sheet" if at == "class" else at)
}
