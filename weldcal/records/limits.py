"""The job's acceptance numbers: each a value, where it comes from and who adopted it.

Invariant: a limit never stands without its source; the defaults below yield to
the sheet maker's instructions, and say so wherever they are shown.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from weldcal.quantities import Quantity
from weldcal.records.fields import check
from weldcal.words import mark

PRACTICE = mark("common practice, no source")
SITE = mark("site setting, no source")
GUIDE = mark("default of this program; no source")
LAYERS = mark("UFGS-07550 §3.3.6, offset between membrane layers")
TRIAL_SEAMS = mark(
    "City of Nashua, New Hampshire, geomembrane specification, 3.5 Trial seam testing (borrowed)"
)


class Limit(Struct, frozen=True, kw_only=True):
    """One acceptance number, as adopted.

    Attributes:
        name: key of `DEFAULTS`.
        value: the number.
        source: document and revision it comes from.
        adopted_by: who adopted it for the job; None for a default.
    """

    name: str
    value: Quantity
    source: str
    adopted_by: str | None = None

    def __post_init__(self) -> None:
        """Refuse a value that cannot be one of that limit (OutOfRange, WrongUnit, NotWhole)."""
        if self.name in DEFAULTS:
            check(DEFAULTS[self.name].field, self.value)


class Default(Struct, frozen=True):
    """A default: its field (for reading), value, source and what it means."""

    field: str
    value: Quantity
    source: str
    means: str


def _q(text: str, unit: str) -> Quantity:
    return Quantity(text=text, number=Fraction(text), unit=unit)


DEFAULTS: dict[str, Default] = {
    "bleed_low": Default("reading", _q("1/8", "in"), PRACTICE, mark("least bleed-out")),
    "bleed_aim": Default("reading", _q("1/4", "in"), PRACTICE, mark("bleed-out aimed for")),
    "bleed_high": Default("reading", _q("3/8", "in"), PRACTICE, mark("most bleed-out")),
    "reading_guard": Default(
        "spread",
        _q("0", "in"),
        SITE,
        mark("how far inside the limits a reading must lie (0: counts as typed)"),
    ),
    "reading_step": Default(
        "spread", _q("1/16", "in"), PRACTICE, mark("the step a tape is read to")
    ),
    "readings_spread": Default(
        "spread", _q("3/16", "in"), SITE, mark("most difference between readings of one strip")
    ),
    "readings_least": Default("count", _q("3", ""), SITE, mark("fewest readings on a strip")),
    "trace_passes": Default(
        "count", _q("0", ""), SITE, mark("trace bubbling passes (1) or not (0)")
    ),
    "bonded_least": Default(
        "bonded_width",
        _q("38", "mm"),
        mark(
            "bonded 38 mm (1.5 in) wide: trade magazine of a roofing contractors' association, December 2022 (single-ply, borrowed)"
        ),
        mark("least bonded width of a strip, where it was measured"),
    ),
    "cool_least": Default(
        "minutes", _q("10", "min"), SITE, mark("how long a strip cools before it is pulled apart")
    ),
    "cool_before_probe": Default(
        "minutes", _q("10", "min"), SITE, mark("how long a lap cools before it is probed")
    ),
    "failures_out": Default(
        "count",
        _q("2", ""),
        TRIAL_SEAMS,
        mark("failed strips in a row that take a machine out (0: never)"),
    ),
    "passes_in": Default(
        "count",
        _q("2", ""),
        TRIAL_SEAMS,
        mark("strips in a row that bring it back, once a cause is named"),
    ),
    "lap_least_side": Default(
        "lap_width", _q("4", "in"), PRACTICE, mark("least width of a side lap")
    ),
    "lap_least_end": Default(
        "lap_width", _q("6", "in"), PRACTICE, mark("least width of an end lap")
    ),
    "advice_chance": Default(
        "chance", _q("80", "%"), GUIDE, mark("joint chance from which advice counts as sure")
    ),
    "site_tolerance": Default(
        "spread",
        _q("1", "in"),
        SITE,
        mark("how near two places along a lap count as one: what a tape on a roof is off by"),
    ),
    "first_day_strips": Default(
        "count",
        _q("1", ""),
        SITE,
        mark("strips that must pass at one setting before welding, on a sheet's first day"),
    ),
    "ply_offset_side": Default(
        "distance",
        _q("300", "mm"),
        LAYERS,
        mark("how far side laps of one ply lie from those of the ply below"),
    ),
    "ply_offset_end": Default(
        "distance",
        _q("1", "m"),
        LAYERS,
        mark("how far end laps of one ply lie from those of the ply below"),
    ),
    "look_months": Default(
        "count",
        _q("12", ""),
        PRACTICE,
        mark("months after which a finished roof is looked at again"),
    ),
    "mend_margin": Default(
        "distance",
        _q("1/2", "ft"),
        mark(
            "150 mm past a defect: City of Nashua, New Hampshire, geomembrane specification, 3.5 (borrowed)"
        ),
        mark("how far a mend reaches past its finding on either side"),
    ),
}
