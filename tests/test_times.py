"""Times that can be recorded: of 1970 to 2200, by their own clock or in UTC.

The years are this program's.
"""

from __future__ import annotations

from datetime import datetime

import pytest

from weldcal.errors import ClockOff
from weldcal.records.times import check_time, moment_of, present


@pytest.mark.parametrize(
    ("at", "can_be"),
    [
        ("2026-06-01T07:00:00-06:00", True),
        # A dead battery's clock begins at 1970 in UTC: the evening before, west of Greenwich.
        ("1969-12-31T18:00:00-06:00", True),
        ("1969-12-31T17:59:59-06:00", False),
        ("1970-01-01T00:00:00+12:00", True),
        ("1969-12-31T23:59:59+00:00", False),
        ("2200-12-31T23:59:59-06:00", True),
        ("2201-01-01T00:30:00+01:00", True),
        ("2201-01-01T01:00:00+01:00", False),
        ("2201-01-01T00:00:00+00:00", False),
    ],
)
def test_a_time_is_of_1970_to_2200(at: str, can_be: bool) -> None:
    """At each end by whichever clock is kinder; a record of another time is refused."""
    moment = datetime.fromisoformat(at)
    assert moment_of(at) == (moment if can_be else None)
    if can_be:
        assert check_time(at) == present(moment) == moment
        return
    with pytest.raises(ValueError, match="cannot be"):
        check_time(at)
    with pytest.raises(ClockOff):
        present(moment)


def test_a_time_without_its_offset_is_none() -> None:
    """Nobody would know when it was."""
    with pytest.raises(ValueError, match="offset"):
        check_time("2026-06-01T07:00:00")
    assert moment_of("soon") is None
