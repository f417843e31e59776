"""Each threshold a verdict leans on stands beside it with its source, on the page and in JSON."""

from __future__ import annotations

from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"
CORD = "power --volts 120 --length 100ft --load 16A --cord 12AWG"
SITE = "site setting, no source"


def page(book: Any, line: str) -> str:
    """What a command shows, its folds undone."""
    return " ".join(book.ok(line).out.split())


def test_the_drop_advised_is_named_with_its_code(job: Any) -> None:
    """3 % on the branch and 5 % in all, NEC 210.19(A) informational note 4; a drop past 5 % says so."""
    out = page(job, CORD)
    assert "3 % branch, 5 % in all: NEC 210.19(A) informational note 4" in out
    assert "more than the 5 % advised in all" in out
    assert "advised in all." not in page(job, CORD.replace("12AWG", "10AWG"))
    document = job.ok(f"{CORD} --json").json
    assert (document["branch_share"], document["total_share"]) == (0.03, 0.05)
    assert "NEC 210.19(A)" in document["share_source"]


def test_the_margin_over_the_dew_point_has_its_source(job: Any) -> None:
    """Borrowed, and says from where."""
    line = "check --ambient 61F --humidity 85 --sheet-temp 58F"
    assert "ISO 8502-4" in page(job, line)
    document = job.ok(f"{line} --json").json
    assert document["dampness"]["limit_k"] == 3
    assert "ISO 8502-4" in document["margin_source"]


def test_drift_is_judged_by_a_tolerance_that_is_shown(job: Any) -> None:
    """±5 % of speed, ±27 °F of heat: site settings."""
    assert "Judged by" not in page(job, "machine drift blue")
    job.ok("machine measure blue --mark 5.5 --distance 20ft --time 240s")
    assert f"±5 % of speed and ±27 °F of nozzle heat: {SITE}" in page(job, "machine drift blue")
    document = job.ok("machine drift blue --json").json
    assert (document["speed_tolerance"], document["nozzle_tolerance_k"]) == (0.05, 15)
    assert document["tolerance_source"] == SITE


def test_a_measurement_too_short_to_tell_says_how_long_would_do(job: Any) -> None:
    """8 in at 5.3 ft/min behind a mark of 5.5: measured over the distance told, it tells."""
    job.ok("machine measure blue --mark 5.5 --distance 8in --time 7.5s")
    short = job.ok("machine drift blue --json").json
    assert short["state"] == "cannot_tell"
    assert "measure over a longer distance, at least" in page(job, "machine drift blue")
    feet = 1.02 * short["measure_over_m"] / 0.3048
    seconds = feet / (8 / 12 / 7.5)
    runs = ",".join([f"{seconds:.3f}s"] * 3)
    job.ok(f"machine measure blue --mark 5.5 --distance {feet:.4f}ft --time {runs}")
    told = job.ok("machine drift blue --json").json
    assert told["state"] == "within"
    assert told["measure_over_m"] is None


def test_points_against_a_place_are_this_programs_own(go_ahead: Any) -> None:
    """Nobody measured them."""
    go_ahead.ok("roof lay 'C 40ft x 20ft' --roll-width 39.4in --roll-length 33ft")
    document = go_ahead.ok("leak 12ft 4ft --where inside --json").json
    assert document["weights_source"] == "weights of this program's own judgement, no source"
    assert "Points: weights of this program's own judgement, no source." in page(
        go_ahead, "leak 12ft 4ft --where inside"
    )


@pytest.fixture
def welded(go_ahead: Any) -> Any:
    """A1 welded from end to end."""
    go_ahead.day(f"07:30 seam start A1 {SET}\n07:37 seam finish A1 --to 33")
    go_ahead.clock.set("10:00")
    return go_ahead


def test_a_walk_at_an_impossible_pace_is_told_what_is_possible(welded: Any) -> None:
    """33 ft in a minute is 10 m/min; 33 ft in half a minute is no probing, by a site setting."""
    assert "probe goes at" not in page(welded, "probe A1 0-33 --started 09:59 --by BO")
    out = page(welded, 'probe A1 0-33 --started "09:59:30" --by BO')
    assert f"Walked too fast to probe; a probe goes at 0.7 ft/min to 49.2 ft/min ({SITE})" in out
    (note,) = (
        n
        for n in welded.ok('probe A1 0-33 --started "09:59:30" --by BO --json').json["notes"]
        if n["code"] == "pace"
    )
    assert (note["least_m_per_min"], note["most_m_per_min"]) == (0.2, 15)
    assert note["pace_source"] == SITE


def test_a_plan_of_samples_says_what_it_takes_for_granted(weldcal: Any) -> None:
    """How alike feet of one lap are is nobody's measurement."""
    document = weldcal.ok("sample plan --json").json
    assert (document["within_lap"], document["within_lap_source"]) == (0.3, SITE)


def peels(book: Any, good: int, bad: int) -> None:
    """Samples cut from A1."""
    for n in range(good + bad):
        how = "lap" if n < bad else "compound"
        book.ok(f"peel A1 {1 + n / 2:g} --parted {how} --line-load 24lbf/in --by BO")


def test_no_failure_among_samples_bounds_the_share_that_is_bad(welded: Any) -> None:
    """1 - 0.05**(1/30) = 9.5 % (success run), where the rule of three says 3/30 = 10 %; below 30 it is silent."""
    peels(welded, 29, 0)
    assert "rule of three" not in page(welded, "sample loads")
    assert (
        "None of 29 samples from seams failed: with 95 % confidence no more than 9.8 % of the lap is bad"
        in page(welded, "sample loads")
    )
    peels(welded, 1, 0)
    out = page(welded, "sample loads")
    assert "no more than 9.5 % of the lap is bad, if their places were drawn at random" in out
    assert "The rule of three says 10.0 %" in out
    document = welded.ok("sample loads --json").json
    share = document["share_bad"]
    assert share["most"] == pytest.approx(1 - 0.05 ** (1 / 30))
    assert share["by_three"] == pytest.approx(0.1)
    assert "principle of GRI GM14" in document["spacing_source"]
    assert document["spacing_source"] in out


def test_failures_among_samples_give_an_exact_interval(welded: Any) -> None:
    """2 of 10 at 95 %: 2.52 to 55.61 % (tables of Clopper-Pearson limits, from memory)."""
    peels(welded, 8, 2)
    assert "2 of 10 samples from seams failed: 2.5 to 55.6 % of the lap is bad" in page(
        welded, "sample loads"
    )
    share = welded.ok("sample loads --json").json["share_bad"]
    assert (share["low"], share["high"]) == pytest.approx((0.0252, 0.5561), abs=5e-5)
    assert share["by_three"] is None
