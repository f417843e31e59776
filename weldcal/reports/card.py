"""The pocket card: speed by temperature, words and numbers only, for 40 columns and paper.

Invariant: a line that leaves what is known says so on the same line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

from weldcal import settings
from weldcal.calibration.observation import SpeedStep
from weldcal.json_values import JsonObject
from weldcal.reports import day_ahead, show
from weldcal.reports.lines import columns, wrapped
from weldcal.views.dialled import Asked
from weldcal.words import _, number

if TYPE_CHECKING:
    from weldcal.calibration import CardLine

WIDTH = 40


def temperatures(units: str, low_c: float, high_c: float) -> list[float]:
    """Every 5 °F or 2.5 °C from `low_c` to `high_c`, on round numbers."""
    if units == "us":
        low, high = round((low_c * 9 / 5 + 32) / 5), round((high_c * 9 / 5 + 32) / 5)
        return [(n * 5 - 32) * 5 / 9 for n in range(low, high + 1)]
    low, high = round(low_c / 2.5), round(high_c / 2.5)
    return [n * 2.5 for n in range(low, high + 1)]


def document(asked: Asked, lines: Sequence[CardLine]) -> list[JsonObject]:
    """The card as JSON: SI values, the dial's mark beside."""
    return [
        {**dataclasses.asdict(line), "dial_mark": asked.dial.mark(line.speed_m_per_min)}
        for line in lines
    ]


def page(asked: Asked, lines: Sequence[CardLine], steps: Sequence[SpeedStep] = ()) -> list[str]:
    """The card in lines of at most 40 columns, then when the next steps come; no speeds while something is probably broken."""
    if not lines:
        return [wrapped(_("STOP: machine or sheet is not what it was. Why: weldcal dial"), WIDTH)]
    width = min(WIDTH, columns())
    body = _body(asked, lines)
    as_drawn = width == WIDTH and not settings.linear()
    return [
        *(wrapped(line, width) for line in _head(asked, lines)),
        *(body if as_drawn else map(wrapped, body)),
        *(wrapped(line, width) for line in _foot(asked, lines, steps)),
    ]


def _head(asked: Asked, lines: Sequence[CardLine]) -> list[str]:
    """For what the card is; whether no line is sure."""
    q, nozzle_c = asked.question, lines[0].nozzle_c - asked.nozzle_offset_k
    sure = any(line.sure for line in lines)
    return [
        _("CARD {day}", day=q.day),
        f"{show.safe(q.machine)}, {show.safe(q.sheet)}, {_(q.lap)}",
        _("nozzle {nozzle}", nozzle=show.temperature(nozzle_c, asked.units)),
        *([] if sure else [_("No line is sure yet: a strip first.")]),
        "",
    ]


def _body(asked: Asked, lines: Sequence[CardLine]) -> list[str]:
    """A line for each temperature."""
    what = _("air") if lines[0].by_ambient else _("sheet")
    some_sure = any(line.sure for line in lines)
    if not settings.linear():
        return [
            f"{what} {_temperature(line.temperature_c, asked.units):>8}  {_dial(asked, line)}{_doubt(line, some_sure)}"
            for line in lines
        ]
    return [
        _(
            "{what} at {temperature}: {dial}{doubt}",
            what=what,
            temperature=_temperature(line.temperature_c, asked.units),
            dial=_dial(asked, line),
            doubt=_doubt(line, some_sure),
        )
        for line in lines
    ]


def _foot(asked: Asked, lines: Sequence[CardLine], steps: Sequence[SpeedStep]) -> list[str]:
    """When the next steps come, by what to read the card, and when not to trust it."""
    return [
        *(["", *day_ahead.lines(asked, steps)] if steps else []),
        "",
        _(
            "Nobody could read the sheet: by air, and less sure. Sun on a dark sheet counts more than air."
        )
        if lines[0].by_ambient
        else _("By the sheet's surface, read at the lap."),
        _(
            "Each morning, and when anything changes: a strip first. The sheet maker's instructions come first."
        ),
    ]


def _temperature(celsius: float, units: str) -> str:
    return f"{celsius * 9 / 5 + 32:.0f} °F" if units == "us" else number(celsius, ".1f") + " °C"


def _dial(asked: Asked, line: CardLine) -> str:
    return show.dial_mark(asked.dial.mark(line.speed_m_per_min), asked.dial.unit)


def _doubt(line: CardLine, some_sure: bool) -> str:
    if not line.known:
        return _(" beyond strips")
    return _(" strip first") if some_sure and not line.sure else ""
