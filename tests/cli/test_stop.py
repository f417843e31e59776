"""STOP as a person meets it: three good days, then something breaks.

The days are invented; that failures in a row are a fault to look for is common practice, no
source.
"""

from __future__ import annotations

import shutil
from typing import Any

import pytest

from weldcal.rules.causes import CAUSES, PATTERNS


def _strip(
    job: Any, at: str, speed: str, bleed: str, bubbling: str = "none", bond: str = "good"
) -> None:
    job.clock.set(at)
    job.ok(
        f"strip record --nozzle 932 --speed {speed} --bleed {bleed} "
        f"--bubbling {bubbling} --bond {bond}"
    )


@pytest.fixture
def settled(job: Any) -> Any:
    """Three good days about 7.5 ft/min; on the fourth a good strip, and a seam begun on it."""
    for day in range(4):
        job.clock.set("07:00", days=1 if day else 0)
        job.ok("conditions --ambient 61F --sheet-temp 74F --wind 5mph")
        _strip(job, "07:05", "7.5", "1/4,1/4,1/4")
        if day < 3:
            _strip(job, "07:13", "8", "3/16,3/16,3/16")
            _strip(job, "07:21", "7", "5/16,1/4,5/16")
    job.clock.set("07:30")
    job.ok("seam start A1 --nozzle 932 --speed 7.5")
    return job


def _check(job: Any, at: str, place: str, bleed: str) -> None:
    job.clock.set(at)
    job.ok(f"bleed A1 {place} {bleed}")


def test_before_the_checks_it_is_sure(settled: Any) -> None:
    """What comes after is not because of what was before."""
    document = settled.ok("dial --json").json
    assert (document["sure"], document["stop"]) == (True, False)


def test_dead_checks_in_a_row_stop_and_no_page_has_a_speed(settled: Any) -> None:
    """Advice, card, go-ahead and chart say one thing; the causes stand with their looks."""
    _check(settled, "07:40", "10", "0,0")
    assert not settled.ok("dial --json").json["sure"]
    _check(settled, "07:50", "20", "0,0")
    _check(settled, "08:00", "30", "0,0")
    page = " ".join(settled.ok("dial --why").out.split())
    assert "STOP" in page
    assert "Set " not in page
    assert "NEXT STRIP" not in page
    assert "SURE" not in page
    for cause in CAUSES["too_little"]:
        assert cause.look in page
    assert "common practice, no source" in page
    document = settled.ok("dial --json").json
    assert (document["stop"], document["sure"]) == (True, False)
    for key in ("speed_m_per_min", "dial_mark", "forecast", "next_strip", "speed_low_m_per_min"):
        assert document[key] is None
    assert document["signs"][0]["shown_by"] == ["B1"]
    card = settled.ok("dial --card").out
    assert "STOP" in card
    assert "ft/min" not in card
    assert settled.ok("dial --card --json").json == []
    assert "STOP" in settled("go-ahead").out
    chart = settled.ok("chart").out
    assert "OUT OF CONTROL" in chart
    assert "STOP" in chart


def test_the_stop_is_recorded_and_the_guided_day_goes_on(settled: Any) -> None:
    """An entry without a speed: what reads advice later does not fall over it."""
    for n, at in enumerate(("07:40", "07:50", "08:00")):
        _check(settled, at, str(10 * (n + 1)), "0,0")
    settled.ok("dial")
    payload = settled.entries()[-1]["payload"]
    assert payload["answer"]["stop"] is True
    assert "forecast" not in payload["answer"]
    assert settled("next").code in (0, 2)
    settled.ok("evening")
    settled.ok("verify")


def test_mended_the_speed_comes_back(settled: Any) -> None:
    """One good strip at the speed that was good."""
    for n, at in enumerate(("07:40", "07:50", "08:00")):
        _check(settled, at, str(10 * (n + 1)), "0,0")
    assert settled.ok("dial --json").json["stop"]
    _strip(settled, "08:40", "7.5", "1/4,1/4,1/4")
    document = settled.ok("dial --json").json
    assert document["stop"] is False
    assert document["dial_mark"] == pytest.approx(7.5, abs=0.5)
    assert document["rests_on"]["set_aside"] == 3


def test_cold_pulls_with_bleed_out_tell_where_to_look(job: Any) -> None:
    """5.5, 5.0 and 4.5 ft/min, all wide enough and all cold: never the same speed again."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    for at, speed, bleed in (
        ("07:05", "5.5", "1/4"),
        ("07:15", "5", "5/16"),
        ("07:25", "4.5", "3/8"),
    ):
        _strip(job, at, speed, f"{bleed},{bleed},{bleed}", bond="cold")
        document = job.ok("dial --json").json
        assert document["dial_mark"] is None or document["dial_mark"] < float(speed)
        assert "cold_anyway" in [sign["code"] for sign in document["signs"]]
    page = " ".join(job.ok("dial --why").out.split())
    assert "STOP" in page
    assert "film" in page


def test_an_impossible_order_is_told_with_both_names(job: Any) -> None:
    """Slower gave less: S1 and S2 stand on the page."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    _strip(job, "07:05", "5", "1/8,1/8,1/8")
    _strip(job, "07:15", "7", "3/8,3/8,3/8")
    page = " ".join(job.ok("dial --why").out.split())
    assert "the slower strip gave clearly less than the faster one (S1, S2)" in page
    assert "NOT SURE" in page


def test_a_sheet_far_from_all_tried_asks_and_holds_back(job: Any) -> None:
    """150 °F after three strips at 74 °F."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    for at, speed, bleed in (
        ("07:05", "8", "1/16"),
        ("07:15", "5.5", "1/4"),
        ("07:25", "5", "1/4"),
    ):
        _strip(job, at, speed, f"{bleed},{bleed},{bleed}")
    page = " ".join(job.ok("dial --why --sheet-temp 150F").out.split())
    assert "NOT SURE" in page
    assert "cut the heat, or wait" in page
    assert job.ok("dial --sheet-temp 150F --json").json["dial_mark"] <= 9


def test_an_old_reading_is_told_with_its_age(settled: Any) -> None:
    """Read at 07:00, asked at 11:40: wider, not sure, and asked for again."""
    early = settled.ok("dial --json").json["forecast"]
    settled.clock.set("11:40")
    late = settled.ok("dial --json").json
    assert late["forecast"]["width_high_mm"] > early["width_high_mm"]
    assert late["forecast"]["width_low_mm"] < early["width_low_mm"]
    assert not late["sure"]
    assert "read it again" in " ".join(settled.ok("dial --why").out.split())
    fresh = " ".join(settled.ok("dial --why --sheet-temp 74F").out.split())
    assert "read it again" not in fresh


def test_no_reason_names_a_voltage_that_nobody_read(settled: Any) -> None:
    """A zero at 9 ft/min: the strips are the reasons, by their names."""
    _strip(settled, "07:40", "9", "0,0,0", bond="'not tried'")
    page = settled.ok("dial --why").out
    assert "voltage" not in page.split("Why")[-1].split("NEXT STRIP")[0]
    for reason in settled.ok("dial --json").json["reasons"]:
        assert reason["code"] in ("strip", "sheet_temperature", "wind")
        if reason["code"] == "strip":
            assert reason["values"]["name"].startswith("S")


def test_power_lost_makes_a_break_likelier(settled: Any, tmp_path: Any) -> None:
    """The same bad check, with power lost before it or not."""
    kept = tmp_path / "before.sqlite"
    shutil.copy(settled.book, kept)

    def after(finish: str) -> float:
        shutil.copy(kept, settled.book)
        settled.clock.set("07:45")
        settled.ok(finish)
        settled.ok("seam start A2 --nozzle 932 --speed 7.5")
        settled.clock.set("07:50")
        settled.ok("bleed A2 10 0,0")
        return float(settled.ok("dial --json").json["state"]["chance_machine_off"])

    plain = after("seam finish A1 --to 50")
    lost = after("seam finish A1 --to 50 --power-lost")
    assert lost > plain


def test_a_chart_needs_no_speed_behind_the_mark(weldcal: Any) -> None:
    """A dial of bare marks gives no advice; its checks are charted all the same."""
    weldcal.ok(
        'job new "Bare" --units us --zone America/Denver --by "Ana Ruiz" --sheet "base: SBS" '
        '--machine "old: marks 1-10 step 1" --person "Ana Ruiz: AR, operator"'
    )
    weldcal.ok('me "Ana Ruiz"')
    weldcal.ok("seam add A1 --length 33ft")
    weldcal.ok(
        "strip record --nozzle 932 --speed 5 --bleed 1/4,1/4,1/4 --bubbling none --bond good"
    )
    weldcal.ok("seam start A1 --nozzle 932 --speed 5")
    weldcal.ok("bleed A1 10 1/4,1/4")
    weldcal.ok("bleed A1 20 1/4,3/16")
    assert weldcal("dial").code == 2
    assert "Bleed checks on go-ahead" in weldcal.ok("chart").out


def test_every_pattern_has_causes_each_with_its_look() -> None:
    """The table is whole: no pattern without a cause, no cause without a look of its own."""
    assert set(CAUSES) == set(PATTERNS)
    for causes in CAUSES.values():
        assert len(causes) >= 3
        assert len({cause.look for cause in causes}) == len(causes)
        assert all(cause.cause and cause.look for cause in causes)


def test_far_from_all_tried_the_answer_asks_for_the_reading_and_says_cut_the_heat(job: Any) -> None:
    """150 °F after strips at 74 °F, or before any strip: a speed held back, no hour until which."""
    first = job.ok("dial --ambient 90F --sheet-temp 150F --as-typed")
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    for at, speed, bleed in (
        ("07:05", "5.5", "1/4"),
        ("07:15", "6", "3/16"),
        ("07:25", "5", "5/16"),
    ):
        _strip(job, at, speed, f"{bleed},{bleed},{bleed}")
    later = job.ok("dial --ambient 90F --sheet-temp 150F --as-typed")
    for said in (first, later):
        page = " ".join(said.out.split())
        assert "Is the sheet's reading right?" in page
        assert "cut the heat, or wait" in page
        assert "Until" not in page
    document = job.ok("dial --ambient 90F --sheet-temp 150F --as-typed --json").json
    assert document["dial_mark"] <= 9
    assert document["sure"] is False
    near = " ".join(job.ok("dial --ambient 61F --sheet-temp 74F").out.split())
    assert "reading right" not in near


def test_damp_written_down_makes_a_trace_of_bubbling_the_sheets_fault(settled: Any) -> None:
    """A check with a trace: not sure. Damp noted before it, also if typed late: water, likelier."""
    settled.clock.set("07:45")
    settled.ok("bleed A1 10 1/4,1/4 --bubbling trace")
    before = settled.ok("dial --json").json
    assert before["sure"] is False
    settled.ok("conditions --ambient 61F --sheet-temp 74F --damp yes --at 07:32")
    settled.ok("conditions --ambient 61F --sheet-temp 74F --damp no --at 07:40")
    after = settled.ok("dial --json").json
    assert after["state"]["chance_bubbles_anyway"] > 2 * before["state"]["chance_bubbles_anyway"]
    assert after["state"]["chance_machine_off"] <= before["state"]["chance_machine_off"] + 0.001
