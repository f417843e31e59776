"""From when a lap counts as cold."""

from __future__ import annotations

from datetime import datetime, timedelta


def cold_from(welded_utc: str, cool_min: float) -> str:
    """From when a lap counts as cold, UTC.

    Args:
        welded_utc: when the run was finished, or the mend made, UTC.
        cool_min: how long a lap cools before it is probed, minutes (a limit of the job).

    Returns:
        ISO 8601, UTC.
    """
    cold = datetime.fromisoformat(welded_utc) + timedelta(minutes=cool_min)
    return cold.isoformat(timespec="seconds")
