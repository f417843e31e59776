"""The one writer of CSV files."""

from __future__ import annotations

import io

import pytest

from weldcal.csv_file import write_csv


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_no_cell_is_a_formula(first: str) -> None:
    """Text that a spreadsheet would reckon with stays text (CWE-1236); numbers stay numbers."""
    file = io.BytesIO()
    rows = [{"text": f"{first}1+1", "number": -1.5}, {"number": 2}]
    assert write_csv(file, ["text", "number"], rows) == 2
    said = file.getvalue().decode()
    assert said.startswith("text,number\n")
    assert f"'{first}1+1" in said
    assert said.endswith(",-1.5\n,2\n")
