"""The engine under judgement, behind the same door as its peers.

`follow` decides which strip is welded when the advice is not sure: the proposed next
strip, as the product says, or (for diagnosis) always the best speed.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.bench.methods import Choice, Known, Prediction, Scene
from tests.bench.roofs import REACH, WINDOW
from weldcal.calibration.knowledge import KnownNames
from weldcal.calibration.observation import Forecast


@dataclass(frozen=True, slots=True)
class Engine:
    """`weldcal.calibration`: fit everything recorded, ask for advice."""

    name: str
    follow: bool = True
    known: KnownNames | None = None

    def choose(self, known: Known, scene: Scene) -> Choice:
        from weldcal.calibration import same_reading
        from weldcal.calibration.advice import decide
        from weldcal.calibration.engine import fit
        from weldcal.calibration.second_strip import second_strip

        every = fit(known.rows, WINDOW, seed=0, known=self.known)
        question = same_reading.by_now(every, known.question)
        made = decide(every, question, WINDOW, REACH)  # advice without why and until when
        if made.forecast is None:
            last = known.rows[-1].speed_m_per_min
            return Choice(speed=last, run=last, sure=False, chance=0.0, stop=True, broken=1.0)
        best, run = made.forecast, made.forecast
        if self.follow and made.next_strip is not None:
            run = made.next_strip.forecast
        return Choice(
            speed=best.speed_m_per_min,
            run=run.speed_m_per_min,
            sure=not made.doubts,
            chance=best.chance,
            at_speed=_prediction(best),
            at_run=_prediction(run),
            broken=made.state.broken,
            but_pull=set(made.doubts) <= {"bond_not_seen", "bond_long_ago"},
            again=second_strip(made.fit, question, WINDOW) is not None,
        )


def _prediction(forecast: Forecast) -> Prediction:
    return Prediction(
        forecast.width_mm, forecast.width_low_mm, forecast.width_high_mm, forecast.chance_bubbling
    )
