"""Advice read back from the record: what later answers need of its question and its answer.

Invariant: what was advised is read as it was recorded, never worked out again. Numbers stand
there as texts.
"""

from __future__ import annotations

import msgspec
from msgspec import Struct


class Set(Struct, frozen=True):
    """A setting that was advised: nozzle's air in °C, travel speed in m/min."""

    nozzle_c: float
    speed_m_per_min: float


class AdviceQuestion(Struct, frozen=True):
    """What advice was asked for, and the conditions it was given for, SI."""

    day: str
    machine: str
    sheet: str
    lap: str
    ambient_c: float | None = None
    sheet_c: float | None = None
    humidity_pct: float | None = None
    wind_m_per_s: float | None = None
    line_v: float | None = None


class AdviceAnswer(Struct, frozen=True):
    """What was advised.

    Attributes:
        forecast: the setting advised; None where the verdict was STOP.
        next_strip: the setting to try next, where the advice was not sure.
        sure: the advice called itself sure.
        holds_until_sheet_c: sheet temperature from which another speed was advised, °C; None
            where none was.
    """

    forecast: Set | None = None
    next_strip: Set | None = None
    sure: bool = False
    holds_until_sheet_c: float | None = None

    @property
    def to_try(self) -> Set | None:
        """The setting of the next strip; None where the verdict was STOP."""
        return self.next_strip or self.forecast


def question_of(text: str) -> AdviceQuestion:
    """The question of a row of advice.

    Args:
        text: its column, JSON.
    """
    return msgspec.json.decode(text, type=AdviceQuestion, strict=False)


def answer_of(text: str) -> AdviceAnswer:
    """The answer of a row of advice.

    Args:
        text: its column, JSON.
    """
    return msgspec.json.decode(text, type=AdviceAnswer, strict=False)
