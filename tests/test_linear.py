"""Tables and roofs as sentences for a screen reader, word for word."""

from __future__ import annotations

from typing import Any

import pytest

from weldcal.quality.seam import OPEN, PROBED, SeamState, ToProbe
from weldcal.reports import linear


def test_a_row_is_a_sentence_of_its_headings_and_cells() -> None:
    """Empty cells and dashes are left out; a cell without a heading stands alone."""
    assert linear.row(["Seam", "State", ""], ["A1", "open", "X"]) == "Seam: A1; State: open; X"
    assert linear.row(["Seam", "State", "To do"], ["A1", "", "–"]) == "Seam: A1"


def test_a_strip_tells_its_verdict_first_and_its_marks_last() -> None:
    """Without marks it ends with the pull."""
    cells = {
        "name": "S1",
        "seen": "07:00",
        "machine": "blue",
        "sheet": "base",
        "nozzle": "932 °F",
        "speed": "5.5 ft/min",
        "at": "70 °F",
        "bleed": "1/4",
        "bubbling": "none",
        "bond": "good",
        "verdict": "go-ahead",
    }
    plain = linear.strip({**cells, "marks": ""})
    assert plain.startswith("Strip S1: go-ahead; seen 07:00; machine blue, sheet base, nozzle")
    assert plain.endswith("bleed-out 1/4, bubbling none, pull good")
    assert linear.strip({**cells, "marks": "late"}) == f"{plain}; marks: late"


def seam(name: str, state: SeamState, *place: float, **said: Any) -> Any:
    x0, y0, x1, y1 = place or (None,) * 4
    row = {"area": said.get("area"), "length_m": said.get("length", 10.0)}
    row |= {"x0_m": x0, "y0_m": y0, "x1_m": x1, "y1_m": y1}
    found = {"name": name, "seam": row, "state": state, "hidden": said.get("hidden", [])}
    return {**found, "flags": said.get("flags", [])}


def test_a_roof_is_told_area_by_area() -> None:
    """Each with its seams and their length; what lies in none comes as it is listed."""
    done = SeamState(PROBED, welded_m=10.0)
    lines = linear.roof(
        [
            seam("A1", done, 0, 1, 10, 1, area="A"),
            seam("X", done, length=None),
            seam("A2", SeamState(PROBED, welded_m=4.0), 3, 2, 3, 2, area="A", flags=["late"]),
        ],
        "si",
    )
    assert lines == [
        "Area A: 2 seams, 20 m of lap.",
        "Seam A1: probed with no open finding, 10 m welded; lies from x 0 m, y 1 m to x 10 m, y 1 m",
        "Seam A2: probed with no open finding, 4 m of 10 m welded; marked late; lies at x 3 m, y 2 m",
        "Seam X: probed with no open finding, 10 m welded",
    ]


@pytest.mark.parametrize(
    ("hidden", "probing"),
    [
        ([], "probe 2–6 m"),
        ([(0.0, 3.0)], "open up, hidden unprobed 2–3 m, probe 3–6 m"),
        ([(0.0, 9.0)], "open up, hidden unprobed 2–6 m"),
    ],
)
def test_what_is_to_do_on_a_seam_is_said(hidden: Any, probing: str) -> None:
    """Mend, probe again, open up what is hidden, probe the rest."""
    again = (ToProbe(finding="F2", stretches=((1.0, 2.0),)),)
    state = SeamState(OPEN, open=("F1",), again=again, unprobed=((2.0, 6.0),), welded_m=10.0)
    (line,) = linear.roof([seam("A1", state, hidden=hidden)], "si")
    assert line.endswith(f"to do: mend F1, probe again 1–2 m for F2, {probing}")
