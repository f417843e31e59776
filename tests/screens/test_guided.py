"""The guided day read out: questions in order, nothing padded, at 40 columns, for each person."""

from __future__ import annotations

from typing import Any

import pytest

from tests.guide.conftest import PROMPT, terminal

__all__ = ["terminal"]


@pytest.mark.parametrize("role", ["operator", "inspector", "foreman"])
def test_the_guided_day_in_linear_pads_nothing(go_ahead: Any, terminal: Any, role: str) -> None:
    """A long question comes first, then where the answer goes."""
    go_ahead.day("07:30 seam start A1 --nozzle 932 --speed 5.5\n07:37 seam finish A1 --to 33")
    sat = terminal(40, WELDCAL_SCREEN="linear")
    sat.type(f"weldcal day --for {role}", "", "?", "q")
    sat.asked("type weldcal to go on")
    rows = [row for row in sat.seen.splitlines() if not row.startswith(PROMPT)]
    assert "Answer: " in sat.seen
    assert [
        row for row in rows if "  " in row or row.startswith(("- ", "> ", " ")) or "–" in row
    ] == []
    assert [row for row in rows if len(row) > 40 and "weldcal" not in row] == []
