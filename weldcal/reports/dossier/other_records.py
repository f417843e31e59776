"""Every other kind of record of the job, as tables: what the chapters before do not show.

Invariant: a column is shown by the unit its name ends in; one without any value is left out.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator

from weldcal.reports import show
from weldcal.reports.dossier.document import Para, Section, Table, table
from weldcal.reports.dossier.proof import MOST, left
from weldcal.views.dossier import Dossier
from weldcal.words import _, number

# Columns of no use on paper.
_INNER = {
    "id",
    "job",
    "device",
    "tick",
    "seen_utc",
    "day",
    "hour",
    "entered_by",
    "entered_utc",
    "late_h",
    "instrument",
    "flags",
    "marks",
    "photos",
    "carried",
    "seam_key",
    "of",
}


def others(d: Dossier, units: str) -> Iterator[Section]:
    """Every other kind of record of the job, fire watches first."""
    called = {s.key: s.name for s in d.seams}
    hot = [name for name in d.other if "hot" in name or "watch" in name]
    if not any(d.other[name] for name in hot):
        yield Section(
            _("Hot work and fire watches"),
            (
                Para(
                    _(
                        "This record holds no fire watch. That is no proof that none was kept: see the permit."
                    )
                ),
            ),
        )
    for name in [*hot, *(n for n in d.other if n not in hot)]:
        if d.other[name]:
            title = (
                _("Hot work and fire watches")
                if name in hot
                else _(name.replace("_", " ")).capitalize()
            )
            yield Section(
                title, (_plain(title, d.other[name], units, called), *left(len(d.other[name])))
            )


def _plain(title: str, rows: list[dict[str, object]], units: str, called: dict[str, str]) -> Table:
    names = [n for n in rows[0] if n not in _INNER and not n.endswith(("_utc", "_id"))]
    names = [n for n in names if any(r[n] not in (None, "") for r in rows)][:8]
    if "permit" in rows[0]:  # hot work: who held it, its end, and the watch, said or not
        names = list(_HOT_WORK)
    cells = [tuple(_value(n, r[n], units, called) for n in names) for r in rows[:MOST]]
    headings = [_(n.removesuffix(_unit_of(n)).replace("_", " ")).capitalize() for n in names]
    return table(title, headings, cells)


# How a column's value is shown, by the unit its name ends in. The longest ending first.
_NUMBERS: dict[str, Callable[[float, str], str]] = {
    "_m_per_min": lambda x, u: show.speed(x, u, 2),
    "_min": lambda x, u: show.minutes(x),
    "_mm": show.width,
    "_m": show.distance,
    "_c": show.temperature,
    "_s": lambda x, u: show.typed(number(x, "g"), "s"),
}
_TIMES: dict[str, Callable[[str], str]] = {
    "_local": show.clock,
    "_utc": lambda x: _("{time} UTC", time=show.clock(x)),
}


_HOT_WORK = (
    "name",
    "permit",
    "seen_local",
    "seen_by",
    "ended_local",
    "watched_until_utc",
    "watched_by",
    "watch_found",
)


def _unit_of(column: str) -> str:
    """The ending of a column's name that tells how its values are shown; empty where none does."""
    return next((end for end in (*_NUMBERS, *_TIMES) if column.endswith(end)), "")


def _value(name: str, value: object, units: str, called: dict[str, str]) -> str:
    unit = _unit_of(name)
    if value is None or value == "":
        return "–"
    if isinstance(value, float | int):
        if unit in _NUMBERS:
            return _NUMBERS[unit](value, units)
        return number(value, "g") if isinstance(value, float) else str(value)
    return _text(name, str(value), units, called)


def _text(name: str, value: str, units: str, called: dict[str, str]) -> str:
    """A column of text, or of a list kept as JSON."""
    unit = _unit_of(name)
    if name == "times_s":
        return ", ".join(show.typed(number(time, "g"), "s") for time in json.loads(value))
    if unit in _TIMES:
        return _TIMES[unit](value)
    if name in ("places", "stretches"):
        return _drawn(json.loads(value), units)
    if name in ("seams", "unprobed"):
        return ", ".join(called.get(key, key) for key in json.loads(value)) or "–"
    if name in ("where", "mark_unit"):
        return show.unit(value)
    return value


def _drawn(drawn: list[tuple[str, float] | tuple[str, float, float]], units: str) -> str:
    """Places or stretches of a draw: `A1 14.5 ft`, `A1 0–33 ft`."""
    places = [
        f"{place[0]} {show.stretches((place[1:],), units)}"
        if len(place) == 3
        else f"{place[0]} {show.tape(place[1], units)}"
        for place in drawn
    ]
    return ", ".join(places)
