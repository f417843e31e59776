"""The search order for a leak: points that add up, and laws of the order."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from weldcal.quality.leak import (
    AROUND_M,
    CAUTIONS,
    INSIDE,
    ON_ROOF,
    ON_THE_WAY,
    Candidate,
    LapFacts,
    Weights,
    nearest_point,
    places_of,
    search,
)


def seam(name: str, y: float, *against: str) -> Candidate:
    """A lap of 20 m along x."""
    return Candidate(name, (0.0, y), (20.0, y), frozenset(against))


def order(found: object) -> list[str]:
    """Names as ranked."""
    return [suspect.name for suspect in found.order]  # type: ignore[attr-defined]


def test_the_nearest_lap_comes_first_where_nothing_is_known() -> None:
    """And it is called an order, not a cause."""
    found = search((5, 0), [seam("A3", 3), seam("A1", 1), seam("A2", 2)])
    assert order(found) == ["A1", "A2", "A3"]
    assert found.cautions == CAUTIONS == ("order_not_cause", "water_travels")
    assert found.asks == ("where_seen", "slope")


@pytest.mark.parametrize(
    ("place", "points"),
    [
        ((3, 4), 15.0),
        ((4, 3), 14.4),
        ((5, 0), 9.0),
        ((0, 5), 12.0),
        ((-3, -4), 0.0),
    ],
)
def test_uphill_counts_by_the_cosine(place: tuple[float, float], points: float) -> None:
    """Uphill is 6 east by 8 north: a place 4 by 3 m off lies 0.6 x 4/5 + 0.8 x 3/5 = 0.96 that way."""
    one = Candidate("A1", place, place, frozenset())
    (found,) = search((0, 0), [one], upslope=(6, 8), seen=INSIDE).order
    reasons = {reason.code: reason.points for reason in found.reasons}
    assert reasons.pop("near") == pytest.approx(40 * (1 - 5 / 20))
    assert reasons == ({"upslope": pytest.approx(points)} if points else {})


def test_a_way_leads_to_fifteen_places_at_most() -> None:
    """As many as a person looks at before thinking again; the order goes on."""
    assert ON_THE_WAY == 15
    found = search((5, 0), [seam(f"A{n}", n / 4) for n in range(20)], seen=INSIDE)
    assert len(found.order) == 20
    assert sum(len(one) for one in found.rounds) == 15


def test_an_open_finding_outweighs_a_few_metres() -> None:
    """An open lap 4 m off comes before a clean one at the spot."""
    found = search((5, 0), [seam("A1", 0), seam("A5", 4, "open_finding", "warned")], seen=INSIDE)
    assert order(found) == ["A5", "A1"]
    reasons = [(r.code, r.points) for r in found.order[0].reasons]
    assert reasons == [("near", 32.0), ("open_finding", 30.0), ("warned", 10.0)]


def test_uphill_of_a_spot_comes_before_downhill() -> None:
    """Of two laps equally far, the one that water runs from."""
    found = search((5, 0), [seam("down", -3), seam("up", 3)], upslope=(0, 7), seen=INSIDE)
    assert order(found) == ["up", "down"]
    assert found.asks == ()
    assert [r.code for r in found.order[0].reasons] == ["near", "upslope"]


def test_a_spot_seen_on_the_roof_is_looked_for_nearer() -> None:
    """At 10 m nothing counts for distance where water was seen on the roof."""
    far = [seam("A9", 10)]
    assert search((5, 0), far, seen=ON_ROOF).order[0].reasons == ()
    assert search((5, 0), far, seen=INSIDE).order[0].points > 0


def test_distance_is_to_the_nearest_point_of_the_lap() -> None:
    """Beside it, beyond its end, and a lap of no length."""
    assert nearest_point((5, 3), (0, 0), (20, 0)) == (5, 0)
    assert nearest_point((25, 0), (0, 0), (20, 0)) == (20, 0)
    assert nearest_point((25, 0), (7, 7), (7, 7)) == (7, 7)


def test_an_unknown_code_or_a_slope_of_no_direction_is_refused() -> None:
    """No weight, no points."""
    with pytest.raises(ValueError, match="moon"):
        search((0, 0), [seam("A1", 1, "moon")])
    with pytest.raises(ValueError, match="direction"):
        search((0, 0), [], upslope=(0, 0))


CODES = ["open_finding", "in_doubt", "mended_unprobed", "unprobed", "warned", "self_probed"]
COORD = st.floats(-30, 30)
POINT = st.tuples(COORD, COORD)
SEAMS = st.lists(
    st.tuples(POINT, POINT, st.frozensets(st.sampled_from(CODES))), min_size=1, max_size=6
).map(lambda rows: [Candidate(f"A{n}", a, b, codes) for n, (a, b, codes) in enumerate(rows)])
SLOPE = st.none() | st.tuples(st.floats(0.1, 1), st.floats(-1, 1))


@given(POINT, SEAMS, SLOPE, st.sampled_from([None, INSIDE, ON_ROOF]))
def test_points_are_the_sum_of_their_reasons_and_sorted(
    spot: tuple[float, float],
    seams: list[Candidate],
    slope: tuple[float, float] | None,
    seen: str | None,
) -> None:
    """Whatever order the seams come in."""
    found = search(spot, seams, seen=seen, upslope=slope)
    points = [suspect.points for suspect in found.order]
    assert points == sorted(points, reverse=True)
    for suspect in found.order:
        assert suspect.points == pytest.approx(sum(r.points for r in suspect.reasons))
        assert suspect.distance_m == pytest.approx(math.dist(spot, suspect.nearest))
    assert search(spot, seams[::-1], seen=seen, upslope=slope) == found


@given(POINT, SEAMS, st.sampled_from(CODES), SLOPE)
def test_one_more_thing_known_never_sends_a_place_down(
    spot: tuple[float, float], seams: list[Candidate], code: str, slope: tuple[float, float] | None
) -> None:
    """Its rank is as before or better."""
    first = seams[0]
    worse = Candidate(first.name, first.start, first.end, first.against | {code})
    before = order(search(spot, seams, upslope=slope)).index("A0")
    after = order(search(spot, [worse, *seams[1:]], upslope=slope)).index("A0")
    assert after <= before


@given(POINT, SEAMS, st.floats(0, 1))
def test_nearer_never_sends_a_place_down(
    spot: tuple[float, float], seams: list[Candidate], share: float
) -> None:
    """Drawn towards the spot, on a flat roof."""
    first = seams[0]

    def drawn(point: tuple[float, float]) -> tuple[float, float]:
        return (
            spot[0] + share * (point[0] - spot[0]),
            spot[1] + share * (point[1] - spot[1]),
        )

    near = Candidate(first.name, drawn(first.start), drawn(first.end), first.against)
    before = {s.name: s.points for s in search(spot, seams).order}
    after = {s.name: s.points for s in search(spot, [near, *seams[1:]]).order}
    assert after["A0"] >= before["A0"] - 1e-9


def test_weights_are_data() -> None:
    """A job that trusts its probing less may say so."""
    found = search((5, 0), [seam("A1", 0), seam("A9", 9, "unprobed")], weights=Weights(unprobed=60))
    assert order(found) == ["A9", "A1"]


LAPS = st.lists(
    st.tuples(COORD, COORD, st.floats(0.1, 40), st.frozensets(st.sampled_from(CODES))),
    min_size=1,
    max_size=20,
).map(
    lambda rows: [
        Candidate(f"A{n}", (x, y), (x + long, y), codes, None, 0.0, long)
        for n, (x, y, long, codes) in enumerate(rows)
    ]
)


@given(POINT, LAPS, SLOPE)
def test_a_search_is_walked_in_rounds_the_most_telling_first(
    spot: tuple[float, float], laps: list[Candidate], slope: tuple[float, float] | None
) -> None:
    """Each of the first places once; no round holds a place with more points than one before it;
    of a long lap the part beside the spot is looked at, and that is where its leg lies."""
    found = search(spot, laps, upslope=slope)
    ranks = [[int(leg.tasks[0].of) for leg in legs] for legs in found.rounds]
    told = sum(suspect.points > 0 for suspect in found.order[:ON_THE_WAY]) or 1
    assert sorted(rank for one in ranks for rank in one) == list(range(1, told + 1))
    points = [[found.order[rank - 1].points for rank in one] for one in ranks]
    for before, after in itertools.pairwise(points):
        assert min(before) > max(after)
    for legs in found.rounds:
        for leg in legs:
            place = found.order[int(leg.tasks[0].of) - 1]
            low, high = sorted((leg.tasks[0].from_m, leg.tasks[0].to_m))
            assert place.at_m is not None
            assert low - 1e-9 <= place.at_m <= high + 1e-9
            assert high - low <= 2 * AROUND_M + 1e-9
            assert math.dist(leg.start, leg.end) == pytest.approx(high - low, abs=1e-6)


def test_a_round_is_one_way_not_to_and_fro() -> None:
    """Four voids alike, two to each side: one side first, then the other."""
    spots = {"A1": -1.0, "A2": 1.1, "A3": -1.2, "A4": 1.3}
    laps = [
        Candidate(name, (x, 0.0), (x, 0.0), frozenset({"open_finding"}), "F1", 0.0, 0.0)
        for name, x in spots.items()
    ]
    (way,) = search((0.0, 0.0), laps, seen=ON_ROOF).rounds
    assert [leg.seam for leg in way] == ["A1", "A3", "A2", "A4"]


def test_a_doubt_no_wider_than_its_finding_is_no_place_of_its_own() -> None:
    """It is told with the finding; a wider one stands beside it."""
    lap = LapFacts("A1", (0.0, 0.0), (20.0, 0.0), 20.0, open=(("F1", 6.0, 6.1),))
    only = places_of(structs.replace(lap, in_doubt=((6.0, 6.1),)))
    assert [(one.what, one.against) for one in only] == [("F1", {"open_finding", "in_doubt"})]
    both = places_of(structs.replace(lap, in_doubt=((2.0, 8.0),)))
    assert [one.what for one in both] == ["F1", None]
