"""How far a lap in work has come, by its speed alone.

Invariant: an estimate, never a record: nobody's finish is taken from it.
"""

from __future__ import annotations


def about_m(
    start_m: float, speed_m_per_min: float | None, minutes: float, end_m: float | None
) -> float | None:
    """Where the machine is, m from the lap's zero end, if it ran without a stop; the end at most.

    Args:
        start_m: where the run began.
        speed_m_per_min: as measured, else as set; None where neither is known.
        minutes: since it began.
        end_m: the lap's end, where it is listed.

    Returns:
        None where the speed is not known, or the run began at the far end and comes back.
    """
    if speed_m_per_min is None or minutes < 0 or (end_m is not None and start_m >= end_m):
        return None
    reached = start_m + speed_m_per_min * minutes
    return reached if end_m is None else min(reached, end_m)
