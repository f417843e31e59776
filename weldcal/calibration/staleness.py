"""How far a sheet may have moved since its temperature was read.

Invariant: an older reading never leaves less open than a fresh one, and every page that moves a
reading in time asks here. Under a noted sky the balance says where the sheet is. Where nobody
noted it the sun is taken for the mean of what skies let through, and the spread is theirs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import TypeVar

from weldcal.calibration import priors
from weldcal.calibration.observation import Observation, SpeedQuestion
from weldcal.physics.sheet_path import SheetRead, hours_from
from weldcal.physics.sun import clear_at

Asked = TypeVar("Asked", SpeedQuestion, Observation)

_STEP_H = 0.5
NOTED = ("clear", "overcast")  # skies under which the balance says where the sheet is


def reading(asked: SpeedQuestion | Observation) -> SheetRead | None:
    """The sheet as last read, as the start of its path; `None` where it was not read.

    Args:
        asked: a question, or a strip or check; its sheet may be moved already (`by_now`).

    Returns:
        the reading.
    """
    at = asked.hour if asked.hour_sheet_read is None else asked.hour_sheet_read
    read_c = asked.sheet_c if asked.sheet_read_c is None else asked.sheet_read_c
    if read_c is None or at is None:
        return None
    # Today's noon air beside the morning's sheet would tell of a sun that never was.
    if asked.beside is None or asked.hour_sheet_read is None:
        air, wind = asked.ambient_c, asked.wind_m_per_s
    else:
        air, wind = asked.beside.air_c, asked.beside.wind_m_per_s
    return SheetRead(read_c, at, air, wind, asked.site, asked.sky)


def _aged(asked: SpeedQuestion | Observation) -> tuple[SheetRead, float] | None:
    """A reading that is older than what is asked, and the hour asked; `None`: there is none."""
    read, now = reading(asked), asked.hour
    return None if read is None or now is None or now <= read.hour else (read, now)


def sheet_spread_k(asked: SpeedQuestion | Observation) -> float:
    """Standard deviation, K, of the sheet about where it is taken to be; 0 where it is read now.

    The root of the age (wind, shade) and what the sun may have done otherwise than taken,
    added as variances.

    Args:
        asked: a question, or a strip or check.

    Returns:
        K, 1 sd.
    """
    aged = _aged(asked)
    if aged is None:
        return 0.0
    read, now = aged
    steps = math.ceil((now - read.hour) / _STEP_H - 1e-9)
    sun = _noted_sun_k(read, steps) if asked.sky in NOTED else _unknown_sun_k(read, steps)
    return math.hypot(priors.AGE_K_PER_ROOT_HOUR * math.sqrt(now - read.hour), sun)


@lru_cache(maxsize=8192)
def _noted_sun_k(read: SheetRead, steps: int) -> float:
    """A share of the furthest the sun may have moved it in so many half hours, K."""
    return priors.AGE_SUN_NOTED * max(abs(read.moved_k(hour)) for hour in _half_hours(read, steps))


@lru_cache(maxsize=8192)
def _unknown_sun_k(read: SheetRead, steps: int) -> float:
    """The most that an unknown sky may have left open in so many half hours, sd, K.

    Two shares of the sun, at the reading and later, that are the less alike the longer it is;
    where the reading shows the first, the second alone is open.
    """
    sun_then = 0.0 if read.tells_sun() else clear_at(read.hour, read.site)
    sd, most = priors.USUAL_SUN_SD * _by_place(read), 0.0
    for hour in _half_hours(read, steps):
        sun, alike = clear_at(hour, read.site), _remembered(read, hour)
        if read.tells_sun():
            open_w2 = (1.0 - alike**2) * sun**2
        else:
            open_w2 = sun_then**2 + sun**2 - 2.0 * alike * sun_then * sun
        most = max(most, read.warmed_k(sd * math.sqrt(open_w2), alike))
    return most


def _half_hours(read: SheetRead, steps: int) -> Iterator[float]:
    return hours_from(read.hour, read.hour + steps * _STEP_H, _STEP_H)


def _remembered(read: SheetRead, hour: float) -> float:
    """How alike sky and wind of an hour are to those of the reading, 1 to 0."""
    return math.exp(-(hour - read.hour) / priors.FORGOTTEN_H)


def _by_place(read: SheetRead) -> float:
    """What the sun by the hour alone is too strong by, over the seasons."""
    return priors.SUN_BY_HOUR_ALONE if read.site is None else 1.0


@lru_cache(maxsize=8192)
def _usual_c(read: SheetRead, hour: float) -> float:
    """The sheet at an hour, °C, under a sky nobody noted: the share of the sun that the reading
    shows, forgotten in favour of the mean of all skies, and the wind in favour of a medium one."""
    usual, alike = priors.USUAL_SUN * _by_place(read), _remembered(read, hour)
    then = read.sun_share() if read.tells_sun() else usual
    now = usual + alike * (then - usual)
    return read.sheet_c + read.moved_between_k(hour, then, now, alike)


def by_now(asked: Asked) -> Asked:
    """A question or a strip with its sheet where it is taken to be at its hour: a strip made an
    hour after the reading was no more made on the sheet as it was read than the question of a
    minute later is asked of it.

    The reading and its age stay beside it, and with them the spread; one that is moved already
    stays as it is.

    Args:
        asked: a question, or a strip or check.

    Returns:
        the same, its sheet moved.
    """
    there = carried_c(asked)
    if there is None or asked.sheet_read_c is not None:
        return asked
    return replace(asked, sheet_c=there, sheet_read_c=asked.sheet_c)


def carried_c(asked: SpeedQuestion | Observation) -> float | None:
    """Where sun and sky alone took the sheet since an older reading, °C; `None`: there is none.

    Args:
        asked: a question, or a strip or check.

    Returns:
        °C.
    """
    aged = _aged(asked)
    if aged is None:
        return None
    read, now = aged
    return read.at(now) if asked.sky in NOTED else _usual_c(read, now)


def later_c(question: SpeedQuestion, hour: float) -> float | None:
    """Where the sheet will be at an hour to come, °C, if the sky is from now on as noted; where
    nobody noted it, as it was at the reading (clear, where that does not show it).

    Args:
        question: conditions as they are taken to be now.
        hour: of the local day, from the question's on.

    Returns:
        °C; `None` where the sheet or the hour is not known.
    """
    read, now = reading(question), by_now(question)
    if read is None or now.sheet_c is None or now.hour is None:
        return None
    return now.sheet_c + read.moved_k(hour) - read.moved_k(now.hour)


def spread(asked: SpeedQuestion | Observation) -> float:
    """The same as sd of the ln of the right speed.

    Args:
        asked: a question, or a strip or check.

    Returns:
        ln speed, 1 sd.
    """
    return priors.WEATHER.mean * sheet_spread_k(asked)
