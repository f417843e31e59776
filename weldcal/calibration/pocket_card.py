"""The card for the pocket: advised speed by sheet temperature over the day.

Invariant: a line beyond what the strips show says so; speeds are settings
of the dial.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from weldcal.calibration.advice import MAY_BE_BROKEN, STOP, choose, doubts_of
from weldcal.calibration.bracket import BEYOND
from weldcal.calibration.engine import Fit
from weldcal.calibration.observation import Reach, SpeedQuestion, Window


@dataclass(frozen=True, slots=True)
class CardLine:
    """One line: at this temperature, this setting.

    Attributes:
        temperature_c: of the sheet, or of the air where `by_ambient`.
        nozzle_c, speed_m_per_min: the setting advised.
        chance: joint chance that the weld is right.
        sure: as in advice.
        known: the line lies within what the strips bracket.
        by_ambient: nobody can read the sheet; ambient stands in for it.
    """

    temperature_c: float
    nozzle_c: float
    speed_m_per_min: float
    chance: float
    sure: bool
    known: bool
    by_ambient: bool


def card(
    fit: Fit,
    question: SpeedQuestion,
    window: Window,
    reach: Reach,
    sheet_temps_c: Sequence[float],
    by_ambient: bool = False,
) -> tuple[CardLine, ...]:
    """One line for each temperature, in the order given.

    With `by_ambient` the temperatures are the air's and the sheet counts as
    unread. No line at all while something is probably broken. Raises NothingInReachError
    where no setting asked for is within reach.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.
        reach: speeds (m/min) and nozzle temperatures (°C) that may be set.
        sheet_temps_c: temperatures of the lines, °C.
        by_ambient: they are the air's, where nobody reads the sheet.

    Returns:
        the card's lines.
    """
    state = fit.state(question)
    if state.broken >= STOP:
        return ()
    working = fit.without(state.aside)
    lines = (_line(working, question, window, reach, t, by_ambient) for t in sheet_temps_c)
    if state.broken > MAY_BE_BROKEN:
        return tuple(replace(line, sure=False) for line in lines)
    return tuple(lines)


def _line(
    fit: Fit,
    question: SpeedQuestion,
    window: Window,
    reach: Reach,
    temperature_c: float,
    by_ambient: bool,
) -> CardLine:
    if by_ambient:
        asked = replace(question, sheet_c=None, ambient_c=temperature_c)
    else:
        asked = fit.at_sheet(question, temperature_c)
    choice = choose(fit, asked, window, reach)
    doubts = doubts_of(fit, asked, window, choice)
    return CardLine(
        temperature_c=temperature_c,
        nozzle_c=choice.nozzle_c,
        speed_m_per_min=choice.speed,
        chance=float(choice.chance[choice.at]),
        sure=not doubts,
        known=not set(doubts) & BEYOND,
        by_ambient=by_ambient,
    )
