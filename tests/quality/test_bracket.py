"""Cuts beside failures on a line of several laps, welded either way: against every interval by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.quality.test_doubt import RUNS, SEAMS, check
from weldcal.quality.bracket import Bracketed
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.quality.doubt import BLEED, PEEL, PROBE, Check, Cut, Doubt, FailedStrip, Place, Welded

MARGIN, REACH = 0.25, 0.5
PULLS = st.lists(
    st.tuples(st.booleans(), st.sampled_from(SEAMS), st.integers(1, 15)), max_size=8, unique=True
).map(
    lambda rows: [
        check(f"P{n}", PEEL, good, seam, at / 2, at / 2)
        for n, (good, seam, at) in enumerate(rows)
        if not any(row[1:] == (seam, at) for row in rows[:n])
    ]
)


def on_line(runs: list[Welded], seam: str, at_m: float) -> float:
    """How much was welded before a place: three laps of 8 m end to end, each from either end."""
    n = next(n for n, one in enumerate(runs) if one.seam == seam)
    return 8.0 * n + (at_m if runs[n].start_m == 0 else 8.0 - at_m)


def beside(runs: list[Welded], pulls: list[Check]) -> list[tuple[float, float, str]]:
    """Where on the line a cut would end a doubt: on each side of a failure with room for one.

    There is room where the next good pull, or the line's end, is further off than mend and reach.
    """
    good = [0.0, 24.0, *(on_line(runs, p.seam, p.start_m) for p in pulls if p.good)]
    found = []
    for pull in pulls:
        if not pull.good:
            at = on_line(runs, pull.seam, pull.start_m)
            before = max(g for g in good if g <= at)
            after = min(g for g in good if g >= at)
            if at - before > MARGIN + REACH + SAME_PLACE_M:
                found.append((at - MARGIN - REACH, at - MARGIN, pull.id))
            if after - at > MARGIN + REACH + SAME_PLACE_M:
                found.append((at + MARGIN, at + MARGIN + REACH, pull.id))
    return found


def apart(stretches: list[tuple[float, float, str]]) -> int:
    """How many of them no two of which share a place: so many cuts it takes at the least."""
    count, end = 0, -1.0
    for low, high, _name in sorted(stretches, key=lambda one: one[1]):
        if low > end + 1e-9:
            count, end = count + 1, high
    return count


@given(RUNS, PULLS)
def test_the_fewest_cuts_end_every_doubt_beside_its_failure(
    runs: list[Welded], pulls: list[Check]
) -> None:
    """Every side of every failure has a cut, which names it; no fewer would do."""
    names = {p.id for p in pulls if not p.good}
    cuts = Bracketed(runs, pulls).least_cuts(names, MARGIN, REACH)
    wanted = beside(runs, pulls)
    assert len(cuts) == apart(wanted)
    at = [(on_line(runs, cut.place.seam, cut.place.start_m), cut.clears) for cut in cuts]
    for low, high, name in wanted:
        assert any(low - 1e-6 <= a <= high + 1e-6 and name in clears for a, clears in at)
    assert {name for cut in cuts for name in cut.clears} == {name for *_ends, name in wanted}
    assert not any(cut.drawn or cut.place.start_m != cut.place.end_m for cut in cuts)


@given(RUNS, st.sampled_from(SEAMS), st.integers(8, 24), st.sampled_from(SEAMS), st.integers(0, 32))
def test_a_place_drawn_for_a_sample_is_cut_where_it_serves(
    runs: list[Welded], seam: str, at: int, drawn_on: str, drawn_at: int
) -> None:
    """Of a failure 2 to 6 m along its lap: a drawn place a quarter to three quarters of a metre off."""
    failed = check("P1", PEEL, False, seam, at / 4, at / 4)
    place = (drawn_on, drawn_at / 4)
    cuts = Bracketed(runs, [failed]).least_cuts({"P1"}, MARGIN, REACH, [place])
    off = abs(on_line(runs, *place) - on_line(runs, seam, at / 4))
    serves = MARGIN <= off <= MARGIN + REACH
    taken = [(cut.place.seam, cut.place.start_m) for cut in cuts if cut.drawn]
    assert len(cuts) == 2
    assert taken == ([place] if serves else [])


def test_a_cut_between_two_failures_serves_both() -> None:
    """Cold at 3 and at 4.2 m of 8 m: cuts 0.25 to 0.75 m beside each.

    Before the first from 2.25 to 2.75, the middle 2.5 m. Between, 3.25 to 3.75 of the one and
    3.45 to 3.95 of the other: both from 3.45 to 3.75, the middle 3.6 m. Behind, 4.45 to 4.95: 4.7 m.
    """
    runs = [Welded("R1", "blue", "S1", "A1", 0.0, 8.0, 100.0)]
    pulls = [check("P1", PEEL, False, "A1", 3, 3), check("P2", PEEL, False, "A1", 4.2, 4.2)]
    cuts = Bracketed(runs, pulls).least_cuts({"P1", "P2"}, MARGIN, REACH)
    found = [(round(cut.place.start_m, 6), cut.clears) for cut in cuts]
    assert found == [(2.5, ("P1",)), (3.6, ("P1", "P2")), (4.7, ("P2",))]
    alone = Bracketed(runs, pulls).least_cuts({"P2"}, MARGIN, REACH)
    assert [cut.clears for cut in alone] == [("P2",), ("P2",)]


def test_what_a_probe_answers_is_not_cut() -> None:
    """An open lap is found by the probe, thin bleed-out by a cut."""
    runs = [Welded("R1", "blue", "S1", "A1", 0.0, 8.0, 100.0)]
    checks = [check("W1", PROBE, False, "A1", 2, 2), check("B1", BLEED, False, "A1", 6, 6)]
    cuts = Bracketed(runs, checks).least_cuts({"W1", "B1"}, MARGIN, REACH)
    assert {cut.clears for cut in cuts} == {("B1",)}


def test_a_strip_that_failed_is_cut_beside_at_the_lines_beginning() -> None:
    """The strip lies before the line: only behind it can a cut lie, 0.25 to 0.75 m along."""
    runs = [Welded("R1", "blue", "S1", "A1", 8.0, 0.0, 100.0)]
    line = Bracketed(runs, [], [FailedStrip("P1", "S1")])
    assert line.least_cuts({"P1"}, MARGIN, REACH) == (
        Cut(Place("A1", 7.5, 7.5), ("P1",), False, ("P1",)),
    )
    (doubt,) = line.doubts().doubts
    assert (doubt.places, doubt.before, doubt.failed_m) == ((Place("A1", 0.0, 8.0),), None, 0.0)


@pytest.mark.parametrize(("length", "beyond"), [(2.0, False), (2.00005, False), (2.0002, True)])
def test_a_doubt_reaches_beyond_its_failure_by_more_than_one_place(
    length: float, beyond: bool
) -> None:
    """Two places nearer than a tenth of a millimetre are one."""
    doubt = Doubt("blue", "S1", "P1", PEEL, (), None, None, length, 2.0, ())
    assert doubt.beyond is beyond
