"""One order of what happened: two entries of two devices may share a count, so no order ends with it."""

from __future__ import annotations

import re
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "weldcal"
# An order that ends with the count (the tick), in a statement of SQL.
_ENDS_WITH_COUNT = re.compile(r"ORDER BY[^\"']*?\btick( DESC)?(?= LIMIT|\)(?!,)|[\"']|$)")


def test_no_order_ends_with_the_count_that_devices_share() -> None:
    """The device (or the entry's id) decides, so that every copy of a book tells the same order."""
    found = [
        (path.name, match.group())
        for path in sorted(PACKAGE.rglob("*.py"))
        for match in _ENDS_WITH_COUNT.finditer(path.read_text(encoding="utf-8"))
    ]
    assert found == []
