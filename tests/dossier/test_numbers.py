"""Every number drawn or totalled, recomputed from the tables by another route: plain SQL and a pencil."""

from __future__ import annotations

import contextlib
import itertools
import json
import math
import re
import sqlite3
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest

from tests.dossier.drawings import Drawing

FT, IN = 0.3048, 25.4


@pytest.fixture(scope="module")
def sql(made: Any) -> Iterator[Any]:
    """Rows straight from the file."""
    with contextlib.closing(sqlite3.connect(made.book)) as book:
        yield lambda text, *values: book.execute(text, values).fetchall()


def lengths(sql: Any, seam: str | None = None) -> tuple[float, float]:
    """Welded and probed, m: each piece between two ends asked of the tables at its middle."""
    welded = probed = 0.0
    seams = [seam] if seam else [s for (s,) in sql("SELECT DISTINCT seam_key FROM runs")]
    for key in seams:
        ends = sql(
            "SELECT start_m FROM runs WHERE seam_key = ?1 UNION SELECT end_m FROM runs WHERE seam_key = ?1 "
            "UNION SELECT start_m FROM walks WHERE seam_key = ?1 UNION SELECT end_m FROM walks WHERE seam_key = ?1",
            key,
        )
        places = sorted(end for (end,) in ends if end is not None)
        for a, b in itertools.pairwise(places):
            over = "min(start_m, end_m) <= ?2 AND max(start_m, end_m) >= ?2"
            runs = sql(
                f"SELECT seen_utc, tick FROM runs WHERE seam_key = ?1 AND {over}", key, (a + b) / 2
            )
            walked = [
                sql(
                    f"SELECT count(*) FROM walks WHERE seam_key = ?1 AND {over} AND (seen_utc, tick) >= (?3, ?4)",
                    key,
                    (a + b) / 2,
                    at,
                    tick,
                )[0][0]
                for at, tick in runs
            ]
            welded += (b - a) if runs else 0.0
            probed += (b - a) if runs and all(walked) else 0.0
    return welded, probed


def feet(text: str) -> float:
    """`74 ft` as a number."""
    return float(text.removesuffix(" ft"))


def test_totals_are_the_tables_totals(made: Any, sql: Any) -> None:
    """Lap welded and probed, faults, mends, samples; seams listed and their length."""
    rows = {row[0]: row[1:] for row in made.table("Totals").rows}
    welded, probed = lengths(sql)
    assert feet(rows["Lap welded"][0]) == pytest.approx(welded / FT, rel=1e-3)
    assert feet(rows["Lap probed"][0]) == pytest.approx(probed / FT, rel=1e-3)
    assert feet(rows["Lap welded and not probed"][0]) == pytest.approx(
        (welded - probed) / FT, rel=1e-3
    )
    for name, query in (
        ("Seams listed", "SELECT count(*) FROM seams"),
        ("Faults found", "SELECT count(*) FROM findings WHERE kind <> 'sample cut'"),
        ("Mends", "SELECT count(*) FROM mends"),
        ("Samples cut from seams", "SELECT count(*) FROM peels WHERE seam IS NOT NULL"),
    ):
        assert rows[name][0] == str(sql(query)[0][0])


def test_first_pass_clean_is_counted_by_hand(made: Any) -> None:
    """A1, A2 and A6 were walked over all that was welded; of these only A6 never had a fault: 1 of 3."""
    row = next(r for r in made.table("Totals").rows if r[0] == "First pass probed clean")
    assert row[1] == "33 %"
    assert row[2].startswith("1 of 3 seams")


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [
        (0, 0.0, 3.689),
        (1, 0.0253, 5.572),
        (2, 0.242, 7.225),
        (3, 0.619, 8.767),
        (10, 4.795, 18.390),
    ],
)
def test_intervals_are_garwoods(count: int, low: float, high: float) -> None:
    """Exact 95 % limits of a Poisson count as tabulated (Garwood 1936, values from memory)."""
    from weldcal.quality.faults import ProbedPiece
    from weldcal.reports.dossier.rates import rate

    def over(length_m: float) -> list[ProbedPiece]:
        return [ProbedPiece(length_m, {"void": count})]

    found = rate("all", over(30.48), "us")
    assert found is not None
    assert (found.low, found.high) == (pytest.approx(low, abs=1e-3), pytest.approx(high, abs=1e-3))
    assert (found.n, found.rate) == (count, pytest.approx(count))  # over 30.48 m, 100 ft
    half = rate("all", over(15.24), "us")
    assert half is not None
    assert half.rate == pytest.approx(2 * count)
    assert rate("all", [], "us") is None


def test_rates_drawn_are_counts_over_length(made: Any, sql: Any) -> None:
    """Faults by kind from SQL, the probed length from the pieces; dispersion by statsmodels' GLM, limits by scipy's chi-squared."""
    from scipy.stats import chi2

    per_100ft = lengths(sql)[1] / (100 * FT)
    counts = dict(
        sql("SELECT kind, count(*) FROM findings WHERE kind <> 'sample cut' GROUP BY kind")
    )
    counts["all faults"] = sum(counts.values())
    drawn = made.figures()["rates"].table.rows
    assert {row[0]: int(row[1]) for row in drawn} == counts
    for kind, _n, _over, rate, low, high, told in drawn:
        clumps = dispersion(sql, None if kind == "all faults" else kind)
        n = counts[kind] / clumps
        assert float(told) == pytest.approx(clumps, abs=6e-3)
        assert float(rate) == pytest.approx(counts[kind] / per_100ft, abs=6e-4)
        scale = clumps / 2 / per_100ft
        assert float(low) == pytest.approx(chi2.ppf(0.025, 2 * n) * scale, abs=6e-4)
        assert float(high) == pytest.approx(chi2.ppf(0.975, 2 * n + 2) * scale, abs=6e-4)
    assert max(float(row[-1]) for row in drawn) > 1
    (said,) = [row[2] for row in made.table("Totals").rows if row[0].startswith("Faults per")]
    assert said.endswith(f"dispersion {float(drawn[0][-1]):.2f}, from 4 runs probed")


def dispersion(sql: Any, kind: str | None) -> float:
    """Pearson's, at one rate for what of each seam was probed; here each seam is one run."""
    import numpy as np
    import statsmodels.api as sm

    seams = [s for (s,) in sql("SELECT DISTINCT seam_key FROM runs")]
    whole = {s: lengths(sql, s)[1] for s in seams if lengths(sql, s)[1] > 0}
    query = "SELECT count(*) FROM findings WHERE seam_key = ? AND kind <> 'sample cut' AND kind = coalesce(?, kind)"
    counts = [sql(query, seam, kind)[0][0] for seam in whole]
    if not any(counts):
        return 1.0
    model = sm.GLM(
        counts,
        np.ones(len(counts)),
        family=sm.families.Poisson(),
        exposure=np.array(list(whole.values())),
    )
    return max(1.0, float(model.fit(scale="X2").scale))


def test_fit_points_are_the_readings_and_speeds_of_the_tables(made: Any, sql: Any) -> None:
    """Strip by strip: speed as measured, else as typed; every reading; and lengths welded at each speed."""
    drawn = [f for name, f in made.figures().items() if name.startswith("fit-")]
    assert len(drawn) == 2
    seen = {}
    for figure in drawn:
        for what, speed, readings, _note in figure.table.rows:
            if what.startswith("strip "):
                seen[what.removeprefix("strip ")] = (
                    float(speed),
                    sorted(map(float, readings.split())),
                )
    for name, speed, strip in sql(
        "SELECT name, coalesce(true_speed_m_per_min, speed_m_per_min), id FROM strips"
    ):
        widths = sorted(
            mm / IN for (mm,) in sql('SELECT width_mm FROM readings WHERE "of" = ?', strip)
        )
        assert seen.pop(name) == (
            pytest.approx(speed / FT, abs=6e-3),
            pytest.approx(widths, abs=6e-4),
        )
    assert seen == {}
    used = {
        (f.name[4:14], row[1]): feet(row[3])
        for f in drawn
        for row in f.table.rows
        if row[0] == "welded"
    }
    told = sql(
        "SELECT day, round(speed_m_per_min / 0.3048, 2), sum(abs(end_m - start_m)) FROM runs WHERE go_ahead IS NOT NULL GROUP BY 1, 2"
    )
    assert used == {(day, f"{v:.2f}"): pytest.approx(m / FT, rel=1e-3) for day, v, m in told}


def test_the_curve_is_the_fits_own(made: Any, sql: Any) -> None:
    """The last day's curve, forecast anew from observations read with SQL."""
    from weldcal.calibration import Observation, SpeedQuestion, Window, fit

    def observation(row: Any, on_seam: bool) -> Observation:
        (
            strip,
            day,
            hour,
            nozzle,
            speed,
            ambient,
            sheet,
            wind,
            humidity,
            line,
            bubbling,
            bond,
            *at,
        ) = row
        read_at = json.loads(at[0] or "{}").get("sheet_temp", at[2] if on_seam else None)
        aged = 0.0 if read_at is None else _hours(read_at, at[1]) * 6 // 1 / 6  # by tens of minutes
        widths = tuple(
            mm for (mm,) in sql('SELECT width_mm FROM readings WHERE "of" = ? ORDER BY n', strip)
        )
        return Observation(
            day=day,
            hour=hour,
            machine="blue",
            sheet="base",
            lap="selvage",
            nozzle_c=nozzle,
            speed_m_per_min=speed,
            ambient_c=ambient,
            sheet_c=sheet,
            wind_m_per_s=wind,
            humidity_pct=humidity,
            line_v=line,
            readings_mm=widths,
            bubbling=bubbling,
            bond=bond,
            on_seam=on_seam,
            hour_sheet_read=hour - aged if aged else None,
            id=strip,
        )

    weather = "ambient_c, sheet_c, wind_m_per_s, humidity_pct, line_v"
    strips = [
        observation(r, False)
        for r in sql(
            f"SELECT id, day, hour, nozzle_c, coalesce(true_speed_m_per_min, speed_m_per_min), {weather}, bubbling, bond, carried, seen_local FROM strips ORDER BY seen_utc, tick"
        )
    ]
    checks = [
        observation(r, True)
        for r in sql(
            f"SELECT b.id, b.day, b.hour, r.nozzle_c, r.speed_m_per_min, {weather}, b.bubbling, NULL, r.carried, b.seen_local, r.seen_local FROM bleeds b JOIN runs r USING (seam_key) ORDER BY b.seen_utc"
        )
    ]
    along = "(p.at_m - r.start_m) / (r.end_m - r.start_m)"
    took_h = "24 * (julianday(r.finished_utc) - julianday(r.seen_utc))"
    samples = [
        observation(r, True)
        for r in sql(
            f"SELECT p.id, r.day, r.hour + {along} * {took_h}, r.nozzle_c, r.speed_m_per_min, {weather}, NULL, 'good', r.carried, r.seen_local, r.seen_local FROM peels p JOIN runs r USING (seam_key) WHERE p.parted <> 'at the lap'"
        )
    ]
    last = strips[-1]
    low, aim, high = 25.4 / 8, 25.4 / 4, 25.4 * 3 / 8
    known = fit([*strips, *checks, *samples], Window(low_mm=low, aim_mm=aim, high_mm=high))
    question = SpeedQuestion(
        day=last.day,
        machine="blue",
        sheet="base",
        lap="selvage",
        nozzle_c=last.nozzle_c,
        ambient_c=last.ambient_c,
        sheet_c=last.sheet_c,
        wind_m_per_s=last.wind_m_per_s,
        humidity_pct=last.humidity_pct,
        line_v=last.line_v,
        hour=last.hour,
    )
    curve = made.facts.fits[-1].curve
    forecasts = known.forecast(question, [speed for speed, *_rest in curve], last.nozzle_c)
    for (_speed, middle, least, most), f in zip(curve, forecasts, strict=True):
        assert (middle, least, most) == pytest.approx(
            (f.width_mm, f.width_low_mm, f.width_high_mm), rel=1e-9
        )
    told = {
        row[1]: row[2:] for row in made.figures()["fit-2026-06-02-0"].table.rows if row[0] == "fit"
    }
    for speed, middle, *_rest in curve[::4]:
        assert float(told[f"{speed / FT:.2f}"][0]) == pytest.approx(middle / IN, abs=6e-4)


def test_bleed_checks_are_the_tables(made: Any, sql: Any) -> None:
    """Median, least and most of each check, from its single readings."""
    from statistics import median

    drawn = {
        row[0]: [float(x) for x in row[3:6]] for row in made.figures()["bleed-order"].table.rows
    }
    for name, check in sql("SELECT name, id FROM bleeds"):
        widths = [mm / IN for (mm,) in sql('SELECT width_mm FROM readings WHERE "of" = ?', check)]
        assert drawn.pop(name) == pytest.approx(
            [median(widths), min(widths), max(widths)], abs=6e-4
        )
    assert drawn == {}


def test_control_limits_follow_the_handbook(made: Any, sql: Any) -> None:
    """Centre the go-ahead's median; 3 sigma by the mean moving range over 1.128 (NIST 6.3.2.2), rounding's spread added."""
    figure = made.figures()["control-S2"]
    medians = [mm / IN for (mm,) in sql("SELECT width_median_mm FROM bleeds ORDER BY seen_utc")]
    assert [float(row[2]) for row in figure.table.rows] == pytest.approx(medians, abs=6e-4)
    ranges = [abs(b - a) for a, b in itertools.pairwise(medians)]
    step = 1 / 16 / math.sqrt(2)  # each check is of two readings
    sigma = math.hypot(sum(ranges) / len(ranges) / 1.128, step / math.sqrt(12))
    low, high = map(float, re.search(r"limits (-?[\d.]+) to ([\d.]+)", figure.caption).groups())
    assert (low, high) == (
        pytest.approx(max(0.0, 0.25 - 3 * sigma), abs=1e-3),
        pytest.approx(0.25 + 3 * sigma, abs=1e-3),
    )


def test_the_roof_is_drawn_to_scale(made: Any, sql: Any) -> None:
    """A bar's solid and hollow lengths over the scale bar's are the metres of the tables."""
    svg = made.figures()["bars-1"].svg
    lines = re.findall(
        r'<path d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)" stroke="(#\w+)" stroke-width="([\d.]+)"',
        svg,
    )
    flat = [
        (float(x0), float(y0), float(x1), colour, float(wide))
        for x0, y0, x1, y1, colour, wide in lines
        if y0 == y1
    ]
    (bar,) = [x1 - x0 for x0, _y, x1, colour, wide in flat if wide == 2 and colour == "#1a1a1a"]
    length = float(re.search(r">(\d+) ft</text>", svg)[1])
    for row, name in enumerate(f"a{n}" for n in range(1, 9)):
        y = 20 + 22 * row
        solid = sum(
            x1 - x0
            for x0, at, x1, colour, wide in flat
            if at == y and wide == 7 and colour == "#1d4e89"
        )
        hollow = sum(
            x1 - x0
            for x0, at, x1, colour, wide in flat
            if at == y and wide == 7 and colour == "#1a1a1a"
        )
        welded, probed = lengths(sql, name)
        # A hollow bar lies over the solid one; two decimals of a coordinate.
        assert solid / bar * length * FT == pytest.approx(welded, abs=0.02)
        assert hollow / bar * length * FT == pytest.approx(welded - probed, abs=0.02)


def test_marks_on_the_roof_are_counted(made: Any, sql: Any) -> None:
    """Two open findings are crosses, one mended is a circle, one mended and probed a white dot, one sample a diamond."""
    svg = made.figures()["bars-1"].svg
    marks = Drawing(svg).marks()
    assert {mark.names: mark.what for mark in marks} == {
        ("F4",): "open",
        ("F2",): "open",
        ("F3",): "mended",
        ("P1",): "sample",
    }
    assert svg.count('r="1.8"') == 1
    assert sql("SELECT count(*) FROM findings")[0][0] == 4


def test_people_and_their_entries_are_counted(made: Any, sql: Any) -> None:
    """By who typed each entry, from the bodies themselves."""
    counts: dict[str, int] = {}
    for (body,) in sql("SELECT body FROM entries"):
        counts[json.loads(body)["who"]] = counts.get(json.loads(body)["who"], 0) + 1
    assert {row[0]: int(row[2]) for row in made.table("People and their entries").rows} == counts


def _hours(earlier: str, later: str) -> float:
    """Hours between two times."""
    a, b = (datetime.fromisoformat(at).timestamp() for at in (earlier, later))
    return (b - a) / 3600
