"""Jobs looked back on, from rows made up: every table by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.crews import Done, compare, pooled
from weldcal.quality.faults import Sums, dispersion_among
from weldcal.quality.history import HistoryFilter, columns, tell
from weldcal.quality.made import MadeRun, MadeStrip, MadeWith, Past
from weldcal.quality.speed_line import line_of

PLAIN: dict[str, Any] = {
    "id": "1",
    "job": "School",
    "day": "2026-06-15",
    "machine": "blue",
    "sheet": "cap",
    "lap": "selvage",
    "seen_by": "Ana Ruiz",
    "by_hand": None,
    "true_speed_m_per_min": None,
    "dial_m_per_min": None,
    "nozzle_c": None,
    "nozzle_measured_c": None,
}
STRIP: dict[str, Any] = PLAIN | {
    "name": "S1",
    "seen_utc": "",
    "passed": True,
    "temperature_c": 20.0,
    "true_m_per_min": 2.0,
}


def strip(**given: Any) -> MadeStrip:
    """A strip that met the limits."""
    return MadeStrip(**(STRIP | given))


def run(faults: int, probed_m: float = 100.0, **given: Any) -> MadeRun:
    """A run of 120 m, probed on some of it."""
    row: Any = None
    return MadeRun(
        **(PLAIN | given),
        row=row,
        welded_m=120.0,
        again_m=0.0,
        probed_m=probed_m,
        over_m=0.0,
        faults=faults,
    )


def told(*made: MadeWith, by: tuple[str, ...] = (), sort: str | None = None, **wanted: Any) -> Any:
    """The tables of one job with these rows."""
    strips = [m for m in made if isinstance(m, MadeStrip)]
    runs = [m for m in made if isinstance(m, MadeRun)]
    rest = [m for m in made if not isinstance(m, MadeStrip | MadeRun)]
    return tell([Past(strips, runs, rest)], HistoryFilter(**wanted), by, sort)


@pytest.mark.parametrize(
    ("wanted", "kept"),
    [
        ({}, "abcd"),
        ({"machine": "BLUE"}, "abd"),
        ({"machine": "red"}, "c"),
        ({"sheet": "Base"}, "b"),
        ({"person": "ana ruiz"}, "ab"),
        ({"since": "2026-06-15"}, "abc"),
        ({"since": "2026-06-16"}, "c"),
        ({"until": "2026-06-15"}, "abd"),
        ({"until": "2026-06-14"}, "d"),
        ({"machine": "blue", "since": "2026-06-15"}, "ab"),
        ({"machine": "nobody's"}, ""),
    ],
)
def test_what_is_looked_at(wanted: dict[str, str], kept: str) -> None:
    """Each filter by itself and two together; days with both ends; names as they are meant."""
    rows = (
        strip(name="a"),
        strip(name="b", sheet="base"),
        strip(name="c", machine="red", seen_by="Ben", day="2026-06-16"),
        strip(name="d", seen_by="Ben", day="2026-06-14"),
    )
    assert "".join(sorted(row["strip"] for row in told(*rows, **wanted).speeds)) == kept


def test_measurements_have_no_sheet_and_are_left_out_where_one_is_asked_for() -> None:
    """True speed over the dial's and nozzle over set, % off, by machine and month."""
    rows = [
        MadeWith(**(PLAIN | {"sheet": None, "dial_m_per_min": 2.0, "true_speed_m_per_min": v}))
        for v in (2.1, 1.9, 2.4)
    ]
    heat = MadeWith(**(PLAIN | {"sheet": None, "nozzle_c": 500.0, "nozzle_measured_c": 480.0}))
    later = MadeWith(
        **(PLAIN | {"day": "2026-07-01", "nozzle_c": 500.0, "nozzle_measured_c": 510.0})
    )
    hand = MadeWith(**(PLAIN | {"machine": None, "nozzle_c": 600.0, "nozzle_measured_c": 600.0}))
    found = told(*rows, heat, later, hand).drift
    assert [(r["machine"], r["month"], r["what"], r["n"]) for r in found] == [
        ("blue", "2026-06", "speed measured over dial", 3),
        ("blue", "2026-06", "nozzle measured over set, in °C", 1),
        ("blue", "2026-07", "nozzle measured over set, in °C", 1),
        ("–", "2026-06", "nozzle measured over set, in °C", 1),
    ]
    ends = [(r["median_pct"], r["least_pct"], r["most_pct"]) for r in found]
    assert ends == pytest.approx(np.array([(5, -5, 20), (-4, -4, -4), (2, 2, 2), (0, 0, 0)]))
    assert told(*rows, sheet="cap").drift == []
    zero = MadeWith(**(PLAIN | {"dial_m_per_min": 0.0, "true_speed_m_per_min": 2.0}))
    assert told(zero).drift == []


def test_fault_rates_by_group() -> None:
    """Faults of 100 ft of lap probed; a run that nobody probed has none."""
    rows = told(
        run(2), run(1, 50.0), run(0, 0.0), run(3, machine=None, by_hand=1), by=("machine",)
    ).faults
    by = {row["machine"]: row for row in rows}
    assert set(by) == {"blue", "by hand"}
    blue = by["blue"]
    assert (blue["runs"], blue["welded_m"], blue["probed_m"], blue["faults"]) == (3, 360, 150, 3)
    assert blue["per_100ft"] == pytest.approx(3 / 150 * 30.48)
    assert blue["low"] < blue["per_100ft"] < blue["high"]
    assert blue["dispersion_runs"] == 3  # pieces probed, of both groups
    short = told(run(1, 0.5), run(0, 0.3)).faults[0]  # half a metre probed is probed
    assert (short["faults"], short["probed_m"], short["dispersion_runs"]) == (1, 0.8, 2)
    bare = told(run(0, 0.0)).faults[0]
    assert (bare["per_100ft"], bare["low"], bare["high"]) == (None, None, None)
    months = told(run(1), run(1, day="2026-07-01"), by=("job", "month")).faults
    assert [(r["job"], r["month"], r["faults"]) for r in months] == [
        ("School", "2026-06", 1),
        ("School", "2026-07", 1),
    ]


def test_strips_to_the_first_go_ahead_of_a_day() -> None:
    """By day, machine, sheet and lap kind; a day that had none counts apart."""

    def morning(day: int, *passed: bool, **given: Any) -> list[MadeStrip]:
        return [strip(day=f"2026-06-{day:02}", passed=p, **given) for p in passed]

    rows = [
        *morning(1, True, False),
        *morning(2, False, False, True),
        *morning(3, False, True),
        *morning(4, False, False),
        *morning(4, True, lap="granules"),
    ]
    (found,) = told(*rows).strips
    assert found == {"mornings": 5, "median_strips": 1.5, "most_strips": 3, "without": 1}
    (every,) = told(*morning(1, True), *morning(2, True)).strips
    assert (every["mornings"], every["without"]) == (2, 0)
    (none,) = told(*morning(4, False)).strips
    assert none == {"mornings": 1, "median_strips": None, "most_strips": None, "without": 1}


def test_a_line_through_the_go_ahead_speeds_and_how_far_off_a_month_lies() -> None:
    """2 m/min at 20 °C, 1 % of ln a kelvin; in July every strip 3 % faster than the line of all."""
    rows = [
        strip(day=f"2026-{month:02}-0{n + 1}", temperature_c=c, true_m_per_min=v)
        for month, more in ((6, 0.0), (7, 0.03))
        for n, c in enumerate((10.0, 20.0, 30.0))
        for v in [2.0 * math.exp(0.01 * (c - 20.0) + more)]
    ]
    failed = strip(passed=False, true_m_per_min=9.0)
    unread = strip(temperature_c=None, true_m_per_min=9.0)
    found = told(*rows, failed, unread, strip(true_m_per_min=None))
    (line,) = found.lines
    assert line["strips"] == 6
    assert line["speed_at_20c_m_per_min"] == pytest.approx(2.0 * math.exp(0.015))
    assert line["pct_per_k"] == pytest.approx(1.0)
    assert line["low"] < 1.0 < line["high"]
    offs = {r["month"]: (r["what"], r["n"], r["median_pct"]) for r in found.drift}
    assert offs == {
        "2026-06": ("off the line", 3, pytest.approx(100 * (math.exp(-0.015) - 1))),
        "2026-07": ("off the line", 3, pytest.approx(100 * (math.exp(0.015) - 1))),
    }
    (few,) = told(*rows[:3]).lines
    assert (few["strips"], few["pct_per_k"], few["low"]) == (3, None, None)


def test_tables_are_sorted_by_a_column_that_they_have() -> None:
    """Numbers from the largest, words from A, unknown last; other tables as they were."""
    rows = (
        strip(name="b", nozzle_c=500.0),
        strip(name="c", nozzle_c=None),
        strip(name="a", nozzle_c=520.0),
    )
    assert [r["strip"] for r in told(*rows, sort="nozzle_c").speeds] == ["a", "b", "c"]
    assert [r["strip"] for r in told(*rows, sort="strip").speeds] == ["a", "b", "c"]
    assert [r["strip"] for r in told(*rows, sort="runs").speeds] == ["b", "c", "a"]
    names = columns(told(*rows, run(1), by=("machine",)))
    assert names[:3] == ["machine", "runs", "welded_m"]
    assert len(names) == len(set(names))
    assert {"mornings", "pct_per_k", "nozzle_c"} <= set(names)


LINE = st.lists(
    st.tuples(st.floats(-5, 45), st.floats(0.5, 6.0)), min_size=4, max_size=12, unique=True
)


@given(LINE, st.floats(-10, 50), st.sampled_from([0.5, 0.9, 0.95]))
def test_a_line_is_that_of_a_regression_with_its_intervals(
    points: list[tuple[float, float]], at: float, confidence: float
) -> None:
    """statsmodels' least squares of ln speed; the interval of the slope and of one strip more."""
    api = pytest.importorskip("statsmodels.api")
    temps, logs = (np.array(v) for v in zip(*((c, math.log(v)) for c, v in points), strict=True))
    found = line_of(points)
    if np.ptp(temps) < 5.0:
        assert found is None
        return
    assert found is not None
    fitted = api.OLS(logs, api.add_constant(temps, has_constant="add")).fit()
    assert (found.height, found.slope) == pytest.approx(tuple(fitted.params), rel=1e-6, abs=1e-8)
    ends = fitted.conf_int(alpha=0.05)[1]
    assert (found.low, found.high) == pytest.approx(tuple(ends), rel=1e-5, abs=1e-8)
    said = fitted.get_prediction([[1.0, at]]).summary_frame(alpha=1 - confidence)
    expected = [math.exp(said[n].iloc[0]) for n in ("mean", "obs_ci_lower", "obs_ci_upper")]
    assert found.at(at, confidence) == pytest.approx(tuple(expected), rel=1e-5)


@pytest.mark.parametrize(
    ("temps", "is_line"),
    [((10.0, 12.0, 15.0), False), ((10.0, 11.0, 12.0, 14.9), False), ((10.0, 11, 12, 15.0), True)],
)
def test_a_line_needs_four_strips_and_five_kelvin(temps: tuple[float, ...], is_line: bool) -> None:
    """Fewer, or nearer together, are no line."""
    points = [(c, 2.0 + n / 10) for n, c in enumerate(temps)]
    assert (line_of(points) is not None) is is_line
    assert line_of([]) is None


def _pooled(crews: list[tuple[float, float]], dispersion: float) -> list[tuple[float, ...]]:
    """The same levels with the spread's log integrated by numpy's own Gauss-Hermite rule."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(5)
    tried = (0.3 * np.exp(0.7 * nodes)) ** 2
    evidence = np.zeros(5)
    for o, e in crews:
        # ln ratio r ~ N(0, v); the count says exp(pull·r - info·r²/2): normal integrals.
        info, pull = e / dispersion, (o - e) / dispersion
        evidence += 0.5 * pull**2 / (info + 1 / tried) - 0.5 * np.log(1 + info * tried)
    share = weights * np.exp(evidence - evidence.max())
    variance = float(share @ tried / share.sum())
    found = []
    for o, e in crews:
        sd = (e / dispersion + 1 / variance) ** -0.5
        mean = sd**2 * (o - e) / dispersion
        found.append(tuple(math.exp(mean + z * sd) for z in (0, -1.644853627, 1.644853627)))
    return found


@given(
    st.lists(st.tuples(st.integers(0, 30), st.floats(0.5, 30.0)), min_size=1, max_size=6),
    st.floats(1.0, 4.0),
)
def test_crews_are_pulled_together_as_far_as_chance_may_have_parted_them(
    crews: list[tuple[int, float]], dispersion: float
) -> None:
    """The normal model of the docstring, integrated by other hands."""
    given = [(float(o), e) for o, e in crews]
    for level, expected in zip(pooled(given, dispersion), _pooled(given, dispersion), strict=True):
        assert (level.ratio, level.low, level.high) == pytest.approx(expected, rel=1e-6)


def test_a_crew_is_expected_its_share_of_all_faults_by_like_length() -> None:
    """Of 12 faults on 400 m, 300 m are expected 9 and 100 m 3; with no like work, left out."""
    done = {
        "Ana": Done(300.0, 0.0, Sums(3, 6, 300.0, 12.0)),
        "Ben": Done(100.0, 0.0, Sums(2, 6, 100.0, 18.0)),
        "Carla": Done(50.0, 50.0, Sums(0, 0, 0.0, 0.0)),
    }
    found = compare(done)
    assert set(found.levels) == set(found.done) == {"Ana", "Ben"}
    dispersion = found.rates.dispersion["operator"]
    ana, ben = pooled([(6.0, 9.0), (6.0, 3.0)], dispersion)
    assert found.levels == {"Ana": ana, "Ben": ben}
    assert ana.ratio < 1.0 < ben.ratio


def test_how_faults_clump_is_taken_of_all_runs_each_group_at_its_own_rate() -> None:
    """Pearson's: of 0 and 4 on 10 m each (0.2 a m) 2 + 2; of 1 on 10 m and 3 on 30 m nothing.

    Four runs less two rates leave 2: 4 / 2 = 2. A level of no fault has nothing to clump.
    """
    rows = (
        *(run(n, 10.0) for n in (0, 4)),
        *(run(n, long, machine="red") for n, long in ((1, 10.0), (3, 30.0))),
    )
    found = told(*rows, by=("machine",)).faults
    assert [(r["dispersion"], r["dispersion_runs"]) for r in found] == [(pytest.approx(2.0), 4)] * 2
    levels = [Sums(2, 4, 20.0, 16 / 10), Sums(2, 4, 40.0, 1 / 10 + 9 / 30)]
    assert dispersion_among(levels) == pytest.approx(2.0)
    assert dispersion_among([*levels, Sums(3, 0, 60.0, 0.0)]) == pytest.approx(1.0)
    assert dispersion_among([*levels, Sums(1, 0, 60.0, 0.0)]) == pytest.approx(2.0)
    assert dispersion_among(levels[:1]) == pytest.approx(4.0)
    assert dispersion_among([Sums(1, 9, 1.0, 81.0)]) == 1.0
