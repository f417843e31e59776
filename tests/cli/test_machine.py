"""The machine measured: the speed behind a mark, the heat behind a reading, drift and whom it concerns."""

from __future__ import annotations

import contextlib
from typing import Any

import pytest

from weldcal.book import Book

SET = "--nozzle 932 --speed 5.5"
STRIP = f"strip record {SET} --bleed 1/4,3/16,5/16 --bubbling none"
FT = 0.3048
RUN = "--distance 20ft --time"
FAIR = f"machine measure blue --mark 5.5 {RUN} 218s"  # 20 ft in 218 s: 5.505 ft/min
SLOW = f"machine measure blue --mark 5.5 {RUN} 240s"  # 5 ft/min behind a mark of 5.5


def speeds(book: Any) -> list[float]:
    """Speeds of the job's strips as the computation gets them, ft/min."""
    with contextlib.closing(Book(book.book, by="Ana Ruiz")) as open_book:
        found = open_book.dialling.ask().observations
    return [round(one.speed_m_per_min / FT, 2) for one in found]


def test_a_measurement_is_the_distance_over_the_seconds(job: Any) -> None:
    """And tells what the mark was taken for."""
    out = " ".join(job.ok(SLOW).out.split())
    assert "Mark 5.5 is 5.00 ft/min measured; it was taken for 5.50 ft/min (-9.1 %)" in out
    (row,) = job.query("SELECT * FROM measures")
    assert row["speed_m_per_min"] == pytest.approx(20 * FT / 4)
    assert job.ok(f"{SLOW} --json").json["speed_m_per_min"] == pytest.approx(5 * FT)


def test_advice_is_given_in_marks_that_hold_from_then_on(job: Any) -> None:
    """A mark of 11 that runs at 10: the same advised speed lies at a higher mark."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    before = job.ok("dial --json").json
    assert before["speed_m_per_min"] / FT == pytest.approx(before["dial_mark"])
    job.ok(SLOW)
    after = job.ok("dial --json").json
    assert after["speed_m_per_min"] / FT == pytest.approx(after["dial_mark"] / 1.1)
    assert after["dial_mark"] > before["dial_mark"]


def test_earlier_strips_keep_what_the_mark_meant_then(job: Any) -> None:
    """Measured fair at 06:50, slow at 08:00: S1 ran at 5.5, S2 at 5.0."""
    job.day(f"06:50 {FAIR}\n07:00 {STRIP}\n08:00 {SLOW}\n08:10 {STRIP}")
    assert speeds(job) == pytest.approx([5.505, 5.0], abs=0.006)


def test_a_measurement_entered_late_counts_from_when_it_was_made(job: Any) -> None:
    """Entered at noon, made at 07:30."""
    job.day(f"06:50 {FAIR}\n07:00 {STRIP}\n08:10 {STRIP}\n12:00 {SLOW} --at 07:30")
    assert speeds(job) == pytest.approx([5.505, 5.0], abs=0.006)


def test_a_mark_measured_in_other_units_is_the_same_mark(job: Any) -> None:
    """1.6764 m/min is 5.5 ft/min on the dial."""
    job.ok(f"machine measure blue --mark 1.6764m/min {RUN} 240s")
    document = job.ok("machine drift blue --json").json
    assert document["checks"][0]["ratio"] == pytest.approx(5 / 5.5, abs=1e-4)
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    advice = job.ok("dial --json").json
    assert advice["speed_m_per_min"] / FT == pytest.approx(advice["dial_mark"] / 1.1)


def test_a_dial_of_bare_numbers_can_be_used_after_two_measurements(job: Any) -> None:
    """Before, its marks say no speed; one line says what to type."""
    job.ok('machine add "red: marks 1-10 step 0.5"')
    refused = job("dial --machine red")
    assert refused.code == 2
    assert "measure" in refused.err
    assert len(refused.err.splitlines()) == 1
    job.ok(f"machine measure red --mark 4 {RUN} 300s")
    assert job("dial --machine red").code == 2
    job.ok(f"machine measure red --mark 8 {RUN} 150s")
    advice = job.ok("dial --machine red --json").json
    assert 4 <= advice["dial_mark"] <= 8
    assert advice["speed_m_per_min"] / FT == pytest.approx(advice["dial_mark"])


def test_a_bare_number_measured_again_tells_drift(job: Any) -> None:
    """Against what was measured of the mark before."""
    job.ok('machine add "red: marks 1-10 step 0.5"')
    job.day(f"""
        07:00 machine measure red --mark 4 {RUN} 300s
        07:05 machine measure red --mark 8 {RUN} 150s
        12:00 machine measure red --mark 4 {RUN} 340s
    """)
    document = job.ok("machine drift red --json").json
    assert document["state"] == "drifted"
    assert document["ratio"] == pytest.approx(300 / 340)


def test_nothing_measured_says_so(job: Any) -> None:
    """No crash, and no verdict."""
    assert "No measurement" in job.ok("machine drift blue").out
    assert job.ok("machine drift blue --json").json["state"] is None


def test_a_fair_dial_holds(job: Any) -> None:
    """Within 5 %."""
    job.ok(FAIR)
    assert "WITHIN: the dial holds." in job.ok("machine drift blue").out
    assert job.ok("machine drift blue --json").json["seams"] == []


def test_a_short_distance_cannot_tell(job: Any) -> None:
    """1 ft in 11 s by thumb: 5.5 ± 0.3 ft/min; measure over a longer distance."""
    job.ok("machine measure blue --mark 5.5 --distance 1ft --time 11s")
    out = job.ok("machine drift blue").out
    assert "CANNOT TELL: measure over a longer distance" in out
    assert "DRIFTED" not in out


def test_a_drifted_machine_names_the_seams_since_the_last_good_check(job: Any) -> None:
    """A1 before it, A2 and A3 after; at 91 to 100 % of the speed recorded."""
    job.day(f"""
        07:00 seam start A1 {SET}
        07:10 seam finish A1 --to 33
        07:20 {FAIR}
        07:30 seam start A2 {SET}
        07:40 seam finish A2 --to 33
        07:50 seam start A3 {SET}
        08:00 seam finish A3 --to 33
        08:10 {SLOW}
    """)
    out = " ".join(job.ok("machine drift blue").out.split())
    assert "DRIFTED" in out
    assert "ran at 91 to 100 % of the speed recorded: A2, A3." in out
    assert job.ok("machine drift blue --json").json["seams"] == ["A2", "A3"]


def test_a_run_under_way_at_the_last_good_check_is_concerned_too(job: Any) -> None:
    """Begun before it, finished after it."""
    job.day(f"""
        07:00 seam start A1 {SET}
        07:05 {FAIR}
        07:10 seam finish A1 --to 33
        08:10 {SLOW}
    """)
    assert job.ok("machine drift blue --json").json["seams"] == ["A1"]


def test_a_machine_never_found_good_puts_every_seam_of_its_own_in_question(job: Any) -> None:
    """And the document is JSON: no infinity in it; another machine's seams are not in it."""
    job.ok('machine add "red: ft/min"')
    job.day(f"""
        07:00 seam start A1 {SET} --machine blue
        07:10 seam finish A1 --to 33
        07:12 seam start A2 {SET} --machine red
        07:20 seam finish A2 --to 33
        08:10 {SLOW}
    """)
    done = job.ok("machine drift blue --json")
    assert "Infinity" not in done.out
    assert "NaN" not in done.out
    assert done.json["seams"] == ["A1"]


def test_a_measured_nozzle_tells_its_offset(job: Any) -> None:
    """Set to 932 °F, 900 °F measured: 32 °F less."""
    out = job.ok("machine measure blue --nozzle-set 932 --nozzle-measured 900").out
    assert "32" in out
    drift = " ".join(job.ok("machine drift blue").out.split())
    assert "932 °F" in drift
    assert "900 °F" in drift
    assert "-32 °" in drift


def test_a_nozzle_offset_is_no_speed(job: Any) -> None:
    """The dial stays as it was."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    job.ok("machine measure blue --nozzle-set 932 --nozzle-measured 900")
    advice = job.ok("dial --json").json
    assert advice["speed_m_per_min"] / FT == pytest.approx(advice["dial_mark"])
    assert advice["nozzle_set_c"] == pytest.approx(500, abs=0.1)


BAD = [
    "machine measure blue",
    f"machine measure blue --mark 5.5 {RUN} 0s",
    "machine measure blue --mark 5.5 --distance 0 --time 240s",
    "machine measure blue --mark 5.5 --distance=-20ft --time 240s",
    "machine measure blue --mark fast --distance 20ft --time 240s",
    "machine measure blue --mark 5.5 --distance 20ft",
    "machine measure blue --nozzle-set 932",
    "machine measure blue --nozzle-set 932 --nozzle-measured 9320",
    f"machine measure red --mark 5.5 {RUN} 240s",
    f"machine measure blue --mark 5.5 {RUN} 240s --at soon",
]


@pytest.mark.parametrize("line", BAD)
def test_what_cannot_be_measured_is_refused_in_one_line(job: Any, line: str) -> None:
    """Exit code 2, nothing recorded."""
    before = job.entries()
    refused = job(line)
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.splitlines()) == 1
    assert job.entries() == before


def test_a_mark_off_the_dial_is_kept_and_told(job: Any) -> None:
    """The dial ends at 20."""
    out = job.ok(f"machine measure blue --mark 55 {RUN} 240s").out
    assert "20" in out.split("recorded.")[1]


def test_drift_of_a_machine_nobody_listed_is_refused(job: Any) -> None:
    """And says which there are."""
    refused = job("machine drift red")
    assert refused.code == 2
    assert "blue" in refused.err


def test_three_runs_are_kept_and_their_mean_counts(job: Any) -> None:
    """218, 221 and 216 s over 20 ft: each as typed, the speed of their mean, no question asked."""
    out = " ".join(job.ok(f"machine measure blue --mark 5.5 {RUN} 218s,221s,216s").out.split())
    assert "Time it three times" not in out
    (row,) = job.query("SELECT * FROM measures")
    assert row["times_s"] == "[218.0, 221.0, 216.0]"
    assert row["speed_m_per_min"] == pytest.approx(20 * 0.3048 / ((218 + 221 + 216) / 3) * 60)
    assert job.ok("machine drift blue --json").json["checks"][0]["runs"] == 3
    job.ok("verify")


def test_one_run_is_kept_and_two_more_are_asked_for(job: Any) -> None:
    """Nobody knows how runs scatter from one; a few percent are taken, and so it is said."""
    out = " ".join(job.ok(FAIR).out.split())
    assert (
        "Fewer than three runs do not tell how runs scatter: 2 % is taken (site setting, no source)."
        in out
    )
    assert "--time 218s,221s,216s" in out


def test_runs_that_scatter_are_not_called_drifted(job: Any) -> None:
    """The same mean: alike it is drift, scattered nobody can tell."""
    job.ok(f"machine measure blue --mark 5.5 {RUN} 235,236,237")
    assert job.ok("machine drift blue --json").json["state"] == "drifted"
    job.clock.set("12:00")
    job.ok(f"machine measure blue --mark 5.5 {RUN} 220,236,252")
    assert job.ok("machine drift blue --json").json["state"] == "cannot_tell"
