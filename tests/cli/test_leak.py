"""A leak reported at a place: an order in which to look, never a cause."""

from __future__ import annotations

from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"
FT = 0.3048


@pytest.fixture
def laid(go_ahead: Any) -> Any:
    """Area C, 60 ft by 20 ft; C1 to C4 welded whole, C1 and C2 probed clean, C3 with a void."""
    go_ahead.ok(
        'roof lay "C 60ft x 20ft" --roll-width 39.4in --roll-length 33ft --mark "drain at 30ft,10ft"'
    )
    for n in (1, 2, 3, 4):
        go_ahead.day(
            f"07:{12 * n - 2} seam start C{n} {SET}\n07:{12 * n + 8} seam finish C{n} --to 60"
        )
    go_ahead.day("""
        10:00 probe C1 0-60 --by BO
        10:10 probe C2 0-60 --by BO
        10:20 probe C3 0-60 --void 30+3in --by BO
    """)
    return go_ahead


def order(book: Any, line: str) -> list[dict[str, Any]]:
    """The places to look at, first first."""
    found: list[dict[str, Any]] = book.ok(f"leak {line} --json").json["order"]
    return found


def points(place: dict[str, Any]) -> dict[str, float]:
    """Its reasons."""
    return {reason["code"]: reason["points"] for reason in place["reasons"]}


def test_it_says_that_it_is_an_order_and_not_a_cause(laid: Any) -> None:
    """Water travels; the points are nobody's measurement."""
    out = " ".join(laid.ok("leak 30ft 9ft --where inside --slope y-").out.split())
    assert "K1: an order in which to look, not a cause. Water travels" in out
    assert "this program's own judgement, no source" in out
    assert out.index("1. C3, F1 at 30 ft to 30 ft 3 in, at (30 ft, 9 ft 1 3/8 in)") < out.index(
        "2. "
    )


def test_a_leak_is_recorded_as_it_was_reported(laid: Any) -> None:
    """Place, where seen, by whom."""
    laid.ok('leak 30ft 9ft --where inside --note "wet board, room 12" --by BO')
    (row,) = laid.query("SELECT * FROM leaks")
    assert (row["name"], row["where"], row["seen_by"]) == ("K1", "inside", "Ben Okoro")
    assert (row["x_m"], row["y_m"]) == (pytest.approx(30 * FT), pytest.approx(9 * FT))
    assert laid.ok("leak 1 1 --where roof --json").json["name"] == "K2"
    laid.ok("verify")


def test_it_asks_where_the_place_was_seen(laid: Any) -> None:
    """Piped, it is refused in one line; nothing is recorded."""
    before = laid.entries()
    refused = laid("leak 30ft 9ft")
    assert refused.code == 2
    assert "inside or on the roof" in refused.err
    assert len(refused.err.splitlines()) == 1
    assert laid.entries() == before


def test_it_asks_which_way_the_water_runs(laid: Any) -> None:
    """And orders all the same."""
    document = laid.ok("leak 30ft 9ft --where inside --json").json
    assert document["asks"] == ["slope"]
    assert document["order"]
    assert "which way does water run (--slope)?" in laid.ok("leak 30ft 9ft --where inside").out
    assert laid.ok("leak 30ft 9ft --where inside --slope y- --json").json["asks"] == []


def test_what_is_known_against_a_seam_brings_it_forward(laid: Any) -> None:
    """C3, with an open finding, before C2, as near."""
    middle = (9.112 + 6.074) / 2
    places = order(laid, f"30ft {middle}ft --where inside")
    found = {place["name"]: place for place in reversed(places)}
    assert found["C3"]["distance_m"] == pytest.approx(found["C2"]["distance_m"], abs=0.01)
    assert points(found["C3"])["open_finding"] > 0
    assert "open_finding" not in points(found["C2"])
    assert found["C3"]["points"] > found["C2"]["points"]
    for place in found.values():
        assert place["points"] == pytest.approx(sum(points(place).values()))


def test_it_sends_to_the_finding_and_not_to_the_end_nearest_to_the_spot(laid: Any) -> None:
    """The void lies at 30 ft on C3; from a spot at 5 ft it is 25 ft away, and so it is said."""
    found = order(laid, "5ft 9ft --where inside")
    (void,) = [place for place in found if place["what"] == "F1"]
    assert void["nearest"][0] == pytest.approx(30 * FT, abs=0.01)
    assert (void["from_m"], void["at_m"]) == (pytest.approx(30 * FT), pytest.approx(30 * FT))
    assert void["distance_m"] == pytest.approx(25 * FT, abs=0.05)


def test_each_stretch_of_a_lap_is_a_place_of_its_own(laid: Any) -> None:
    """C4 is probed in part: what is left is where to go."""
    laid.ok("probe C4 0-20 --by BO")
    laid.ok("probe C4 40-60 --by BO")
    places = [p for p in order(laid, "30ft 12ft --where roof") if p["name"] == "C4"]
    assert [(p["from_m"], p["to_m"]) for p in places] == [
        (pytest.approx(20 * FT), pytest.approx(40 * FT))
    ]


def test_another_roof_is_left_out_however_near_and_bad(laid: Any) -> None:
    """Area D lies across a gap of 2 ft; E touches C along an edge and is searched."""
    roll = "--roll-width 39.4in --roll-length 33ft"
    laid.ok(f'roof lay "D 20ft x 20ft at 62ft,0" {roll}')
    laid.ok(f'roof lay "E 20ft x 20ft at 0,20ft" {roll}')
    laid.ok("finding D1 void 0-1 --how probed --by BO")
    document = laid.ok("leak 59ft 10ft --where inside --json").json
    assert {p["name"][0] for p in document["order"]} == {"C", "E"}
    assert document["roof"] == ["C", "E"]
    assert document["elsewhere"] == len(laid.query("SELECT 1 FROM seams WHERE area = 'D'"))
    said = " ".join(laid.ok("leak 59ft 10ft --where inside").out.split())
    assert "Only on C, E, which is one roof" in said
    assert order(laid, "70ft 10ft --where inside")[0]["what"] is not None


def test_near_comes_before_far_where_nothing_else_is_known(laid: Any) -> None:
    """C5 and C6 are not welded yet: only the distance tells."""
    plain = [p for p in order(laid, "10ft 16ft --where roof") if set(points(p)) <= {"near"}]
    away = [place["distance_m"] for place in plain]
    assert away == sorted(away)


def test_upslope_is_looked_at_before_downslope(laid: Any) -> None:
    """Water runs to y-: what lies at greater y is uphill."""
    near = {p["name"]: points(p) for p in order(laid, "10ft 16.7ft --where inside --slope y-")}
    assert near["C6"]["upslope"] > 0
    assert "upslope" not in near["C5"]
    near = {p["name"]: points(p) for p in order(laid, "10ft 16.7ft --where inside --slope y+")}
    assert near["C5"]["upslope"] > 0
    assert "upslope" not in near["C6"]


def test_water_seen_inside_has_come_from_further(laid: Any) -> None:
    """More places count."""
    inside = [p for p in order(laid, "30ft 0 --where inside") if "near" in points(p)]
    on_roof = [p for p in order(laid, "30ft 0 --where roof") if "near" in points(p)]
    assert len(inside) >= len(on_roof)
    far = {p["name"]: points(p)["near"] for p in inside}
    near = {p["name"]: points(p)["near"] for p in on_roof}
    assert all(far[name] >= near[name] for name in near)


def test_a_roof_with_no_plan_says_so(go_ahead: Any) -> None:
    """Seams listed by hand have no place; the leak is kept."""
    out = " ".join(go_ahead.ok("leak 3 3 --where roof").out.split())
    assert "No seam has a place on the plan" in out
    assert "weldcal roof lay" in out
    assert go_ahead.query("SELECT name FROM leaks")[0][0] == "K1"


def test_a_covered_seam_is_still_in_the_order(laid: Any) -> None:
    """Opening up is for people to decide; nothing says "probe again"."""
    laid.ok("cover C")
    done = laid.ok("leak 30ft 9ft --where inside")
    assert "C3" in done.out
    assert "probe again" not in done.out


def test_places_have_no_rubbish_in_their_json(laid: Any) -> None:
    """Numbers in metres, not the program's insides."""
    first = order(laid, "30ft 9ft --where inside")[0]
    assert [round(x, 2) for x in first["nearest"]] == [
        pytest.approx(30 * FT, abs=0.01),
        pytest.approx(9.11 * FT, abs=0.01),
    ]


BAD = [
    "leak here there --where roof",
    "leak 3 --where roof",
    "leak 3 3 --where cellar",
    "leak 3 3 --where roof --slope down",
    "leak 99999ft 3 --where roof",
    "leak 3kg 3 --where roof",
]


@pytest.mark.parametrize("line", BAD)
def test_what_cannot_be_is_refused_in_one_line(laid: Any, line: str) -> None:
    """Exit code 2, and no leak is recorded of it."""
    before = laid.entries()
    refused = laid(line)
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.splitlines()) == 1
    assert laid.entries() == before


def test_a_search_wants_the_name_of_a_leak(laid: Any) -> None:
    """Another record's name was looked for on the plan, and ended in an error inside."""
    refused = laid("leak search F1")
    assert (refused.code, refused.out) == (2, "")
    assert "a leak has a name like K1" in refused.err


def test_a_place_off_the_roof_is_kept(laid: Any) -> None:
    """The nearest seam is far, and the order says how far."""
    first = order(laid, "900ft 900ft --where inside")[0]
    assert first["distance_m"] > 200


def test_what_is_no_leak_is_not_searched_for(go_ahead: Any) -> None:
    """A strip's name: refused in one line, and nothing breaks."""
    assert "a leak has a name like K1" in go_ahead.refused("leak search S1")
