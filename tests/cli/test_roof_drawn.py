"""The roof drawn on a screen: states by shape, to scale, on any width."""

from __future__ import annotations

import os
import re
import sys
from typing import Any

import pexpect
import pytest


@pytest.fixture
def mixed(laid: Any) -> Any:
    """One seam in each state."""
    weld = "seam start {0} --nozzle 932 --speed 5.5\n08:10 seam finish {0} --to 60"
    for name in ("C2", "C3", "C4", "C5", "C6"):
        laid.day(f"08:00 {weld.format(name)}")
    laid.day("""
        08:20 seam start C1 --nozzle 932 --speed 5.5
        10:00 probe C3 0-30 --by BO
        10:10 probe C4 0-60 --void 20+2in --by BO
        10:20 probe C5 0-60 --void 20+2in --by BO
        10:30 probe C6 0-60 --by BO
        11:00 mend F2 --method patch --by AR
        12:00 roof
    """)
    return laid


SHAPES = {"C1": ">", "C2": "?", "C3": "%", "C4": "X", "C5": "o", "C6": "="}


def drawing(out: str) -> list[str]:
    """The lines of the drawing."""
    return [line for line in out.splitlines() if line.startswith("|")]


def test_the_drawing_tells_every_state_by_its_shape(mixed: Any) -> None:
    """Without colour; rows from the high edge down, as the roof lies."""
    out = mixed.ok("roof").out
    laps = [line[1:] for line in drawing(out) if len(line.replace(" ", "")) > 50]
    assert [max(set(line), key=line.count) for line in laps] == ["=", "o", "X", "%", "?", ">"]
    table = {row.split("\t")[1]: row.split("\t")[0] for row in out.splitlines() if "\t" in row}
    assert {name: table[name] for name in SHAPES} == SHAPES
    legend = out.split("welded, ")[1]
    for shape, name in zip(
        ">?%Xo=",
        [
            "in work",
            "unprobed",
            "probed in part",
            "open findings",
            "mended and unprobed",
            "probed with no open finding",
        ],
        strict=True,
    ):
        assert f"{shape} {name} " in legend


def test_the_drawing_is_to_scale(laid: Any) -> None:
    """60 ft by 20 ft on signs twice as high as wide: 6 times as many across as down."""
    drawn = drawing(laid.ok("roof").out)
    across, down = max(map(len, drawn)) - 2, len(drawn) - 1
    assert across == pytest.approx(57, abs=1)
    height = 6 * (39.4 / 12 - 75 / 304.8) + (20 - 6 * (39.4 - 75 / 25.4) / 12)
    assert down == pytest.approx(57 * height / 60 / 2, abs=1.5)


def on_screen(book: Any, line: str, columns: int) -> list[str]:
    """What a real terminal of that width gets, colours taken off."""
    code = "from weldcal.cli.main import run; run()"
    child = pexpect.spawn(
        sys.executable,
        ["-c", code, "--book", str(book.book), *line.split()],
        env={**os.environ, "TERM": "xterm", "COLUMNS": ""},
        encoding="utf-8",
        dimensions=(200, columns),
        timeout=30,
    )
    out = child.read()
    child.wait()
    assert child.exitstatus == 0
    return re.sub(r"\x1b\[[0-9;]*m", "", out).splitlines()


@pytest.mark.parametrize("columns", [40, 60, 80])
def test_the_roof_fits_the_screen(mixed: Any, columns: int) -> None:
    """No line longer than the terminal is wide, and every state still there."""
    lines = on_screen(mixed, "roof", columns)
    assert max(map(len, lines)) <= columns
    drawn = "".join(drawing("\n".join(lines)))
    assert set(">?%Xo=") <= set(drawn)


def test_the_roof_lists_what_needs_a_person_next(mixed: Any) -> None:
    """Open findings, mends not probed again, what is unprobed, open warnings."""
    out = " ".join(mixed.ok("roof").out.split())
    assert "open: F1" in out
    assert "probe again: F2" in out
    assert "unprobed 30–60 ft" in out
    assert "Open warning: R1 on seam C2, welded with no go-ahead" in out


def test_a_roof_as_json_is_one_document(mixed: Any) -> None:
    """No drawing in it."""
    names = [seam["name"] for seam in mixed.ok("roof --json").json["seams"]]
    assert {"C1", "C1.1t", "C-d1"} <= set(names)
