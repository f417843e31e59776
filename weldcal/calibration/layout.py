"""Where each coefficient of the model sits in a parameter vector.

Invariant: the order of the names, of the priors and of the positions is one.
"""

from __future__ import annotations

from dataclasses import dataclass

from weldcal.calibration import priors
from weldcal.calibration.features import Levels
from weldcal.calibration.priors import Prior


@dataclass(frozen=True, slots=True)
class ParameterLayout:
    """Where each coefficient sits in a parameter vector: linear ones first."""

    levels: Levels
    by_bleed_out: bool

    @property
    def linear(self) -> int:
        """How many linear columns there are."""
        return len(self.levels.names)

    @property
    def sheets(self) -> int:
        """How many sheets there are, the unseen one included."""
        return len(self.levels.sheets) + 1

    @property
    def elasticity(self) -> int:
        """First of the elasticities, one a sheet."""
        return self.linear

    @property
    def bubbling_sheet(self) -> int:
        """First of the sheets' own bubbling offsets."""
        return self.linear + self.sheets

    @property
    def curvature(self) -> int:
        """Curvature; after it ln of trace threshold, of heavy's gap to it, of the cold
        threshold below 0, and of the two blurs."""
        return self.linear + 2 * self.sheets

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all coefficients, in order."""
        own = (*self.levels.sheets, "")
        return (
            *self.levels.names,
            *(f"elasticity:{s}" for s in own),
            *(f"bubbling:{s}" for s in own),
            "curvature",
            "trace_at",
            "heavy_gap",
            "cold_at",
            "bubbling_blur",
            "cold_blur",
        )

    @property
    def priors(self) -> tuple[Prior, ...]:
        """Priors of all coefficients, in the order of `names`."""
        judged = self.by_bleed_out
        return (
            *self.levels.linear_priors(judged),
            *(priors.ELASTICITY,) * self.sheets,
            *(priors.BUBBLING_SHEET,) * self.sheets,
            priors.CURVATURE,
            priors.TRACE_AT if judged else priors.TRACE_AT_UNJUDGED,
            priors.HEAVY_GAP,
            priors.COLD_AT if judged else priors.COLD_AT_UNJUDGED,
            priors.BUBBLING_BLUR,
            priors.COLD_BLUR,
        )
