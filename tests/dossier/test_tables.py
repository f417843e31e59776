"""How the dossier's tables are set: which columns stand to the right, and that each has its share."""

from __future__ import annotations

import re
from typing import Any

import pytest

# Caption -> the headings of the columns of numbers; of all others none stands to the right.
TO_THE_RIGHT = {
    "Totals": ["Value"],
    "Weather and power as read": ["Ambient", "Sheet", "Humidity", "Wind", "Line"],
    "Speeds really used": ["Runs", "Welded"],
    "Peel samples": ["Load"],
    "People and their entries": ["Entries"],
    "Seals": ["Entries"],
    "What the latest seals fix: the last entry of each device": ["Entry"],
    "The book when this file was made: the last entry of each device": ["Entry"],
}


def test_columns_of_numbers_stand_to_the_right(made: Any) -> None:
    """Those and no others, whatever else a table holds; a cell there begins with a figure or is a dash."""
    for table in made.tables():
        right = [table.headings[n] for n in table.right]
        for n in table.right:
            assert all(re.match(r"[\d–]", row[n]) for row in table.rows), (table.caption, n)
        if table.caption not in ("Numbers of the chart", "Bleed checks"):
            assert right == TO_THE_RIGHT.get(table.caption, []), table.caption


def test_every_column_has_a_share_and_every_row_a_cell_for_it(made: Any) -> None:
    """Shares where they are given at all; a column of a few figures is never the widest."""
    for table in made.tables():
        assert all(len(row) == len(table.headings) for row in table.rows), table.caption
        assert len(table.widths) in (0, len(table.headings)), table.caption
        assert all(width > 0 for width in table.widths), table.caption


@pytest.mark.parametrize(
    ("caption", "first", "row"),
    [
        ("Weather and power as read", "07:00", "61 °F|70 °F|40 %|5 mph|228 V|Ana Ruiz"),
        (
            "Strips",
            "S1 07:05",
            "blue, base, selvage, 932 °F|7.0 ft/min|1/16 1/8 1/16; bubbling none, pull cold"
            "|too little bleed-out: 1/16 in, limit 1/8 in; the cold pull came apart: cold bond|Ana Ruiz",
        ),
        (
            "Strips",
            "S3 07:30",
            "blue, base, selvage, 932 °F|8.0 ft/min (measured 8.10 ft/min)"
            "|1/4 1/4 5/16; bubbling none, pull good|go-ahead|Ana Ruiz",
        ),
        ("Bleed checks", "B1", "A1, 10 ft|1/4 3/16|–|Ana Ruiz"),
        (
            "Findings on the drawings",
            "o F3",
            "A1|3–4 ft|wrinkle|mended, not probed again",
        ),
        ("Machines", "blue", "1–20 ft/min|212 °F – 1148 °F|0 marks measured"),
        ("Sheets", "base", "polyester-reinforced SBS base sheet|bleed-out"),
        ("Instruments", "tape 1", "tape|2026-01-05|2026-06-01"),
        (
            "Peel samples",
            "P1",
            "A1 25 ft|40.0 lbf/in|in the compound|not read|Ben Okoro, 2026-06-01 11:40",
        ),
        (
            "Corrections in full",
            "W3",
            "where it begins|13 ft|12 ft|began at 12 ft|Ben Okoro, 2026-06-01 14:00",
        ),
        (
            "Warnings and answers",
            "R5, A5",
            "2026-06-02 07:10|Ana Ruiz|welded on another day than the go-ahead's|NOT ANSWERED",
        ),
        (
            "Hot work and fire watches",
            "H1",
            "4711|2026-06-01 11:45|Ana Ruiz|2026-06-01 12:00|2026-06-01 19:00 UTC|Ben Okoro|nothing",
        ),
        (
            "Seams",
            "% A3",
            "side lap, probed by its operator|probed in part|33 ft of 33 ft|36 %; unprobed 12–33 ft|–",
        ),
        ("Totals", "Lap welded", "185 ft|70 % of the length listed"),
        ("Totals", "Lap probed", "111 ft|60 % of the lap welded"),
    ],
)
def test_a_row_of_each_table_as_the_day_was_typed(
    made: Any, caption: str, first: str, row: str
) -> None:
    """`tests.dossier.conftest.LOG`, told again: 5 laps of 33 ft and one of 20; 33 of 36 % is 12 ft."""
    found = [
        one
        for table in made.tables()
        if table.caption == caption
        for one in table.rows
        if one[0] == first
    ]
    assert found, caption
    assert tuple(row.split("|")) in [one[1:] for one in found], found
