"""Bounds of the rules, each tried from either side; and ways and cuts against every other one."""

from __future__ import annotations

import math
from datetime import date
from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from weldcal.quality.chalk import side_lap_name
from weldcal.quality.faults import Work, _chance, fault_rates
from weldcal.quality.goahead import Tried, failed, near_setting, same_setting, speaks_against
from weldcal.quality.goods import Goods, fewest_points, sides
from weldcal.quality.route import Leg, Task, length, turned, way
from weldcal.quality.stop_rules import Air, stops
from weldcal.quality.taken_out import TakenOut, Trial, taken_out
from weldcal.quality.upkeep import due, months_after, open_answer, stage

NONE: frozenset[str] = frozenset()


def tried(nozzle: float = 500.0, speed: float | None = 2.0, *short: str) -> Tried:
    """A strip at a setting, and what it fell short of."""
    return Tried(nozzle, speed, frozenset(short))


@pytest.mark.parametrize(
    ("nozzle", "speed", "same"),
    [
        (500.0, 2.0, True),
        (510.0, 2.0, True),
        (510.1, 2.0, False),
        (490.0, 2.0, True),
        (489.9, 2.0, False),
        (500.0, 2.2, True),
        (500.0, 2.201, False),
        (500.0, 1.819, True),
        (500.0, 1.818, False),
        (500.0, None, False),
        (500.0, 0.0, False),
    ],
)
def test_one_setting_is_within_ten_kelvin_and_a_tenth_of_the_speed(
    nozzle: float, speed: float | None, same: bool
) -> None:
    """The dial's own slack and the nozzle's; two of no known speed are one where the nozzle is."""
    assert same_setting(tried(nozzle, speed), tried()) is same
    assert same_setting(tried(nozzle, None), tried(500.0, None)) is (abs(nozzle - 500) <= 10)


@pytest.mark.parametrize(
    ("speed", "near"), [(2.222, True), (2.223, False), (1.8, True), (1.799, False), (None, False)]
)
def test_a_failure_is_near_a_setting_a_tenth_off_either_way(
    speed: float | None, near: bool
) -> None:
    """Of the faster or of the slower speed, whichever takes in more."""
    assert near_setting(tried(500.0, speed), tried()) is near


SPEEDS = st.one_of(st.none(), st.floats(0.1, 10.0))
SETTINGS = st.builds(tried, st.floats(400.0, 600.0), SPEEDS, st.sampled_from(["spread", "cold"]))


@given(SETTINGS, SETTINGS)
@example(tried(500.0, 5.55, "spread"), tried(500.0, 5.0, "spread"))
def test_one_setting_is_one_either_way_round(a: Tried, b: Tried) -> None:
    """Whichever was made first; and where one is the other, a failure of either speaks against it."""
    assert same_setting(a, b) is same_setting(b, a)
    assert near_setting(a, b) is near_setting(b, a)
    assert near_setting(a, b) or not same_setting(a, b)
    if near_setting(a, b):
        assert speaks_against(a, b) and speaks_against(b, a)


@pytest.mark.parametrize(
    ("passed", "later"), [("5", "5.5"), ("10", "11"), ("20", "22"), ("5", "4.5"), ("15", "13.5")]
)
def test_a_tenth_faster_or_slower_is_one_setting_as_typed(passed: str, later: str) -> None:
    """In ft/min, whatever is rounded on the way to m/min."""
    one, other = (float(Fraction(mark) * Fraction("0.3048")) for mark in (passed, later))
    assert near_setting(tried(500.0, other), tried(500.0, one))
    assert same_setting(tried(500.0, other), tried(500.0, one)) is (other > one)


def test_eighteen_fahrenheit_warmer_is_one_setting_as_typed() -> None:
    """Ten kelvin; nineteen is another. At 476 and 494 °F rounding alone would part them."""
    for shown in range(300, 1301):
        low, high, more = (float(Fraction(5 * (shown + f - 32), 9)) for f in (0, 18, 19))
        assert same_setting(tried(high), tried(low)) and same_setting(tried(low), tried(high))
        assert not same_setting(tried(more), tried(low))


@pytest.mark.parametrize(
    ("nozzle", "speed", "short", "against"),
    [
        # At the same setting whatever failed; never where nothing did.
        (500.0, 2.0, "spread", True),
        (500.0, 2.0, "pull_not_tried", False),
        # Too little heat, though slower and no colder a nozzle.
        (500.0, 1.5, "too_little", True),
        (520.0, 1.5, "parted_clean", True),
        (490.0, 1.5, "cold", True),
        (489.0, 1.5, "narrow_bond", False),
        (520.0, 2.2, "too_little", True),
        (520.0, 2.21, "too_little", False),
        (500.0, 2.5, "too_little", False),
        # Too much heat, though faster and no hotter a nozzle.
        (500.0, 2.5, "too_much", True),
        (480.0, 2.5, "bubbling", True),
        (510.0, 2.5, "exposed_mat", True),
        (511.0, 2.5, "too_much", False),
        (480.0, 1.8, "too_much", True),
        (480.0, 1.79, "too_much", False),
        (500.0, 1.5, "too_much", False),
        # Uneven says nothing of another setting.
        (500.0, 1.5, "spread", False),
        # Where a speed is not known a failure always speaks against.
        (500.0, None, "too_much", True),
        (500.0, None, "few_readings", False),
    ],
)
def test_a_later_failure_speaks_against_a_strip_that_passed(
    nozzle: float, speed: float | None, short: str, against: bool
) -> None:
    """Where as much heat or more was too little, or as little or less too much."""
    assert speaks_against(tried(nozzle, speed, short), tried()) is against
    assert not speaks_against(tried(nozzle, speed), tried())
    assert speaks_against(tried(nozzle, speed, short), tried(500.0, None)) is failed(
        tried(nozzle, speed, short)
    )


GOOD_AIR = Air(0.0, 20.0, 20.0, 50.0, 2.0, False, 4.0, 20.0, 230.0, 230.0)


@pytest.mark.parametrize(
    ("field", "breaks", "holds", "code"),
    [
        ("ambient_c", 4.9, 5.0, "air_too_cold"),
        ("sheet_c", -0.1, 0.0, "sheet_too_cold"),
        ("roll_c", 9.9, 10.0, "roll_too_cold"),
        ("wind_m_per_s", 13.0, 12.9, "too_windy"),
        ("gust_m_per_s", 16.0, 15.9, "too_gusty"),
        ("line_v", 206.9, 207.1, "voltage_low"),
        ("damp", True, False, "damp_sheet"),
    ],
)
def test_in_which_weather_nobody_welds(field: str, breaks: float, holds: float, code: str) -> None:
    """From just this value on; what was not read says nothing."""
    plain = {name: getattr(GOOD_AIR, name) for name in Air.__struct_fields__} | {
        "humidity_pct": None
    }
    assert [t.code for t in stops(Air(**(plain | {field: breaks})))] == [code]
    assert stops(Air(**(plain | {field: holds}))) == ()
    if field != "damp":
        assert stops(Air(**(plain | {field: None}))) == ()
        (told,) = stops(Air(**(plain | {field: breaks})))
        assert told.values["was"] is None and told.since_s == 0.0
    assert stops(Air(**(plain | {"line_v": 100.0, "rated_v": None}))) == ()


@example(1, 0, 0.2, 2.0)
@example(0, 1, 0.8, 2.0)
@given(st.integers(0, 12), st.integers(0, 12), st.floats(0.05, 0.95), st.sampled_from([2.0, 4.0]))
def test_faults_that_clump_count_as_clumps(k: int, more: int, share: float, clump: float) -> None:
    """So many times the faults with that dispersion say what the plain count says."""
    plain = _chance(k, k + more, share, 1.0)
    times = round(clump)
    assert _chance(times * k, times * (k + more), share, clump) == pytest.approx(plain, rel=1e-9)


@pytest.mark.parametrize("confidence", [-0.1, 0.0, 1.0, 1.1, 1.25])
def test_a_confidence_lies_between_none_and_all(confidence: float) -> None:
    """Neither end is one."""
    work = [Work(1, 30.0, {"m": "blue"})]
    with pytest.raises(ValueError, match="between 0 and 1"):
        fault_rates(work, confidence=confidence)
    assert fault_rates(work, confidence=0.999).rates


PLACE = st.tuples(st.integers(0, 60), st.integers(0, 60))
LEGS = st.lists(st.tuples(PLACE, PLACE), min_size=1, max_size=7)


@given(LEGS, PLACE)
def test_no_part_turned_round_and_no_lap_moved_shortens_the_way(
    ends: list[tuple[tuple[int, int], tuple[int, int]]], begin: tuple[int, int]
) -> None:
    """Every such change is tried; every lap is on the way once, those without a place last."""
    legs = [
        Leg(f"A{n}", (Task("probe", 0.0, 5.0),), tuple(map(float, a)), tuple(map(float, b)))  # type: ignore[arg-type]
        for n, (a, b) in enumerate(ends)
    ]
    lost = Leg("Z", ())
    start = (float(begin[0]), float(begin[1]))
    found = list(way([lost, *legs], start))
    assert found.pop() == lost
    assert sorted(leg.seam for leg in found) == [leg.seam for leg in legs]
    total = length(found, start)
    at, by_hand = start, 0.0
    for leg in found:
        assert leg.start is not None and leg.end is not None
        by_hand += math.dist(at, leg.start)
        at = leg.end
    assert total == pytest.approx(by_hand)
    others = []
    for low, high in combinations(range(len(found) + 1), 2):
        part = [turned(leg) for leg in reversed(found[low:high])]
        others.append([*found[:low], *part, *found[high:]])
    for n, leg in enumerate(found):
        rest = [*found[:n], *found[n + 1 :]]
        for place in range(len(found)):
            others += [[*rest[:place], one, *rest[place:]] for one in (leg, turned(leg))]
    assert all(total <= length(other, start) + 1e-5 for other in others)


def test_a_walk_begins_at_the_plans_own_corner_where_nobody_says_where() -> None:
    """0, 0: the lap that begins there comes first, and costs no step."""
    near, far = Leg("A1", (), (0.0, 0.0), (0.0, 9.0)), Leg("A2", (), (1.0, 1.0), (9.0, 1.0))
    assert [leg.seam for leg in way([far, near])] == [leg.seam for leg in way([far, near], (0, 0))]
    assert length([near]) == 0.0
    assert length([far]) == pytest.approx(math.sqrt(2))
    assert length([Leg("Z", ()), near, far]) == pytest.approx(math.hypot(1, 8))


def test_a_lap_walked_from_its_far_end_meets_its_tasks_the_other_way_round() -> None:
    """Each task from its own far end; turned twice it is as it was."""
    tasks = (Task("cut", 2.0, 2.0, "F1"), Task("probe", 3.0, 9.0))
    leg = Leg("A1", tasks, (0.0, 0.0), (10.0, 0.0))
    back = turned(leg)
    assert (back.start, back.end, back.turned) == ((10.0, 0.0), (0.0, 0.0), True)
    assert back.tasks == (Task("probe", 9.0, 3.0), Task("cut", 2.0, 2.0, "F1"))
    assert turned(back) == leg


STRETCHES = st.lists(
    st.tuples(st.integers(0, 30), st.integers(1, 8)).map(lambda s: (float(s[0]), float(sum(s)))),
    max_size=7,
)


@given(STRETCHES)
def test_cuts_are_the_fewest_that_lie_inside_every_stretch(
    stretches: list[tuple[float, float]],
) -> None:
    """By every set of inner points (the middles between ends) that could serve."""
    points = fewest_points(stretches)
    assert all(any(a < p < b for p in points) for a, b in stretches)
    marks = sorted({end for one in stretches for end in one})
    middles = [(a + b) / 2 for a, b in pairwise(marks)]
    for fewer in range(len(points)):
        for some in combinations(middles, fewer):
            assert not all(any(a < p < b for p in some) for a, b in stretches)


def test_in_doubt_lies_what_is_between_a_failure_and_what_was_good() -> None:
    """To the line's ends where nothing was; nothing where a good stretch reaches the failure."""
    goods = Goods([(0.0, 2.0, "a"), (3.0, 4.0, "b"), (9.0, 10.0, "c")])
    assert goods.before(6.0) == (4.0, "b")
    assert goods.before(3.5) == (2.0, "a")
    assert goods.before(1.0) == (0.0, None)
    assert goods.after(6.0, 20.0) == (9.0, "c")
    assert goods.after(9.5, 20.0) == (20.0, None)
    assert sides(6.0, 7.0, goods, 20.0) == [(4.0, 6.0), (7.0, 9.0)]
    assert sides(4.0, 9.0, goods, 20.0) == []
    assert sides(6.0, 12.0, goods, 20.0) == [(4.0, 6.0), (12.0, 20.0)]
    assert sides(0.0, 20.0, Goods([]), 20.0) == []
    assert sides(5.0, 5.0, Goods([]), 20.0) == [(0.0, 5.0), (5.0, 20.0)]


def test_laps_beyond_a_row_go_on_with_letters() -> None:
    """None for the first, then b to z, then bb."""
    names = [side_lap_name("A", 3, n) for n in (0, 1, 2, 24, 25, 26, 49, 50, 51)]
    assert names == ["A3", "A3b", "A3c", "A3y", "A3z", "A3bb", "A3by", "A3bz", "A3cb"]
    assert len({side_lap_name("A", 3, n) for n in range(2000)}) == 2000


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        ("2026-01-31", 1, "2026-02-28"),
        ("2028-01-31", 1, "2028-02-29"),
        ("2026-11-30", 3, "2027-02-28"),
        ("2026-12-15", 1, "2027-01-15"),
        ("2026-11-15", 1, "2026-12-15"),
        ("2026-06-15", 12, "2027-06-15"),
        ("2026-06-15", 0, "2026-06-15"),
    ],
)
def test_some_months_on_it_is_the_same_day_or_the_months_last(
    day: str, months: int, then: str
) -> None:
    """Counted from the latest of the days."""
    assert months_after(date.fromisoformat(day), months) == date.fromisoformat(then)
    assert due(["2020-01-01", day, "2025-12-31"], months) == then


def test_where_a_leak_stands() -> None:
    """Closed only by a dry look after it was mended; searched again after a wet one."""
    found, mended, wet, dry = ("found", None), ("mended", None), ("look", False), ("look", True)
    for steps, now in (
        ((), "search"),
        ((found,), "mend"),
        ((found, mended), "look"),
        ((found, mended, dry), "closed"),
        ((found, mended, wet), "search"),
        ((found, dry), "mend"),
        ((dry,), "search"),
        ((found, mended, dry, wet), "search"),
        ((found, mended, wet, found), "mend"),
    ):
        assert stage(steps) == now
    assert [open_answer(a) for a in (None, "no", "yes", "not needed")] == [True, True, False, False]


def _trials(said: str) -> list[Trial]:
    """`f` failed, `p` passed, `w` waits for its pull; each a second later."""
    shorts = {"f": ("cold",), "p": (), "w": ("pull_not_tried",)}
    return [Trial(float(n), f"S{n}", tried(500.0, 2.0, *shorts[s])) for n, s in enumerate(said, 1)]


@pytest.mark.parametrize(
    ("said", "causes", "out"),
    [
        ("f", (), None),
        ("ff", (), TakenOut(2, ("S1", "S2"), 2, 2)),
        ("fpf", (), None),
        ("fwf", (), TakenOut(3, ("S1", "S3"), 3, 2)),
        ("ffpp", (), TakenOut(2, ("S1", "S2"), 2, 2)),
        ("ffpp", (1.9,), TakenOut(2, ("S1", "S2"), 2, 2)),
        ("ffpp", (2.0,), None),
        ("ffp", (2.5,), TakenOut(2, ("S1", "S2"), 2, 2, True, 1)),
        ("ffpwp", (2.5,), None),
        ("ffpf", (2.5,), TakenOut(2, ("S1", "S2"), 4, 2)),
        ("ffpfpp", (2.5, 4.5), None),
        ("ffpp", (3.0,), None),
        ("ffpp", (3.5,), TakenOut(2, ("S1", "S2"), 2, 2, True, 1)),
        ("ffppff", (2.5,), TakenOut(6, ("S5", "S6"), 6, 2)),
    ],
)
def test_a_machine_is_taken_out_and_comes_back(
    said: str, causes: tuple[float, ...], out: TakenOut | None
) -> None:
    """Two failed in a row; a cause named since the last failure, then two that pass in a row."""
    assert taken_out(_trials(said), causes) == out
    assert taken_out(_trials(said), causes, failures=0) is None
    if out is not None:
        assert out.left == (2 - out.passed if out.cause_named else None)


def test_failures_at_several_settings_are_no_row_unless_both_were_advised() -> None:
    """Looking for a sheet's limits takes nothing out."""
    fast = Trial(2.0, "S2", tried(500.0, 3.0, "cold"))
    slow = Trial(1.0, "S1", tried(500.0, 2.0, "cold"))
    assert taken_out([slow, fast], ()) is None
    both = [Trial(t.at_s, t.name, t.tried, advised=True) for t in (slow, fast)]
    assert taken_out(both, ()) is not None
    assert taken_out([both[0], fast], ()) is None
    assert taken_out([slow, both[1]], ()) is None
