"""Peel samples: loads, how they parted, in what air, the least, and a bound where n allows one.

Invariant: a bound that would lie at or below nothing is not shown as a number.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from weldcal.quality.sampling import Loads, loads
from weldcal.reports import show
from weldcal.reports.dossier.document import Block, Para, Section, Table, table
from weldcal.views.dossier import Dossier
from weldcal.views.rows import MarkedConditions, MarkedPeel
from weldcal.words import _

_MOST = 600
# Site setting, no source: air read longer ago than this says nothing of a sample.
_AIR_READ_WITHIN = timedelta(hours=2)


def section(d: Dossier, units: str) -> Section:
    """The samples one by one, then what they show together."""
    title = _("Peel samples")
    if not d.peels:
        return Section(title, (Para(_("No peel sample is recorded.")),))
    blocks: list[Block] = [
        samples(d.peels[:_MOST], d.conditions, units),
        *(Para(line) for line in _together(d.peels, units)),
    ]
    if len(d.peels) > _MOST:
        blocks.append(Para(_("{n} more: weldcal export.", n=len(d.peels) - _MOST), loud=True))
    return Section(title, tuple(blocks))


def samples(rows: list[MarkedPeel], readings: list[MarkedConditions], units: str) -> Table:
    """The samples one by one; `readings` of the weather tell in what air."""
    cells = [
        (
            row["name"],
            _where(row, units),
            show.line_load(row["n_per_mm"], units) if row["n_per_mm"] is not None else "–",
            _(row["parted"]),
            _air(readings, row, units),
            f"{row['seen_by']}, {show.clock(row['seen_local'])}",
        )
        for row in rows
    ]
    shares = (0.7, 1.1, 1, 1.3, 1.3, 1.6)
    return table(_("Peel samples"), sample_headings(), cells, (2,), shares)


def sample_headings() -> list[str]:
    """The headings of the table of samples."""
    return [_("Sample"), _("Where"), _("Load"), _("Parted"), _("Air, sheet"), _("By, when")]


def _where(row: MarkedPeel, units: str) -> str:
    if row["seam"] is None:
        return _("a strip")
    return f"{row['seam']} {show.distance(row['at_m'], units)}"


def _air(readings: list[MarkedConditions], row: MarkedPeel, units: str) -> str:
    """Air and sheet by the last reading before the sample, where one is near enough."""
    at = datetime.fromisoformat(row["seen_utc"])
    near = [
        read
        for read in readings
        if timedelta(0) <= at - datetime.fromisoformat(read["seen_utc"]) <= _AIR_READ_WITHIN
    ]
    if not near:
        return _("not read")
    last = near[-1]
    return (
        f"{show.temperature(last['ambient_c'], units)}, {show.temperature(last['sheet_c'], units)}"
    )


def _together(rows: list[MarkedPeel], units: str) -> list[str]:
    loaded = [(row["n_per_mm"], row["parted"]) for row in rows if row["n_per_mm"] is not None]
    if not loaded:
        return [_("No load was read.")]
    found = loads([load for load, _how in loaded], [how for _load, how in loaded])
    least = min(load for load, _how in loaded)
    return [
        _(
            "Least load of {n}: {least}; mean {mean}.",
            n=found.n,
            least=show.line_load(least, units),
            mean=show.line_load(found.mean, units),
        ),
        bound(found, units),
    ]


def bound(found: Loads, units: str) -> str:
    """What share of the lap holds more than what; or that there are too few samples to say.

    Source of the bound: `quality.sampling.tolerance_factor`.
    """
    if found.bound is None or found.bound <= 0:
        return _(
            "Too few samples, or too uneven ones, to say what most of the lap holds ({n}).",
            n=found.n,
        )
    return _(
        "With {conf:.0f} % confidence {cov:.0f} % of the lap holds more than {bound} (loads taken as normal).",
        conf=100 * found.confidence,
        cov=100 * found.coverage,
        bound=show.line_load(found.bound, units),
    )
