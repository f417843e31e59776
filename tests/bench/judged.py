"""The engine under judgement, behind the same door as its peers.

`follow` decides which strip is welded when the advice is not sure: the proposed next
strip, as the product says, or (for diagnosis) always the best speed.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.bench.methods import Choice, Known, Prediction, Scene
from tests.bench.roofs import REACH, WINDOW
from weldcal.calibration.knowledge import Known as OfFirm
from weldcal.calibration.observation import Forecast


@dataclass(frozen=True, slots=True)
class Engine:
    """`weldcal.calibration`: fit everything recorded, ask for advice."""

    name: str
    follow: bool = True
    known: OfFirm | None = None

    def choose(self, known: Known, scene: Scene) -> Choice:
        from weldcal.calibration.engine import fit

        advice = fit(known.rows, WINDOW, seed=0, known=self.known).advise(
            known.question, WINDOW, REACH
        )
        if advice.forecast is None:
            last = known.rows[-1].speed_m_per_min
            return Choice(speed=last, run=last, sure=False, chance=0.0, stop=True)
        best, run = advice.forecast, advice.forecast
        if self.follow and not advice.sure and advice.next_strip is not None:
            run = advice.next_strip.forecast
        return Choice(
            speed=best.speed_m_per_min,
            run=run.speed_m_per_min,
            sure=advice.sure,
            chance=best.chance,
            at_speed=_prediction(best),
            at_run=_prediction(run),
            again=advice.second_strip is not None,
        )


def _prediction(forecast: Forecast) -> Prediction:
    return Prediction(
        forecast.width_mm, forecast.width_low_mm, forecast.width_high_mm, forecast.chance_bubbling
    )
