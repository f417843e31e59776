"""The roof in letters, sign for sign: 58 across are 57 m here, and a row is 2 m."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from weldcal.quality.seam import (
    IN_PART,
    IN_WORK,
    MENDED,
    NOT_STARTED,
    OPEN,
    PROBED,
    UNPROBED,
    SeamState,
)
from weldcal.quality.sheets import Flag, LapToWeld, RoofLayout
from weldcal.reports import plan
from weldcal.views.walk import Stop, WalkingOrder


def seam(name: str, *place: float, state: str = PROBED, area: str = "A") -> Any:
    """A seam as the roof has it, from place to place, m."""
    x0, y0, x1, y1 = place
    row = {"area": area, "x0_m": x0, "y0_m": y0, "x1_m": x1, "y1_m": y1, "length_m": 1.0}
    return {"name": name, "seam": row, "state": SeamState(state)}


def grid(lines: list[str]) -> list[str]:
    """The rows of the drawing."""
    return [line[1:] for line in lines if line.startswith("|")]


def test_laps_are_rows_of_their_states_signs() -> None:
    """The upper lap at 4 m is two rows above the lower; y grows upwards."""
    lines = plan.page([seam("A1", 0, 0, 57, 0), seam("A2", 0, 4, 28, 4, state=UNPROBED)], "si")
    assert grid(lines) == ["?" * 29, "", "=" * 58]
    assert lines[3:] == ["10 signs across are 10 m; shapes as below.", ""]
    feet = plan.page([seam("A1", 0, 0, 57 * 0.3048, 0)], "us")
    assert feet[2] == "10 signs across are 10 ft; shapes as below."


def test_a_lap_aslant_and_an_upright_one() -> None:
    """A sign is about twice as high as wide: 8 m up are four rows."""
    lines = plan.page(
        [seam("A1", 0, 0, 57, 0), seam("A2", 0, 0, 0, 8), seam("A3", 49, 0, 57, 8)], "si"
    )
    rows = grid(lines)
    assert len(rows) == 5
    assert [row[0] for row in rows] == ["="] * 5
    assert [row.rstrip()[-1] for row in rows] == ["="] * 5
    assert [len(row) for row in rows] == [58, 57, 55, 53, 58]


def test_what_needs_a_person_is_drawn_on_top() -> None:
    """Open over mended over unprobed over part over work over not begun over probed."""
    states = [PROBED, NOT_STARTED, IN_WORK, IN_PART, UNPROBED, MENDED, OPEN]
    for low, high in pairwise(states):
        for pair in ((low, high), (high, low)):
            lines = plan.page(
                [seam(f"A{n}", 0, 0, 57, 0, state=one) for n, one in enumerate(pair)], "si"
            )
            alone = plan.page([seam("A1", 0, 0, 57, 0, state=high)], "si")
            assert grid(lines) == grid(alone)


def test_a_high_roof_is_no_higher_than_forty_rows() -> None:
    """78 m a metre wide: 39 steps of 2 m; 100 m are still forty rows."""
    assert len(grid(plan.page([seam("A1", 0, 0, 0, 78)], "si"))) == 40
    assert len(grid(plan.page([seam("A1", 0, 0, 0, 100)], "si"))) == 40
    # a point is drawn as a tenth of a metre each way: 57 / 2 steps up
    assert len(grid(plan.page([seam("A1", 5, 5, 5, 5)], "si"))) == 30


def test_plies_are_drawn_one_below_the_other() -> None:
    """Each with its number; one alone has none; a seam without a place is not drawn."""
    two = [seam("A1", 0, 0, 57, 0), seam("K1", 0, 0, 57, 0, area="K", state=UNPROBED)]
    lines = plan.page(two, "si", {"k": 2})
    assert lines[0] == "Ply 1:"
    assert lines[1:3] == ["|", "|" + "=" * 58]
    at = lines.index("Ply 2:")
    assert lines[at + 2] == "|" + "?" * 58
    assert not any("Ply" in line for line in plan.page(two[:1], "si", {"k": 2}))
    lost = seam("A9", 0, 0, 1, 0)
    lost["seam"]["x0_m"] = None
    assert plan.page([lost], "si") == []


def test_a_walk_numbers_its_stops_where_there_is_room() -> None:
    """At its place, else a little to the left or right; a third has no room; the spot is an @."""
    stops = (
        Stop(1, "A1", (20.0, 0.0), (20.0, 0.0)),
        Stop(2, "A1", (20.0, 0.0), (20.0, 0.0)),
        Stop(12, "A1", (57.0, 0.0), (57.0, 0.0)),
        Stop(9, "A1", (0.0, 4.0), (0.0, 4.0)),
    )
    walk = WalkingOrder(stops, (0.0, 0.0), (40.0, 4.0), ())
    laps = [seam("A1", 0, 0, 57, 0), seam("A2", 0, 4, 57, 4)]
    rows = grid(plan.page(laps, "si", None, walk))
    assert rows[0] == "9" + "=" * 39 + "@" + "=" * 17
    assert rows[2] == "=" * 20 + "1=2" + "=" * 33 + "12"
    said = plan.page(laps, "si", None, walk)[3]
    assert said.startswith("10 signs across are 10 m; numbers as below. @: where water was seen.")
    other = plan.page(laps, "si", None, WalkingOrder(stops, (0.0, 0.0), None, ()))
    assert other[3] == "10 signs across are 10 m; numbers as below."
    assert (
        plan.page(
            laps, "si", None, WalkingOrder((Stop(1, "B1", (0, 0), (1, 0)),), (0.0, 0.0), None, ())
        )
        == []
    )


def laid(*flags: Flag, **said: Any) -> RoofLayout:
    """A layout of one row and one lap, with what a person should look at."""
    laps = (LapToWeld("A1", "side lap", "A", (0.0, 1.0), (10.0, 1.0), said.pop("long", 10.0)),)
    known: dict[str, Any] = {"rows": (), "laps": laps, "t_joints": (), "flags": flags}
    known |= {"covered_m2": 0.0, "rolls": 2, "lap_m": 60.0, "detail_m": 3.0}
    return RoofLayout(**known | said)


def test_a_layout_is_told_with_its_totals_and_hours() -> None:
    """60 m at 2 m/min are 30 minutes; without a speed no hours."""
    lines = list(plan.layout(laid(), 2.0, "si"))
    assert lines == [
        "0 rows of sheet, 2 rolls, 60 m of lap to weld by machine, 3 m of details by hand.",
        "At 2.00 m/min: 0.5 hours of travel alone, without set-up, stops or hand work.",
        "- A1: side lap, 10 m, (0 m, 1 m) to (10 m, 1 m)",
    ]
    assert len(list(plan.layout(laid(), None, "si"))) == 2
    assert "side lap, length not given, " in list(plan.layout(laid(long=None), None, "si"))[1]
    document = plan.layout_document(laid(), 2.0)
    assert (document["weld_hours"], document["rolls"]) == (0.5, 2)
    assert plan.layout_document(laid(), None)["weld_hours"] is None


@pytest.mark.parametrize(
    ("code", "values", "said"),
    [
        ("stagger_too_long", {"stagger_m": 3.0}, "a stagger of 3 m leaves the end laps"),
        (
            "near_below",
            {"n": 1, "lap": "K1", "below": "A1", "apart_m": 0.1, "least_m": 0.15},
            "1 lap lies nearer to a lap of the ply below than the limit: K1 is 0.1 m from A1, least 0.15 m",
        ),
        ("against_water", {"area": "A", "slope": "y-"}, "on A water runs to y-, against the laps"),
        ("surface_not_said", {}, "nobody said what the sheet's face is"),
        (
            "outside",
            {"kind": "drain", "x_m": 3.0, "y_m": 4.0},
            "drain at 3 m, 4 m lies outside the roof",
        ),
        (
            "end_laps_near",
            {"lap": "A1.1", "other": "A2.1", "apart_m": 0.3},
            "end laps A1.1 and A2.1 lie only 0.3 m apart in neighbouring rows",
        ),
        ("short_piece", {"row": "A3", "length_m": 0.5}, "row A3 has a piece of 0.5 m"),
        (
            "first_row_cut",
            {"row": "A1", "width_m": 0.7},
            "row A1 is cut to 700.0 mm, as wide as the last",
        ),
        (
            "first_row_step",
            {"row": "A1", "width_m": 0.7},
            "row A1 is cut to 700.0 mm, so that no row is narrow at a step",
        ),
        (
            "narrow_at_step",
            {"row": "A4", "width_m": 0.3},
            "row A4 is only 300.0 mm wide at a step of the outline",
        ),
        (
            "first_row_offset",
            {"row": "K1", "width_m": 0.5},
            "row K1 is cut to 500.0 mm, so that its laps keep off those of the ply below",
        ),
        (
            "narrow_row",
            {"row": "K9", "width_m": 0.2},
            "row K9 is only 200.0 mm wide, so that the laps of this ply keep off",
        ),
    ],
)
def test_what_to_look_at_in_a_layout(code: str, values: Any, said: str) -> None:
    """Each with its own sentence and numbers."""
    (look,) = list(plan.layout(laid(Flag(code, values)), None, "si"))[2:]
    assert look.startswith("LOOK: ")
    assert said in look
