"""One machine on one sheet, refitted from all jobs that had both.

Invariant: plain text in, plain text out, and nothing else is read: the same group gives the same
answer wherever it is worked out, and working it out twice changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import msgspec

from weldcal.calibration.features import Levels
from weldcal.calibration.job_said import DAY, STRIP, job_said
from weldcal.calibration.keys import SheetKey, Who
from weldcal.calibration.knowledge import TaughtJob, learn
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.observation import Observation, Window

# Only that bleed-out judges the strips counts here.
_WINDOW = Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)
_Z90 = 1.6448536269514722


@dataclass(frozen=True, slots=True)
class SeenOnJob:
    """What one job saw of the group: its strips and checks, and what it calls the two."""

    job: str
    machine: str
    sheet: str
    kind: str
    seen: tuple[Observation, ...]


@dataclass(frozen=True, slots=True)
class Refit:
    """What the group's jobs say of the next one's speed.

    Attributes:
        jobs, strips: that taught it.
        m_per_min, low, high: the right speed at the reference conditions (`priors.NOZZLE_C`,
            `priors.SHEET_C`, no wind) on a job not met yet, and its 90 % interval.
        day, strip: spreads of ln speed from day to day and strip to strip, of their priors.
    """

    jobs: int
    strips: int
    m_per_min: float
    low: float
    high: float
    day: float
    strip: float


def refit(jobs: tuple[SeenOnJob, ...]) -> Refit | None:
    """Refit a group; `None` where its strips say nothing.

    Args:
        jobs: the observations of each job of the group, and their limits.

    Returns:
        what they say together.
    """
    taught = []
    for one in jobs:
        summary = job_said(one.seen, _WINDOW)
        if summary is not None:
            taught.append(TaughtJob(one.job, summary, _who(one)))
    if not taught:
        return None
    knowledge = learn(taught)
    last = jobs[-1]
    layout = ParameterLayout(Levels((last.sheet,), (last.machine,)), by_bleed_out=True)
    belief = knowledge.belief(layout, last.sheet, _who(last))
    names = layout.names
    at = [names.index(n) for n in ("intercept", f"sheet:{last.sheet}", f"machine:{last.machine}")]
    mean = float(belief.mean[at].sum())
    half = _Z90 * math.sqrt(float(belief.cov[at][:, at].sum()))
    spreads = {level.of: knowledge.mean[i] for i, level in enumerate(knowledge.levels)}
    return Refit(
        jobs=len(taught),
        strips=sum(job.summary.strips for job in taught),
        m_per_min=math.exp(mean),
        low=math.exp(mean - half),
        high=math.exp(mean + half),
        day=float(spreads.get(DAY, 0.0)),
        strip=float(spreads.get(STRIP, 0.0)),
    )


def _who(one: SeenOnJob) -> Who:
    return Who({one.machine: "machine"}, {one.sheet: SheetKey("sheet", one.kind)}, other=one.job)


def worked(group: bytes) -> bytes:
    """`refit` of a group as text, JSON in and out: what goes to a worker and comes back.

    Args:
        group: JSON of the group.

    Returns:
        JSON of its refit.
    """
    jobs = msgspec.json.decode(group, type=tuple[SeenOnJob, ...])
    return msgspec.json.encode(refit(jobs))
