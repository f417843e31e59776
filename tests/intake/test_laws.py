"""Laws of intake: what is written comes back exactly; nothing that comes in can break it."""

import csv
import io
import tempfile
from fractions import Fraction
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.intake.conftest import Loaded, defaults, read_strips
from weldcal.errors import WeldcalError

# Field -> unit spelling -> (unit, lowest, highest) in tenths; within what can be in every unit.
TEMPERATURES = {"F": ("F", 0, 1100), "°C": ("C", -100, 500)}
SPEEDS = {"ft/min": ("ft/min", 5, 400), "m/min": ("m/min", 5, 90), "fpm": ("ft/min", 5, 400)}
FIELDS: dict[str, dict[str, tuple[str, int, int]]] = {
    "nozzle": {"F": ("F", 6000, 11000), "°C": ("C", 3000, 6000)},
    "speed": SPEEDS,
    "true speed": SPEEDS,
    "ambient": TEMPERATURES,
    "sheet temp": TEMPERATURES,
    "humidity": {"%": ("%", 0, 1000)},
    "wind": {"mph": ("mph", 0, 500), "m/s": ("m/s", 0, 200)},
    "bonded width": {"in": ("in", 0, 60), "mm": ("mm", 0, 1500)},
}
FOUND = {
    "nozzle": "nozzle",
    "speed": "speed",
    "true speed": "true_speed",
    "ambient": "ambient",
    "sheet temp": "sheet_temp",
    "humidity": "humidity",
    "wind": "wind",
    "bonded width": "bonded_width",
}
READINGS = {"in": ("in", 0, 20), "mm": ("mm", 0, 250)}


def load(content: bytes, **given_: Any) -> Loaded:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "crew.csv"
        path.write_bytes(content)
        return read_strips(path, defaults(**given_))


def typed(number: Fraction, comma: bool) -> str:
    """A number as somebody types it: a fraction in 1/16, or one decimal."""
    if number.denominator in (2, 4, 8, 16):
        whole, rest = divmod(abs(number), 1)
        return f"{'-' if number < 0 else ''}{f'{whole} ' if whole else ''}{rest}"
    return f"{float(number):.1f}".replace(".", "," if comma else ".")


@st.composite
def columns(
    draw: st.DrawFn, comma: bool, rows: int
) -> list[tuple[str, str, list[tuple[str, Any]]]]:
    """Columns of one strip a row: (header, field, [(cell, value)])."""
    found = []
    for name, units in FIELDS.items():
        if name not in ("nozzle", "speed") and not draw(st.booleans()):
            continue
        spelled = draw(st.sampled_from(sorted(units)))
        bare = draw(st.booleans())
        cells = []
        for _row in range(rows):
            in_cell = spelled if bare else draw(st.sampled_from(sorted(units)))
            unit, low, high = units[in_cell]
            number = Fraction(draw(st.integers(low, high)), 10)
            text = typed(number, comma) + ("" if bare else in_cell)
            cells.append((text, (number, unit)))
        form = draw(
            st.sampled_from(
                ["{name} ({unit})", "{name} [{unit}]", "{name} {unit}", "{name}_{unit}"]
            )
        )
        header = form.format(name=name, unit=spelled) if bare or draw(st.booleans()) else name
        found.append((header, name, cells))
    return found


@st.composite
def readings(draw: st.DrawFn, comma: bool) -> list[tuple[str, tuple[Fraction, str]]]:
    found = []
    for _n in range(draw(st.integers(1, 3))):
        spelled = draw(st.sampled_from(sorted(READINGS)))
        unit, low, high = READINGS[spelled]
        sixteenths = draw(st.booleans())
        number = Fraction(draw(st.integers(low, high)), 10)
        if sixteenths:
            number = Fraction(draw(st.integers(0, 31)), 16)
        found.append((f"{typed(number, comma)}{spelled}", (number, unit)))
    return found


def written(table: list[tuple[str, list[str]]], rows: int, delimiter: str, above: int) -> str:
    """A file of columns (header, cells) under some title lines."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerows([["Strips (invented)"]] * above)
    writer.writerow([header for header, _cells in table])
    writer.writerows([cells[row] for _h, cells in table] for row in range(rows))
    return out.getvalue()


def _quantity(strip: Any, name: str) -> Any:
    for part in (strip.setting, strip.conditions, strip):
        if hasattr(part, FOUND[name]):
            value = getattr(part, FOUND[name])
            return value.number, value.unit
    raise AssertionError(name)


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_any_strips_written_in_any_layout_come_back_exactly(data: st.DataObject) -> None:
    """Delimiter, unit, place of the unit, order of columns, encoding, titles, blank rows."""
    comma = data.draw(st.booleans(), label="decimal comma")
    delimiter = data.draw(st.sampled_from(";\t|" if comma else ",;\t|"), label="delimiter")
    rows = data.draw(st.integers(1, 3), label="rows")
    made = data.draw(columns(comma, rows))
    seen = [data.draw(readings(comma)) for _row in range(rows)]
    table: list[tuple[str, list[str]]] = [
        (header, [text for text, _v in cells]) for header, _n, cells in made
    ]
    # Where no other number shows a decimal comma, one column of readings would be refused.
    comma_known = not comma or any("," in text for _h, cells in table for text in cells)
    if comma_known and data.draw(st.booleans(), label="one column of readings"):
        table.append(("bleed-out", ["; ".join(text for text, _v in row) for row in seen]))
    else:
        table += [
            (f"bleed {n + 1}", [row[n][0] if n < len(row) else "" for row in seen])
            for n in range(3)
        ]
    table.append(("date", ["2026-06-01"] * rows))
    table = data.draw(st.permutations(table), label="order")
    above = data.draw(st.integers(0, 2), label="title lines")
    encoding = data.draw(
        st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]), label="encoding"
    )
    loaded = load(written(table, rows, delimiter, above).encode(encoding))
    assert [r.sentence() for r in loaded.refused] == []
    assert [number for number, _s in loaded.strips] == [above + 2 + row for row in range(rows)]
    for row, (_number, strip) in enumerate(loaded.strips):
        order = [int(header[-1]) - 1 for header, _c in table if header.startswith("bleed ")] or [
            0,
            1,
            2,
        ]
        expected = [seen[row][n][1] for n in order if n < len(seen[row])]
        assert [(r.number, r.unit) for r in strip.readings] == expected
        for _header, name, cells in made:
            assert _quantity(strip, name) == cells[row][1]


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400))
def test_no_bytes_break_it(content: bytes) -> None:
    """A refusal, or strips; never another exception."""
    _swallowed(content)


WORDS = st.sampled_from(
    [
        "date",
        "nozzle (F)",
        "speed",
        "bleed 1",
        "bond",
        "time",
        "2026-06-01",
        "6/1/2026",
        "7:15",
        "932",
        "5.5",
        "1/4",
        "4-Jan",
        "good",
        "none",
        "1,7",
        "6,5; 7",
        "=1+1",
        "\x1b[31m",
        "🙂",
        '"',
        "''",
        "1/0",
        "٣",
        "²",
        "½,¼",
        "{x}",
        "%s",
        "9" * 70,
        "0x10",
        "1e400",
        "NaN",
        "inf",
        "--",
        "31/12/9999",
        "00:00",
        "1 1 1/2",
        ",,,",
    ]
)
GRIDS = st.lists(st.lists(WORDS | st.text(max_size=12), min_size=1, max_size=7), max_size=5)


@settings(max_examples=300, deadline=None)
@given(GRIDS, st.sampled_from(",;\t|"), st.booleans())
def test_no_cells_break_it(grid: list[list[str]], delimiter: str, quoted: bool) -> None:
    """Whatever stands under known headers: each row is a strip or has a refusal."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    header = ["date", "time", "nozzle (F)", "speed", "bleed", "bond", "note"]
    writer.writerow(header)
    if quoted:
        writer.writerows(grid)
    text = out.getvalue() + ("" if quoted else "\n".join(delimiter.join(row) for row in grid))
    _swallowed(text.encode("utf-8", "replace"))


def _swallowed(content: bytes) -> None:
    try:
        loaded = load(content)
    except WeldcalError as refusal:
        assert str(refusal)
        return
    rows = {number for number, _s in loaded.strips} | {r.row for r in loaded.refused}
    assert len(rows) == loaded.rows
    assert not {number for number, _s in loaded.strips} & {r.row for r in loaded.refused}
    for refused in loaded.refused:
        assert refused.why and refused.sentence()
