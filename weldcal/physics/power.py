"""Voltage lost in the cord, and what that leaves of the heater.

Invariant: a longer or thinner cord never loses less, and no answer comes
without its cautions: voltage drop alone never decides a gauge. Ampacity, the
cord's rating, coiling, ground-fault protection and a licensed electrician do.

Resistances: NEC chapter 9 table 8 (uncoated copper, 75 °C) and IEC 60228 (plain
copper, 20 °C), in the tables beside this file; direct current, so reactance,
small at these gauges, is left out. Conductor temperature by the tables' own
coefficients, R = R0·(1 + a·(T - T0)).
"""

from __future__ import annotations

import csv
import math
from functools import cache
from pathlib import Path

from msgspec import Struct

from weldcal.words import mark

CAUTIONS = ("ampacity", "cord_rating", "coiling", "ground_fault", "licensed_electrician")

BRANCH_SHARE = 0.03
TOTAL_SHARE = 0.05
SHARE_SOURCE = mark(
    "3 % branch, 5 % in all: NEC 210.19(A) informational note 4 (advice, not enforceable, 90.5)"
)

_M_PER_1000_FT = 304.8
# system -> file, how a size is written, the length its resistances are of (m), °C, per K
_TABLES = {
    "us": ("conductors_us.csv", "{} AWG", _M_PER_1000_FT, 75.0, 0.00323),
    "metric": ("conductors_metric.csv", "{} mm²", 1000.0, 20.0, 0.00393),
}
# Voltage lost per volt along one conductor: there and back, or line to line.
_RETURN = {1: 2.0, 3: math.sqrt(3.0)}
# Cords are stranded: what is meant where nobody says.
_USUAL = {"us": "stranded", "metric": "class5"}


class LosesAll(ValueError):
    """A cord at which the current would need more than the supply's voltage."""


class Conductor(Struct, frozen=True):
    """A conductor of a published table.

    Attributes:
        system: us or metric.
        size: gauge number, or mm².
        make: solid or stranded; class2 or class5.
        ohm_per_m: at `at_c`, °C; it grows by `per_k` of itself a kelvin.
    """

    system: str
    size: float
    name: str
    make: str
    ohm_per_m: float
    at_c: float
    per_k: float

    def resistance(self, length_m: float, conductor_c: float) -> float:
        """Resistance of one conductor, ohm.

        Args:
            length_m: m, one way.
            conductor_c: temperature of the copper, °C.

        Returns:
            ohm.
        """
        return self.ohm_per_m * length_m * (1.0 + self.per_k * (conductor_c - self.at_c))


class Supply(Struct, frozen=True):
    """What feeds the machine, and what the machine draws.

    Attributes:
        volts: at the near end of the cord; line to line for three phases.
        length_m: one way.
        load_a: current drawn, A; or
        load_w: the heater's power at `rated_v`, W (taken as a resistance).
        rated_v: the machine's rated voltage; `volts` where nobody says.
        phases: 1 or 3.
        conductor_c: 75 for a loaded cord, 20 for a cold one.
    """

    volts: float
    length_m: float
    load_a: float | None = None
    load_w: float | None = None
    rated_v: float | None = None
    phases: int = 1
    conductor_c: float = 75.0


class Drop(Struct, frozen=True):
    """What a cord does to the voltage.

    Attributes:
        conductor: its name in the table.
        drop_v, share: lost in the cord, V and as a share of the supply.
        machine_v: left at the machine.
        current_a: through the cord.
        heater_lost: share of the heater's rated power lost, 1 - (V/rated)²; below 0
            where the supply is above the rating.
        cautions: codes of what decides a cord besides.
    """

    conductor: str
    drop_v: float
    share: float
    machine_v: float
    current_a: float
    heater_lost: float
    cautions: tuple[str, ...] = CAUTIONS


class GaugeAnswer(Struct, frozen=True):
    """The thinnest conductor of a table that holds a drop, or none; never without cautions."""

    most_share: float
    drop: Drop | None
    cautions: tuple[str, ...] = CAUTIONS


def conductors(system: str) -> tuple[Conductor, ...]:
    """The conductors of a table, thinnest first.

    Args:
        system: AWG or mm².

    Returns:
        the table's rows.

    Raises:
        ValueError: a system other than us or metric.
    """
    if system not in _TABLES:
        raise ValueError("conductor tables are us (AWG) and metric (mm²)")
    return _read(system)


@cache
def _read(system: str) -> tuple[Conductor, ...]:
    file, name, per_m, at_c, per_k = _TABLES[system]
    text = Path(__file__).with_name(file).read_text(encoding="utf-8")
    _source, *lines = text.splitlines()
    rows = []
    for row in csv.DictReader(lines):
        size, *makes = row
        rows += [
            Conductor(
                system,
                float(row[size]),
                name.format(row[size]),
                make,
                float(row[make]) / per_m,
                at_c,
                per_k,
            )
            for make in makes
            if row[make]
        ]
    return tuple(rows)


def conductor(system: str, size: float, make: str | None = None) -> Conductor:
    """A conductor by its gauge or mm², stranded where nobody says.

    Args:
        system: AWG or mm².
        size: gauge number, or mm².
        make: solid or stranded; class2 or class5; the usual one of the table where not given.

    Returns:
        the table's row.

    Raises:
        ValueError: the table has no such conductor; the message lists those it has.
    """
    table = conductors(system)
    for candidate in table:
        if candidate.size == size and candidate.make == (make or _USUAL[system]):
            return candidate
    names = ", ".join(f"{c.name} {c.make}" for c in table)
    raise ValueError(f"the table has: {names}")


def drop(supply: Supply, cord: Conductor) -> Drop:
    """Voltage lost in a cord.

    A current: 2·I·R of one conductor for one phase, √3·I·R for three. A power is
    taken as a resistance at its rated voltage, which the cord stands in series
    with, so a weak line draws less.

    Args:
        supply: voltage, phases and load.
        cord: conductor, length and temperature.

    Returns:
        volts, share of the supply, and what is left of the heater's power.

    Raises:
        ValueError: not exactly one load, or numbers that cannot be.
        LosesAll: the cord would take the whole voltage.
    """
    _check(supply)
    one_way = cord.resistance(supply.length_m, supply.conductor_c)
    rated = supply.rated_v or supply.volts
    current = _current(supply, one_way, rated)
    lost = _RETURN[supply.phases] * current * one_way
    if lost >= supply.volts:
        raise LosesAll("that cord would lose the whole voltage at this current")
    left = supply.volts - lost
    heater_lost = 1.0 - (left / rated) ** 2
    return Drop(cord.name, lost, lost / supply.volts, left, current, heater_lost)


def thinnest(supply: Supply, system: str, most_share: float = BRANCH_SHARE) -> GaugeAnswer:
    """The thinnest stranded conductor of a table that loses no more than `most_share`.

    On voltage drop alone, which decides nothing by itself: the cautions come with it.

    Args:
        supply: voltage, phases and load.
        system: AWG or mm².
        most_share: of the voltage that may be lost.

    Returns:
        the conductor with its drop, and the next thinner one.
    """
    for cord in conductors(system):
        if cord.make != _USUAL[system]:
            continue
        try:
            dropped = drop(supply, cord)
        except LosesAll:
            continue
        if dropped.share <= most_share:
            return GaugeAnswer(most_share, dropped)
    return GaugeAnswer(most_share, None)


def _current(supply: Supply, one_way: float, rated: float) -> float:
    if supply.load_w is None:
        assert supply.load_a is not None  # one of the two: `_check`
        return supply.load_a
    heater = rated**2 / supply.load_w
    if supply.phases == 1:
        return supply.volts / (heater + 2.0 * one_way)
    # V²/W is the resistance of each leg of a star of that power.
    return supply.volts / math.sqrt(3.0) / (heater + one_way)


def _check(supply: Supply) -> None:
    if (supply.load_a is None) == (supply.load_w is None):
        raise ValueError("give the load in A or in W, one of them")
    if supply.phases not in (1, 3):
        raise ValueError("a supply has 1 or 3 phases")
    loads = [x for x in (supply.load_a, supply.load_w, supply.rated_v) if x is not None]
    if supply.volts <= 0 or supply.length_m < 0 or min(loads) <= 0:
        raise ValueError("volts and load are above 0, and a length is not below 0")
