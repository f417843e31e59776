"""The columns of a probe sheet: which a header names, and in what unit.

Invariant: a header names one column or none, and a unit in it is one of length or the file is
refused.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from weldcal.errors import FileTrouble
from weldcal.intake.line import spelled
from weldcal.quantities import unit_named
from weldcal.records.fields import folded, usual_unit
from weldcal.words import _

# Columns of the sheet, in its order, and what else crews write over them (common practice, no source).
COLUMNS = (
    "date",
    "seam",
    "from",
    "to",
    "start",
    "end",
    "finding",
    "at",
    "length",
    "depth",
    "note",
    "by",
)
NEEDED = ("seam", "to")
SPELLED = spelled(
    {
        "date": ("day", "fecha"),
        "seam": ("lap", "costura", "solape"),
        "from": ("desde", "de"),
        "to": ("hasta", "a"),
        "start": ("began", "start time", "inicio"),
        "end": ("ended", "end time", "fin"),
        "finding": ("found", "kind", "defect", "hallazgo"),
        "at": ("place", "en"),
        "length": ("long", "largo"),
        "depth": ("deep", "profundidad"),
        "note": ("notes", "remarks", "nota", "notas"),
        "by": ("inspector", "probed by", "who", "quien", "por"),
    }
)
READS = {
    "from": "distance",
    "to": "distance",
    "at": "distance",
    "length": "patch",
    "depth": "depth",
}


@dataclass(frozen=True, slots=True)
class ProbeColumn:
    """A column that is known: where it stands, its header, and the unit that names."""

    place: int
    header: str
    unit: str | None = None


def how_many_known(header: Sequence[str]) -> int:
    """How many different columns a row of header cells names."""
    return len({_field(cell)[0] for cell in header} - {None})


def _field(header: str) -> tuple[str | None, str]:
    """The field a header names, and the text where its unit stands."""
    plain = folded(header)
    bracketed = re.fullmatch(r"([^(\[]+)[(\[]([^)\]]*)[)\]]", plain)
    base = (bracketed[1] if bracketed else plain).strip(" .:#").replace("_", " ")
    return SPELLED.get(base), bracketed[2].strip() if bracketed else ""


def columns_of(
    file: str, header: Sequence[str]
) -> tuple[dict[str, ProbeColumn], list[tuple[int, str]]]:
    """The columns that a header names, and (place, header) of those not known.

    Raises:
        FileTrouble: two columns for one value, or a unit that is none of length.
    """
    columns: dict[str, ProbeColumn] = {}
    unknown = []
    for place, cell in enumerate(header):
        name, unit_text = _field(cell)
        if name is None:
            unknown += [(place, cell)] if cell else []
            continue
        if name in columns:
            raise FileTrouble(
                file=file,
                why=_(
                    'columns "{one}" and "{other}" both hold the {name}; rename or remove one of them',
                    one=columns[name].header,
                    other=cell,
                    name=name,
                ),
            )
        unit = unit_named(unit_text, "length") if unit_text and name in READS else None
        if unit_text and name in READS and unit is None:
            raise FileTrouble(
                file=file,
                why=_(
                    'column "{column}": {unit!r} is no unit of length; name it like "{example}"',
                    column=cell,
                    unit=unit_text,
                    example=f"{name} (ft)",
                ),
            )
        columns[name] = ProbeColumn(place, cell, unit)
    return columns, unknown


def headers(units: str) -> list[str]:
    """The sheet's column names, each with the unit meant in a job of these units."""
    return [
        f"{name} ({usual_unit(READS[name], units)})" if name in READS else name for name in COLUMNS
    ]
