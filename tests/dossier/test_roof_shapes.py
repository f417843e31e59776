"""Edges of rectangles and marks placed on a roof, as laws: counted by unit squares, no two on one spot."""

from __future__ import annotations

import itertools
import math

from hypothesis import given
from hypothesis import strategies as st

from tests.dossier.drawings import area_shared
from weldcal.reports.dossier.outline import edges
from weldcal.reports.dossier.placing import SIGN, Spot, TakenBoxes, around, place, shared

cells = st.lists(
    st.tuples(*[st.integers(0, 6)] * 2, *[st.integers(1, 4)] * 2), min_size=1, max_size=5
)


@given(cells)
def test_the_edge_of_rectangles_is_the_edge_of_their_cells(found: list[tuple[int, ...]]) -> None:
    """By counting unit squares: every side between a filled and an empty one, whichever way they overlap."""
    filled = {
        (x, y) for x0, y0, w, h in found for x in range(x0, x0 + w) for y in range(y0, y0 + h)
    }
    sides = sum(
        (x + dx, y + dy) not in filled
        for x, y in filled
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))
    )
    drawn = edges([(x, y, x + w, y + h) for x, y, w, h in found])
    assert sum(edge.length_m for edge in drawn) == sides
    for edge in drawn:
        x, y = (edge.a[0] + edge.b[0]) / 2, (edge.a[1] + edge.b[1]) / 2
        near, far = [(x + s * edge.out[0] / 4, y + s * edge.out[1] / 4) for s in (-1, 1)]
        assert _cell(near) in filled
        assert _cell(far) not in filled


def _cell(at: tuple[float, float]) -> tuple[int, int]:
    """The unit square a point lies in; the middle of an edge may lie on a line between two."""
    return math.floor(at[0] - 1e-9), math.floor(at[1] - 1e-9)


spots = st.lists(
    st.tuples(st.sampled_from(["open", "mended", "sample"]), st.floats(0, 600), st.floats(0, 700)),
    max_size=110,
)


@given(spots)
def test_marks_that_are_placed_share_no_area(found: list[tuple[str, float, float]]) -> None:
    """Wherever they belong, all at one point too; each keeps the point it stands for."""
    made = [
        Spot(w, (f"F{n}",), (f"s{n}",), (x, y), ((x, y), (x, y)))
        for n, (w, x, y) in enumerate(found)
    ]
    placed = place(made, TakenBoxes(), TakenBoxes(), (-20, -20, 660, 720))
    assert [one.spot for one in placed] == made
    boxes = [(n, box) for n, one in enumerate(placed) for box in (around(one.sign, SIGN), one.name)]
    for (n, a), (m, b) in itertools.combinations(boxes, 2):
        assert n == m or area_shared(a, b) == 0


@given(spots, st.integers(1, 20))
def test_shared_marks_stand_for_all(found: list[tuple[str, float, float]], most: int) -> None:
    """Nothing is lost or told twice, whatever is joined; what is open is never joined with what is mended."""
    made = [
        Spot(w, (f"F{n}",), (f"s{n % 3}",), (x, y), ((x, y), (x, y)))
        for n, (w, x, y) in enumerate(found)
    ]
    whats = {f"F{n}": w for n, (w, _x, _y) in enumerate(found)}
    joined = shared(made, most)
    names = [name for spot in joined for name in spot.names]
    assert sorted(names) == sorted(whats)
    assert all({whats[name] for name in spot.names} == {spot.what} for spot in joined)
