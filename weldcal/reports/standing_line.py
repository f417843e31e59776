"""How a go-ahead stands, in one line: for the top of the day and for the board.

Invariant: whether it permits welding was judged before; here it is only put into words.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.records.day import GoAheadNow
from weldcal.reports import shortfalls, show
from weldcal.words import _


def line(standing: GoAheadNow | None, units: str, kind: Sequence[str] = ()) -> str:
    """How a go-ahead stands, in one line.

    Args:
        standing: the go-ahead; None where there is none.
        units: us or si.
        kind: its machine or sheet, where the job has others too.
    """
    if standing is None:
        return _("No go-ahead yet.")
    whys = "; ".join(shortfalls.shortfall(code, values, units) for code, values in standing.why)
    setting = standing.setting
    fields = {
        "name": f"{standing.name} ({show.listed(list(kind))})" if kind else standing.name,
        "why": whys,
        "speed": show.setting(setting.speed),
        "nozzle": show.setting(setting.nozzle),
    }
    return {
        "good": lambda: _("Go-ahead {name} stands: {speed}, nozzle {nozzle}.", **fields),
        "look": lambda: _look(standing, fields),
        "strip_again": lambda: _("Go-ahead {name} no longer stands: {why}.", **fields),
        "wait": lambda: _("WAIT, nobody welds now: {why}.", why=whys),
    }[standing.level]()


def _look(standing: GoAheadNow, fields: dict[str, str]) -> str:
    """What calls for a look; a bleed check ends it, but not one for an old reading alone."""
    if {code for code, _values in standing.why} == {"moved_reading_age"}:
        return _("Go-ahead {name}, {speed}, nozzle {nozzle}: look ({why}).", **fields)
    return _(
        "Go-ahead {name}, {speed}, nozzle {nozzle}: look ({why}). A bleed check says whether it holds.",
        **fields,
    )
