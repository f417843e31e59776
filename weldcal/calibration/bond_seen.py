"""Has anybody looked at a bond: bleed-out shows the heat of the moment, only a pull the bond.

Invariant: only a pull that held counts, of a strip or of a sample cut from the lap, on this
machine, sheet, lap kind and day; by when it was welded, not by when it was pulled. Nothing that
was not pulled, and none that parted, ever makes advice surer here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.calibration.observation import BondSeen, Observation, SpeedQuestion, Window
from weldcal.calibration.signs import of_kind

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit


def bond_seen(fit: Fit, question: SpeedQuestion) -> BondSeen | None:
    """The day's last lap that was pulled and held.

    Args:
        fit: of the strips that speak of a working machine.
        question: whose machine, sheet, lap kind and day are meant.

    Returns:
        it, and whether anything was welded and looked at since; `None` where none held.
    """
    today = _today(fit, question)
    good = [n for n, o in enumerate(today) if o.bond == "good"]
    if not good:
        return None
    last = today[good[-1]]
    return BondSeen(last.name, last.hour, good[-1] < len(today) - 1)


def doubts(fit: Fit, question: SpeedQuestion, window: Window) -> list[str]:
    """Codes of what the advice has not seen.

    `bond_not_seen`: nothing of today was pulled and held. `bond_long_ago`: it was, and that was
    welded as long ago as the job lets welding go on without another strip.

    Args:
        fit: of the strips that speak of a working machine.
        question: whose machine, sheet, lap kind, day and hour are meant.
        window: the job's limits.

    Returns:
        at most one code.
    """
    seen = bond_seen(fit, question)
    if seen is None:
        return ["bond_not_seen"]
    if question.hour is None or seen.hour is None:
        return []
    return ["bond_long_ago"] if question.hour - seen.hour >= window.bond_holds_h else []


def _today(fit: Fit, question: SpeedQuestion) -> list[Observation]:
    return [fit.observations[i] for i in of_kind(fit, question)]
