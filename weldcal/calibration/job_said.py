"""What one job's strips say of its unknowns, for the firm to learn from.

Invariant: a job's evidence holds nothing of what was believed beforehand: the prior is taken out
again, so that jobs can be pooled without counting it twice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from weldcal.calibration.features import Array
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.levels import JobEvidence
from weldcal.calibration.observation import Observation, Window
from weldcal.calibration.outer import job_moments
from weldcal.calibration.strips import levels_of, strips

DAY, STRIP = "spread:day", "spread:strip"  # of their priors, in sds


@dataclass(frozen=True, slots=True)
class JobSaid:
    """What a job's strips say, by its own names; `sheet` has most of them, `strips` counts
    them without the checks and samples of seams."""

    evidence: JobEvidence
    sheet: str
    strips: int

    def plain(self) -> dict[str, Any]:
        """It as plain values.

        Returns:
            names, numbers and lists, as JSON takes them.
        """
        return {
            "names": list(self.evidence.names),
            "information": self.evidence.information[
                np.tril_indices(len(self.evidence.names))
            ].tolist(),
            "pull": self.evidence.pull.tolist(),
            "sheet": self.sheet,
            "strips": self.strips,
        }

    @classmethod
    def of(cls, plain: dict[str, Any]) -> JobSaid:
        """It again, of plain values.

        Args:
            plain: what `plain` gave.

        Returns:
            the same word.
        """
        names = tuple(plain["names"])
        evidence = JobEvidence(
            names, square(plain["information"], len(names)), np.array(plain["pull"])
        )
        return cls(evidence, plain["sheet"], plain["strips"])


def square(lower: Sequence[float], size: int) -> Array:
    """A symmetric matrix from its lower triangle, row by row.

    Args:
        lower: its values, size·(size + 1)/2 of them.
        size: rows.

    Returns:
        (size, size).

    Raises:
        ValueError: it has another number of values.
    """
    out = np.zeros((size, size))
    out[np.tril_indices(size)] = np.asarray(lower, dtype=float)
    return out + np.tril(out, -1).T


def job_said(observations: Sequence[Observation], window: Window) -> JobSaid | None:
    """What a job's strips say; `None` where they say nothing.

    Args:
        observations: a job's, in the order seen.
        window: only whether bleed-out judges them counts.

    Returns:
        the word.
    """
    levels = levels_of(observations)
    layout = ParameterLayout(levels, window.by_bleed_out)
    data = strips(observations, levels, window.by_bleed_out)
    if not len(data.kind):
        return None
    sheet = Counter(observations[i].sheet for i in data.kept.tolist()).most_common(1)[0][0]
    information, pull = _without_prior(*job_moments(data, layout, levels.sheet(sheet)))
    names = (*layout.names, DAY, STRIP)
    keep = [i for i, name in enumerate(names) if not name.endswith(":")]
    evidence = JobEvidence(
        tuple(names[i] for i in keep), information[np.ix_(keep, keep)], pull[np.asarray(keep)]
    )
    ran = sum(not observations[i].on_seam for i in data.kept.tolist())
    return JobSaid(evidence, sheet, ran)


def _without_prior(mean: Array, cov: Array, before: Array, sd: Array) -> tuple[Array, Array]:
    """The quadratic that takes the normal before the strips to the one after them; where that
    would widen a direction, it says nothing there."""
    scaled = np.linalg.inv(cov / sd / sd[:, None])
    values, vectors = np.linalg.eigh(scaled - np.eye(len(sd)))
    gained = (vectors * np.maximum(values, 0.0)) @ vectors.T
    pull = (gained @ ((mean - before) / sd) + (mean - before) / sd) / sd
    information = gained / sd / sd[:, None]
    return information, pull + information @ before
