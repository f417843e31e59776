"""Doubt by bracketing: worksheets of a day's welding, and a count cell by cell beside it."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.bracket import Bracketed
from weldcal.quality.coverage import minus, total
from weldcal.quality.doubt import (
    ANSWERS,
    BLEED,
    PEEL,
    PROBE,
    Check,
    Doubts,
    FailedStrip,
    Place,
    Welded,
    in_doubt,
)
from weldcal.quality.goods import fewest_points


def run(name: str, seam: str, start: float, end: float | None, at: float, on: str = "S1") -> Welded:
    """A run of the blue machine."""
    return Welded(name, "blue", on, seam, start, end, at)


def check(
    name: str, kind: str, good: bool, seam: str, start: float, end: float, at: float = 1000
) -> Check:
    """An outcome at a place, looked at in the evening unless said otherwise."""
    return Check(name, kind, good, seam, start, end, at)


def bracket(runs: list[Welded], checks: list[Check], *strips: FailedStrip) -> Doubts:
    """What every failed check puts in doubt."""
    return Bracketed(runs, checks, strips).doubts()


# Three laps of 10 m, the second welded backwards.
DAY = [run("R1", "A1", 0, 10, 100), run("R2", "A2", 10, 0, 200), run("R3", "A3", 0, 10, 300)]

# (what happens, checks, before, after, places in doubt)
WORKSHEETS = [
    (
        "a bad pull and nothing else",
        [check("P1", PEEL, False, "A2", 4, 4)],
        None,
        None,
        [("A1", 0, 10), ("A2", 0, 10), ("A3", 0, 10)],
    ),
    (
        "good pulls on either side",
        [
            check("P1", PEEL, False, "A2", 4, 4),
            check("P2", PEEL, True, "A1", 8, 8),
            check("P3", PEEL, True, "A3", 3, 3),
        ],
        "P2",
        "P3",
        [("A1", 8, 10), ("A2", 0, 10), ("A3", 0, 3)],
    ),
    (
        "the lap welded backwards: 6 m was welded before 4 m",
        [
            check("P1", PEEL, False, "A2", 4, 4),
            check("P2", PEEL, True, "A2", 6, 6),
            check("P3", PEEL, True, "A2", 1, 1),
        ],
        "P2",
        "P3",
        [("A2", 1, 6)],
    ),
    (
        "a clean walk says nothing of a cold weld",
        [check("P1", PEEL, False, "A2", 4, 4), check("W1", PROBE, True, "A2", 0, 10)],
        None,
        None,
        [("A1", 0, 10), ("A2", 0, 10), ("A3", 0, 10)],
    ),
    (
        "a void within a walk is bracketed by the walk itself",
        [check("F1", PROBE, False, "A2", 4, 5), check("W1", PROBE, True, "A2", 0, 10)],
        "W1",
        "W1",
        [("A2", 4, 5)],
    ),
    (
        "a void, and a walk of the next lap only",
        [check("F1", PROBE, False, "A2", 4, 5), check("W1", PROBE, True, "A3", 2, 10)],
        None,
        "W1",
        [("A1", 0, 10), ("A2", 0, 10), ("A3", 0, 2)],
    ),
    (
        "low bleed-out between two good readings",
        [
            check("B1", BLEED, True, "A1", 5, 5, 105),
            check("B2", BLEED, False, "A2", 8, 8, 205),
            check("B3", BLEED, True, "A2", 2, 2, 210),
        ],
        "B1",
        "B3",
        [("A1", 5, 10), ("A2", 2, 10)],
    ),
]


@pytest.mark.parametrize("sheet", WORKSHEETS, ids=[sheet[0] for sheet in WORKSHEETS])
def test_a_failure_is_bracketed_in_the_order_of_welding(sheet: tuple) -> None:
    """From the last good check that could have seen it to the first good one after."""
    _what, checks, before, after, places = sheet
    found = bracket(DAY, checks)
    (doubt,) = found.doubts
    assert (doubt.before, doubt.after) == (before, after)
    assert list(doubt.places) == [Place(*place) for place in places]
    assert doubt.length_m == pytest.approx(sum(end - start for _seam, start, end in places))
    assert found.unplaced == ()


def test_each_machine_and_go_ahead_is_a_line_of_its_own() -> None:
    """A failure on one says nothing of what the other welded."""
    other = Welded("R9", "red", "S2", "A9", 0, 10, 150)
    doubts = bracket([*DAY, other], [check("P1", PEEL, False, "A9", 5, 5)]).doubts
    assert [(d.machine, d.places) for d in doubts] == [("red", (Place("A9", 0, 10),))]


def test_a_place_welded_twice_is_judged_by_the_later_weld() -> None:
    """Unless the check was made in between."""
    runs = [run("R1", "A1", 0, 10, 100, "S1"), run("R2", "A1", 4, 6, 500, "S2")]
    late = bracket(runs, [check("P1", PEEL, False, "A1", 5, 5, 900)]).doubts
    early = bracket(runs, [check("P1", PEEL, False, "A1", 5, 5, 300)]).doubts
    assert [d.go_ahead for d in late] == ["S2"]
    assert [d.go_ahead for d in early] == ["S1"]


def test_a_lap_welded_twice_on_one_go_ahead_is_in_doubt_once() -> None:
    """Stretches of it that overlap are one; the length is that of the lap, not of the welding."""
    again = [*DAY, run("R4", "A1", 4, 12, 400)]
    (doubt,) = bracket(again, [check("B1", BLEED, False, "A3", 5, 5, 305)]).doubts
    assert doubt.places == (Place("A1", 0, 12), Place("A2", 0, 10), Place("A3", 0, 10))
    assert doubt.length_m == pytest.approx(32)
    assert [c.place for c in doubt.clears if c.place.seam == "A1"] == [
        Place("A1", 0, 10),  # along what was welded before it
        Place("A1", 4, 12),  # and after
    ]


def test_a_strip_that_fell_short_doubts_its_line_from_the_beginning() -> None:
    """On to the first good pull, also one at the very beginning, and on no other line."""
    other = Welded("R9", "red", "S2", "A9", 0, 10, 150)
    strip = FailedStrip("P1", "S1")
    (doubt,) = bracket([*DAY, other], [], strip).doubts
    assert [place.seam for place in doubt.places] == ["A1", "A2", "A3"]
    assert (doubt.failure, doubt.kind, doubt.before, doubt.after) == ("P1", PEEL, None, None)
    assert doubt.failed_m == 0
    (doubt,) = bracket(DAY, [check("P2", PEEL, True, "A2", 4, 4)], strip).doubts
    assert (doubt.after, doubt.places) == ("P2", (Place("A1", 0, 10), Place("A2", 4, 10)))
    at_once = bracket(DAY, [check("P2", PEEL, True, "A1", 0, 0)], strip)
    assert at_once.doubts == ()  # no lap is in doubt, and a strip is no place of a lap


def test_a_check_of_what_nobody_is_known_to_have_welded_is_told() -> None:
    """Seam, place or time without a run: kept and named."""
    checks = [
        check("P1", PEEL, False, "Z1", 5, 5),
        check("P2", PEEL, False, "A1", 25, 25),
        check("B1", BLEED, False, "A1", 5, 5, 50),
    ]
    assert bracket(DAY, checks).unplaced == ("P1", "P2", "B1")
    assert bracket([], []).doubts == ()


def test_a_run_under_way_reaches_as_far_as_it_was_checked() -> None:
    """A bleed check 6 m along it is on it."""
    found = bracket([run("R1", "A1", 0, None, 100)], [check("B1", BLEED, False, "A1", 6, 6, 150)])
    assert found.doubts[0].places == (Place("A1", 0, 6),)


def test_a_cold_weld_is_narrowed_by_cuts_and_an_open_lap_by_the_probe() -> None:
    """Half way on either side of the failure; every stretch of the bracket again."""
    cold = bracket(DAY, [check("P1", PEEL, False, "A2", 4, 4)]).doubts[0]
    assert [(c.code, c.place) for c in cold.clears] == [
        ("cut_here", Place("A1", 8, 8)),
        ("cut_here", Place("A3", 3, 3)),
    ]
    open_ = bracket(DAY, [check("F1", PROBE, False, "A2", 4, 5)]).doubts[0]
    assert [(c.code, c.place.seam) for c in open_.clears] == [
        ("probe_again", "A1"),
        ("probe_again", "A2"),
        ("probe_again", "A2"),
        ("probe_again", "A3"),
    ]


def test_a_bleed_check_that_failed_is_looked_at_before_anything_is_cut() -> None:
    """Looking along the edge destroys nothing, and the bleed-out is there to be read again."""
    thin = bracket(DAY, [check("B1", BLEED, False, "A2", 4, 4)]).doubts[0]
    assert {c.code for c in thin.clears} == {"look_again"}


def test_several_cold_samples_ask_for_the_fewest_cuts() -> None:
    """Four cold pulls on one go-ahead leave five stretches: no more cuts than that."""
    cold = [check(f"P{n}", PEEL, False, "A2", at, at) for n, at in enumerate((2, 4, 6, 8))]
    found = bracket(DAY, cold).doubts
    cuts = {c.place for d in found for c in d.clears if c.code == "cut_here"}
    assert len(cuts) <= 2


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 10)), max_size=8))
def test_the_fewest_points_hit_every_stretch(made: list[tuple[int, int]]) -> None:
    """Each stretch holds one; no set of fewer does (by trying all of them on a grid)."""
    stretches = [(float(a), float(a + n)) for a, n in made]
    points = fewest_points(stretches)
    assert all(any(a < p < b for p in points) for a, b in stretches)
    grid = [x + 0.5 for x in range(41)]  # whole ends: every inner point is as good as one of these
    fewer = itertools.combinations(grid, max(0, len(points) - 1)) if len(points) <= 3 else ()
    assert not points or not any(
        all(any(a < p < b for p in some) for a, b in stretches) for some in fewer
    )


def test_doubts_of_one_seam_are_merged() -> None:
    """What two failures put in doubt is not counted twice."""
    checks = [check("P1", PEEL, False, "A2", 4, 4), check("P2", PEEL, False, "A3", 4, 4)]
    merged = in_doubt(bracket(DAY, checks).doubts)
    assert merged == {"A1": [(0, 10)], "A2": [(0, 10)], "A3": [(0, 10)]}


SEAMS = ["A1", "A2", "A3"]
RUNS = st.permutations(SEAMS).flatmap(
    lambda order: st.tuples(*[st.booleans() for _ in order]).map(
        lambda turned: [
            run(f"R{n}", seam, *((8, 0) if back else (0, 8)), 100.0 * n)
            for n, (seam, back) in enumerate(zip(order, turned, strict=True))
        ]
    )
)
CHECKS = st.lists(
    st.tuples(
        st.sampled_from([PROBE, BLEED, PEEL]),
        st.booleans(),
        st.sampled_from(SEAMS),
        st.integers(0, 7),
        st.integers(1, 4),
    ),
    max_size=8,
).map(
    lambda rows: [
        check(f"C{n}", kind, good, seam, start, min(8, start + size))
        for n, (kind, good, seam, start, size) in enumerate(rows)
    ]
)


@given(RUNS, CHECKS)
def test_brackets_are_those_counted_cell_by_cell(runs: list[Welded], checks: list[Check]) -> None:
    """The line as 24 cells of a metre: step back and on from each failure until a good cell."""
    cells = []
    for one in runs:
        assert one.end_m is not None
        forward = one.end_m > one.start_m
        cells += [(one.seam, n) for n in (range(8) if forward else range(7, -1, -1))]

    def of(c: Check) -> set[tuple[str, int]]:
        return {(c.seam, n) for n in range(int(c.start_m), int(c.end_m))}

    failed = {cell for c in checks if not c.good for cell in of(c)}
    found = {doubt.failure: doubt for doubt in bracket(runs, checks).doubts}
    assert set(found) == {c.id for c in checks if not c.good}
    for c in checks:
        if c.good:
            continue
        good = {x for g in checks if g.good and g.kind in ANSWERS[c.kind] for x in of(g)} - failed
        at = [n for n, cell in enumerate(cells) if cell in of(c)]
        low, high = min(at), max(at)
        while low > 0 and cells[low - 1] not in good:
            low -= 1
        while high < len(cells) - 1 and cells[high + 1] not in good:
            high += 1
        expected = set(cells[low : high + 1])
        places = {
            (p.seam, n) for p in found[c.id].places for n in range(round(p.start_m), round(p.end_m))
        }
        assert places == expected
        assert found[c.id].length_m == pytest.approx(len(expected))


@given(RUNS, CHECKS, st.integers(0, 7), st.sampled_from(SEAMS))
def test_one_more_good_pull_never_widens_a_doubt(
    runs: list[Welded], checks: list[Check], at: int, seam: str
) -> None:
    """A pull answers every failure."""
    more = [*checks, check("P9", PEEL, True, seam, at, at + 1)]

    def length(made: list[Check]) -> float:
        return sum(total(stretches) for stretches in in_doubt(bracket(runs, made).doubts).values())

    assert length(more) <= length(checks) + 1e-9


@given(RUNS, CHECKS, st.sampled_from(SEAMS), st.sampled_from([PROBE, BLEED, PEEL]), st.booleans())
def test_a_lap_welded_again_is_as_doubtful_until_the_new_weld_is_shown_good(
    runs: list[Welded], checks: list[Check], seam: str, kind: str, good: bool
) -> None:
    """A weld over a weld clears nothing by itself; a good check of it clears just what it welded."""
    before = in_doubt(bracket(runs, checks).doubts)
    over = [*runs, run("R9", seam, 2, 6, 5000, "S9")]
    seen = [*checks, check("P9", kind, True, seam, 3, 3, 6000)] if good else checks
    after = in_doubt(bracket(over, seen).doubts)
    answered = {c.kind for c in checks if not c.good and good and kind in ANSWERS[c.kind]}
    if {c.kind for c in checks if not c.good} <= answered:
        left = {key: minus(parts, [(2, 6)] if key == seam else []) for key, parts in before.items()}
        assert after == {key: parts for key, parts in left.items() if parts}
    if not answered:
        assert after == before
