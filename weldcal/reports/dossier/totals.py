"""Totals of a roof: lengths, shares, rates.

Invariant: a share says of how much, and a rate its interval; a cut for a sample
is no fault of the seam.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from weldcal.quality.faults import ProbedPiece
from weldcal.quality.seam import PROBED
from weldcal.reports import show
from weldcal.reports.dossier.document import Table, table
from weldcal.reports.dossier.lengths import length
from weldcal.reports.dossier.rates import ShownRate, probed_over_all, rate
from weldcal.reports.terminal import SHAPES
from weldcal.views.dossier import SeamFacts
from weldcal.words import _, number, plural

T_JOINT = "T-joint"
Row = tuple[str, str, str]  # what, value, note


class Totals(Struct, frozen=True):
    """Sums over seams; lengths in m.

    Attributes:
        probed_seams: welded, walked, and no welded stretch left unprobed.
        clean_seams: of these, with no fault ever found.
        point_states: of the seams that are T-joints, which have no length, their states; `states` are those of all seams.
    """

    seams: int
    listed_m: float
    welded_m: float
    probed_m: float
    states: dict[str, int]
    point_states: dict[str, int]
    probed_seams: int
    clean_seams: int
    faults: int
    fault_m: float
    open: int
    mended: int
    mends: int
    samples: int

    @property
    def points(self) -> int:
        """How many seams are T-joints."""
        return sum(self.point_states.values())

    @property
    def clean_points(self) -> int:
        """How many T-joints are probed with no open finding."""
        return self.point_states[PROBED]

    @property
    def unprobed_m(self) -> float:
        """Welded and not probed."""
        return self.welded_m - self.probed_m


def totals(seams: Sequence[SeamFacts]) -> Totals:
    """Sum seams up."""
    probed = probed_over_all(seams)
    return Totals(
        seams=len(seams),
        listed_m=sum(s.length_m or 0.0 for s in seams),
        welded_m=sum(s.state.welded_m for s in seams),
        probed_m=sum(s.state.probed_m for s in seams),
        states={state: sum(s.state.state == state for s in seams) for state in SHAPES},
        point_states={
            state: sum(s.state.state == state and s.kind == T_JOINT for s in seams)
            for state in SHAPES
        },
        probed_seams=len(probed),
        clean_seams=sum(s.faults == 0 for s in probed),
        faults=sum(s.faults for s in seams),
        fault_m=sum(s.fault_m for s in seams),
        open=sum(len(s.state.open) for s in seams),
        mended=sum(len(s.state.mended) for s in seams),
        mends=sum(s.mends for s in seams),
        samples=sum(s.samples for s in seams),
    )


def share(part: float, total: float) -> str:
    """`60 %` of something; never rounded up to all, nor down to nothing."""
    if total <= 0:
        return "–"
    percent = 100 * part / total
    if 0 < percent < 1 or 99 < percent < 100:
        return (
            number(percent, ".2f") + " %"
            if 0.01 <= percent <= 99.99
            else f"{'<0.01' if percent < 1 else '>99.99'} %"
        )
    return f"{percent:.0f} %"


def all_faults(pieces: Sequence[ProbedPiece], units: str) -> ShownRate | None:
    """The rate of all faults on probed lap; None where nothing was probed."""
    return rate(_("all faults"), pieces, units)


def totals_table(t: Totals, pieces: Sequence[ProbedPiece], units: str) -> Table:
    """The totals as a table."""
    rows = [
        (_("Seams listed"), str(t.seams), length(t.listed_m, units)),
        *_laps(t, units),
        *_faults(t, pieces, units),
        (_("Findings open"), str(t.open), ""),
        (_("Mended, not probed again"), str(t.mended), ""),
        (_("Mends"), str(t.mends), ""),
        (_("Samples cut from seams"), str(t.samples), ""),
        *_states(t),
    ]
    return table(_("Totals"), [_("What"), _("Value"), _("Note")], rows, (1,), (2, 1.2, 3.4))


def _laps(t: Totals, units: str) -> Iterator[Row]:
    """What was welded and probed of the lap, and how much came clean at once."""
    listed = _("{share} of the length listed", share=share(t.welded_m, t.listed_m))
    yield _("Lap welded"), length(t.welded_m, units), listed if t.listed_m else ""
    for what, metres in (
        (_("Lap probed"), t.probed_m),
        (_("Lap welded and not probed"), t.unprobed_m),
    ):
        welded = _("{share} of the lap welded", share=share(metres, t.welded_m))
        yield what, length(metres, units), welded if t.welded_m else ""
    yield (
        _("First pass probed clean"),
        share(t.clean_seams, t.probed_seams),
        _(
            "{clean} of {probed} seams probed over all that was welded: no fault ever found",
            clean=t.clean_seams,
            probed=t.probed_seams,
        ),
    )


def _faults(t: Totals, pieces: Sequence[ProbedPiece], units: str) -> Iterator[Row]:
    """Faults found, and their rate with its interval."""
    within = length(t.fault_m, units)
    yield (
        _("Faults found"),
        str(t.faults),
        _("{of} of lap within them; cuts for samples not counted", of=within),
    )
    rates = all_faults(pieces, units)
    what = _("Faults per {per} probed", per=show.hundred(units))
    if rates is None:
        yield what, "–", _("nothing probed")
        return
    yield (
        what,
        number(rates.rate, ".2f"),
        _(
            "{faults} in {length} probed; 95 % interval {low:.2f} to {high:.2f}, allowing for faults that come in clumps: dispersion {dispersion:.2f}, from {runs} probed",
            faults=plural("{n} fault", "{n} faults", rates.n),
            length=rates.over,
            low=rates.low,
            high=rates.high,
            dispersion=rates.dispersion,
            runs=plural("{n} run", "{n} runs", rates.seams),
        ),
    )


def _states(t: Totals) -> Iterator[Row]:
    """How many laps and how many T-joints are in which state; a T-joint is a point, no length."""
    laps = t.seams - t.points
    for state, n in t.states.items():
        points = t.point_states[state]
        if n > points:
            share_alone = _("{share} of laps alone", share=share(n - points, laps))
            yield _("Laps: {state}", state=_(state)), str(n - points), share_alone
        if points:
            share_alone = _("{share} of T-joints alone", share=share(points, t.points))
            yield _("T-joints: {state}", state=_(state)), str(points), share_alone
