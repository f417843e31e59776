"""Bleed checks charted against their go-ahead; samples: how many, where, what they show."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest

from weldcal.reports.show import tape

SET = "--nozzle 932 --speed 5.5"
FT = 0.3048


@pytest.fixture
def welded(go_ahead: Any) -> Any:
    """A1, A2 and A3 welded one after the other on S1, whose readings' median is 1/4 in."""
    for n, name in enumerate(("A1", "A2", "A3")):
        start = 12 + 12 * n
        go_ahead.day(
            f"07:{start} seam start {name} {SET}\n07:{start + 10} seam finish {name} --to 33"
        )
    return go_ahead


def checks(book: Any, *found: str) -> None:
    """Bleed checks, `SEAM PLACE READINGS`, made while the lap was welded."""
    for text in found:
        seam, place, readings = text.split()
        minute = 12 * int(seam[1]) + int(float(place) / 33 * 10)
        book.day(f"07:{minute:02d} bleed {seam} {place} {readings}")


STEADY = [
    f"A{n} {at} {w}"
    for n in (1, 2)
    for at, w in ((3, "1/4"), (10, "5/16"), (17, "1/4"), (24, "3/16"), (31, "1/4"))
]


CALM = [
    f"A{n} {at} {w}"
    for n in (1, 2)
    for at, w in ((3, "1/4"), (10, "1/4"), (17, "5/16"), (20, "1/4"), (31, "1/4"))
]


def test_no_bleed_check_leads_on(welded: Any) -> None:
    """One line, exit code 2."""
    refused = welded("chart")
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert "bleed" in refused.err


@pytest.mark.parametrize("line", ["chart", "chart S1", "sample draw", "sample loads", "faults"])
def test_a_job_with_nothing_on_it_is_led_on(job: Any, line: str) -> None:
    """Exit code 2, one line that says what comes first, no empty quotes, nothing recorded."""
    assert "''" not in job.refused(line)


def test_one_check_tells_no_spread(welded: Any) -> None:
    """And draws, all the same."""
    checks(welded, "A1 3 1/4")
    out = welded.ok("chart").out
    assert "n = 1" in out
    assert "One check tells no spread yet" in out
    assert welded.ok("chart --json").json["individuals"]["low"] is None


def test_what_is_said_to_be_out_is_drawn_out(welded: Any) -> None:
    """One check far too small: "limits come with the second" and "out of control" cannot both be."""
    checks(welded, "A1 3 1/32")
    out = welded.ok("chart").out
    drawn = "".join(line for line in out.splitlines() if "|" in line)
    assert ("FIRST OUT OF CONTROL" in out) == ("X" in drawn)
    assert not ("no spread yet" in out and "FIRST OUT OF CONTROL" in out)


def test_limits_are_those_of_the_individuals_chart(welded: Any) -> None:
    """Centre of the go-ahead, 3 sigmas of MR/1.128 either way (NIST e-Handbook 6.3.2.2), and of the rounding, step/√12."""
    checks(welded, *STEADY)
    single = welded.ok("chart --json").json["individuals"]
    widths = [25.4 * x for x in (1 / 4, 5 / 16, 1 / 4, 3 / 16, 1 / 4) * 2]
    moving = sum(abs(a - b) for a, b in pairwise(widths)) / (len(widths) - 1)
    assert single["centre"] == pytest.approx(6.35)
    sigma = math.hypot(moving / 1.128, 25.4 / 16 / math.sqrt(12))
    assert single["high"] == pytest.approx(6.35 + 3 * sigma, rel=1e-3)
    assert "No point is out of control" in welded.ok("chart").out


def test_readings_that_never_differ_get_the_limits_of_their_rounding(welded: Any) -> None:
    """1/16 in steps: all the same is not no spread, and one step further is not out of control."""
    checks(welded, *(f"A1 {at} 1/4" for at in (3, 10, 17, 24, 31)), "A2 3 5/16")
    document = welded.ok("chart --json").json
    assert document["individuals"]["low"] < 6.35 - 25.4 / 32
    assert document["first_out"] is None
    assert "coarse" in welded.ok("chart").out


def test_the_first_point_out_and_what_was_welded_since_the_check_before(welded: Any) -> None:
    """Too little on A2 at 24 ft: A1 was finished long before."""
    checks(welded, *CALM[:9], "A2 24 1/32")
    out = " ".join(welded.ok("chart").out.split())
    assert "FIRST OUT OF CONTROL: B10 on seam A2 at 24 ft." in out
    assert "In doubt since the check before: A2, A3." in out
    assert "X" in welded.ok("chart").out
    document = welded.ok("chart --json").json
    assert document["checks"][document["first_out"]]["name"] == "B10"
    assert document["seams_in_doubt"] == ["A2", "A3"]


def test_a_check_made_after_the_welding_puts_its_own_seam_in_doubt(welded: Any) -> None:
    """Looked at A1 last of all: the order is that of welding."""
    checks(welded, *CALM, "A3 3 1/4", "A3 17 1/4")
    welded.day("08:30 bleed A1 20 1/32")
    assert "A1" in welded.ok("chart --json").json["seams_in_doubt"]


def test_a_slow_drift_is_seen_by_the_moving_average(welded: Any) -> None:
    """Each step is small; together they are not."""
    small = [
        f"A1 {at} {w}"
        for at, w in (
            (2, "1/4"),
            (6, "5/16"),
            (10, "3/16"),
            (14, "1/4"),
            (18, "5/16"),
            (22, "3/16"),
            (26, "1/4"),
        )
    ]
    drift = [f"A2 {3 + 4 * n} 5/16" for n in range(7)] + [f"A3 {3 + 3 * n} 5/16" for n in range(9)]
    checks(welded, *small, *drift)
    document = welded.ok("chart --json").json
    assert document["individuals"]["out"] == []
    assert document["ewma"]["out"]
    assert document["first_out"] == document["ewma"]["out"][0]


@pytest.mark.parametrize("columns", [40, 80])
def test_the_chart_fits_the_screen(
    welded: Any, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    """40 checks: the newest are there, no line is longer than the screen, the first out is marked."""
    checks(welded, *(f"A{n} {at} 1/4" for n in (1, 2, 3) for at in range(1, 14)), "A3 32 1/32")
    monkeypatch.setenv("COLUMNS", str(columns))
    lines = welded.ok("chart").out.splitlines()
    assert max(map(len, lines)) <= columns
    assert any("X" in line for line in lines if "|" in line)


def test_the_chart_of_a_strip_that_is_none_is_refused(welded: Any) -> None:
    """A1 is a seam, S9 nothing."""
    checks(welded, "A1 3 1/4")
    assert welded("chart A1").code == 2
    assert welded("chart S9").code == 2
    assert welded("chart S1").code == 0


# -- samples ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("most", "confidence", "allowed", "samples"),
    [
        (5, 95, 0, 59),
        (10, 95, 0, 29),
        (1, 95, 0, 299),
        (5, 90, 0, 45),
        (5, 95, 1, 93),
        (10, 90, 2, 52),
    ],
)
def test_how_many_samples(
    weldcal: Any, most: int, confidence: int, allowed: int, samples: int
) -> None:
    """ln(1 - confidence)/ln(1 - share) with none failing (0.95**59 = 0.0485, 0.95**58 = 0.0510)."""
    line = f"sample plan --most {most} --confidence {confidence} --allowed {allowed} --json"
    assert weldcal.ok(line).json["samples"] == samples
    p, tail = most / 100, 1 - confidence / 100

    def at_most(n: int) -> float:
        return sum(math.comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(allowed + 1))

    assert at_most(samples) <= tail < at_most(samples - 1)


def test_feet_of_one_lap_are_not_independent(weldcal: Any) -> None:
    """10 ft in a row on each lap, beta-binomial; the page says so."""
    probing = weldcal.ok("sample plan --per-lap 10 --json").json["probing"]
    assert probing["design_effect"] == pytest.approx(3.7)
    assert 59 * FT < probing["length_m"] < 59 * 3.7 * FT
    out = " ".join(weldcal.ok("sample plan").out.split())
    assert "59 samples" in out
    feet = probing["length_m"] / FT
    assert (
        f"{feet:.0f} ft ({probing['length_m']:.0f} m) of probing on {probing['laps']} laps" in out
    )
    assert "likeness within a lap 0.3: site setting, no source" in out
    assert weldcal.ok("sample plan --per-lap 1 --json").json["probing"]["design_effect"] == 1


@pytest.mark.parametrize(
    "options",
    [
        "--most 0",
        "--most 100",
        "--most many",
        "--most 140",
        "--confidence 100",
        "--confidence 0",
        "--allowed=-1",
        "--allowed 0.5",
        "--per-lap=-3",
        "--most 0.0000001",
    ],
)
def test_a_plan_that_cannot_be_is_refused_in_one_line(job: Any, options: str) -> None:
    """Never "something went wrong"."""
    refused = job(f"sample plan {options}")
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.splitlines()) == 1
    assert "went wrong" not in refused.err


def test_places_are_drawn_and_recorded_with_their_seed(welded: Any) -> None:
    """From welded lap only; the entry holds what they were drawn from."""
    document = welded.ok("sample draw --count 20 --json").json
    assert document["name"] == "D1"
    assert len(document["places"]) == 20
    for place in document["places"]:
        assert place["seam"] in ("A1", "A2", "A3")
        assert 0 <= place["at_m"] <= 33 * FT
    (entry,) = (e for e in welded.entries() if e["kind"] == "draw")
    assert int(entry["payload"]["seed"]) == document["seed"]
    assert len(entry["payload"]["stretches"]) == 3
    welded.ok("verify")


def test_the_same_seed_draws_the_same_places_again(welded: Any) -> None:
    """And another seed others."""
    first = welded.ok("sample draw --count 8 --seed 7 --json").json["places"]
    assert welded.ok("sample draw --count 8 --seed 7 --json").json["places"] == first
    assert welded.ok("sample draw --count 8 --seed 8 --json").json["places"] != first
    shown = welded.ok("sample draw --count 8 --seed 7").out
    assert "seed 7" in shown
    for place in first:
        assert f"- {place['seam']} {tape(place['at_m'], 'us')}" in shown


def test_nothing_is_drawn_from_what_is_covered_or_not_welded(welded: Any) -> None:
    """A4 is only listed; once all is covered there is nothing to draw from, and it says that."""
    welded.ok("seam add A4 --length 33ft")
    drawn = welded.ok("sample draw --count 50 --seed 1 --json").json["places"]
    assert {place["seam"] for place in drawn} == {"A1", "A2", "A3"}
    welded.ok("cover A")
    refused = welded("sample draw")
    assert refused.code == 2
    assert "cover" in refused.err


@pytest.mark.parametrize(
    "options", ["--count 0", "--count=-1", "--count many", "--count 2.5", "--seed x"]
)
def test_a_draw_that_cannot_be_is_refused(welded: Any, options: str) -> None:
    """Exit code 2, nothing recorded."""
    before = welded.entries()
    assert welded(f"sample draw {options}").code == 2
    assert welded.entries() == before


def test_seed_nought_is_a_seed(welded: Any) -> None:
    """Not "none given"."""
    assert welded.ok("sample draw --seed 0 --json").json["seed"] == 0


def test_peel_loads_against_a_least_one(welded: Any) -> None:
    """Five of 20, 22, 24, 26, 28 lbf/in: mean 24, s 3.16; k(n=5, 90 %, 95 %) = 3.407 (tables of one-sided tolerance factors)."""
    for n, load in enumerate((20, 22, 24, 26, 28)):
        welded.ok(f"peel A1 {3 + 5 * n} --parted compound --line-load {load}lbf/in --by BO")
    document = welded.ok("sample loads --least 12lbf/in --json").json
    per = 4.4482216152605 / 25.4  # N/mm in a lbf/in
    found = document["loads"]
    assert found["n"] == 5
    assert found["mean"] == pytest.approx(24 * per, rel=1e-4)
    assert found["spread"] == pytest.approx(math.sqrt(10) * per, rel=1e-4)
    assert found["bound"] == pytest.approx((24 - 3.407 * math.sqrt(10)) * per, rel=2e-3)
    out = " ".join(welded.ok("sample loads --least 12lbf/in").out.split())
    assert "5 samples, mean 24.0 lbf/in, spread 3.2 lbf/in; parted in the compound 5." in out
    assert "Against 12.0 lbf/in: 0 below; shown." in out
    assert "NOT shown" in welded.ok("sample loads --least 20lbf/in").out
    assert "loads taken as normal" in out


def test_one_sample_shows_no_bound(welded: Any) -> None:
    """Mean, and that it is not known."""
    welded.ok("peel A1 3 --parted compound --load 40lbf --width 1in --by BO")
    out = welded.ok("sample loads --least 20lbf/in").out
    assert "1 sample, mean 40.0 lbf/in" in out
    assert "not known from one sample" in out


def test_spacing_tightens_after_a_failure_and_relaxes_after_passes(welded: Any) -> None:
    """150 m, halved, then half as much again after five passes (principle of GRI GM14; site settings)."""
    welded.ok("peel A1 1 --parted lap --line-load 4lbf/in --by BO")
    spacing = welded.ok("sample loads --json").json["spacing"]
    assert (spacing["why"], spacing["spacing_m"]) == ("tightened", pytest.approx(75))
    for n in range(5):
        welded.ok(f"peel A1 {3 + n} --parted compound --line-load 24lbf/in --by BO")
    spacing = welded.ok("sample loads --json").json["spacing"]
    assert (spacing["why"], spacing["spacing_m"]) == ("relaxed", pytest.approx(112.5))


def test_a_cut_sample_is_an_open_finding_until_patched_and_probed(welded: Any) -> None:
    """The seam says so."""
    welded.day(
        "10:00 probe A1 0-33 --by BO\n10:10 peel A1 12 --parted compound --load 40lbf --width 1in --by BO"
    )
    assert welded.seam("A1")["state"] == "open findings"
    welded.day("11:00 mend F1 --method patch --patch 12in --by AR")
    assert welded.seam("A1")["state"] == "mended and unprobed"
    welded.day("11:30 probe A1 10-14 --by BO")
    assert welded.seam("A1")["state"] == "probed with no open finding"
