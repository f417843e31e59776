"""The sheet between readings: when the next step comes, and how long a reading holds."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from tests.conftest import STRIP, Weldcal

READ = "conditions --ambient 61F --sheet-temp 66F --wind 5mph"
WARM = "strip record --nozzle 932 --speed 8 --bleed 1/4,3/16,1/4 --bubbling none --bond good --sheet-temp 120F"


@pytest.fixture
def dialled(job: Weldcal) -> Weldcal:
    """A warm day behind it, and this morning's reading and good strip."""
    job.day(f"""
        12:00 {WARM}
        +
        06:40 {READ}
        06:45 {STRIP}
        07:00 strip pull S2 good --parted compound
    """)
    return job


def later(book: Weldcal, more: str = "") -> list[dict[str, Any]]:
    """The steps that the advice tells."""
    found: list[dict[str, Any]] = book.ok(f"dial --json {more}").json["later_today"]
    return found


def test_the_page_says_when_the_step_comes(dialled: Weldcal) -> None:
    """`6 ft/min from about 08:10 (sheet 82 °F)`, if it stays clear."""
    said = dialled.ok("dial --why").out
    assert "Later today, if it stays clear" in said
    assert "ft/min from about" in said


def test_steps_come_one_after_the_other_and_faster_as_it_warms(dialled: Weldcal) -> None:
    """Before the warmest hour: later, warmer, faster."""
    steps = [s for s in later(dialled) if s["hour"] < 12]
    assert len(steps) >= 2
    for first, second in pairwise(steps):
        assert first["hour"] < second["hour"]
        assert first["temperature_c"] < second["temperature_c"]
        assert first["speed_m_per_min"] < second["speed_m_per_min"]


def test_under_an_overcast_sky_they_come_later(dialled: Weldcal) -> None:
    """And the page says under which sky."""
    clear, covered = later(dialled), later(dialled, "--sky overcast")
    assert not covered or covered[0]["hour"] > clear[0]["hour"]
    assert "if it stays clear" not in dialled.ok("dial --sky cloudy").out


def test_the_first_step_agrees_with_until_when_it_holds(dialled: Weldcal) -> None:
    """By warmth and by the clock it is one rule, looked at every degree."""
    said = dialled.ok("dial --json").json
    (first, *_more) = said["later_today"]
    assert first["temperature_c"] == pytest.approx(said["holds_until_sheet_c"], abs=2.5)


def test_the_place_moves_the_sun(dialled: Weldcal) -> None:
    """Without one the hour alone speaks, and the page says so; far north it is up early."""
    assert "By the hour alone" in dialled.ok("dial --why").out
    by_hour = later(dialled)
    dialled.ok('job place "Denver"')
    assert "By the hour alone" not in dialled.ok("dial --why").out
    assert later(dialled) != by_hour
    assert "39.70" in dialled.ok("job show").out


def test_a_place_nobody_knows_is_kept_and_told(job: Weldcal) -> None:
    """The hour alone goes on speaking."""
    assert "by the hour" in job.ok('job place "the old mill"').out
    assert job.ok("job show --json").json["jobs"][0]["place"] == "the old mill"
    job.ok("verify")


def test_a_noted_sky_says_where_an_old_reading_is_by_now(dialled: Weldcal) -> None:
    """Three hours of clear sky: the sheet is taken for warmer, and faster is advised, than after
    three hours of a sky that may have been any."""
    dialled.clock.set("09:30")
    unknown, clear = dialled.ok("dial --json").json, dialled.ok("dial --sky clear --json").json
    read_c = clear["question"]["sheet_c"]
    assert read_c + 5 < unknown["sheet_now_c"] < clear["sheet_now_c"]
    assert "a sky that nobody noted it is taken for" in " ".join(
        dialled.ok("dial --why").out.split()
    )
    assert clear["speed_m_per_min"] > unknown["speed_m_per_min"]
    assert "read it again" in dialled.ok("dial --why --sky clear").out


def test_the_card_tells_the_clock_too(dialled: Weldcal) -> None:
    """In 40 columns."""
    said = dialled.ok("dial --card").out
    assert "Later today" in said
    assert max(map(len, said.splitlines())) <= 40


def look(book: Weldcal) -> list[dict[str, Any]]:
    """What calls for a look because a reading is old."""
    triggers = book("go-ahead --json").json["triggers"]
    return [t for t in triggers if t["code"] == "reading_age"]


def test_the_sun_makes_a_readings_hours_less(job: Weldcal) -> None:
    """The step comes 11 °F on, and the sun takes less than the rule's two hours for it."""
    job.day(f"06:40 {READ}\n06:45 {STRIP}\n07:00 strip pull S1 good --parted compound")
    job.day("08:30 conditions --ambient 66F --sheet-temp 80F --wind 5mph\n08:31 dial\n08:50 verify")
    assert look(job) == []
    job.day("10:20 verify")
    (old,) = look(job)
    assert old["values"]["limit"] < 2
    assert "by the sun and the hour" in " ".join(job("go-ahead").out.split())
    job.ok("conditions --sheet-temp 96F")
    assert look(job) == []


def test_without_sun_the_rule_alone_counts(job: Weldcal) -> None:
    """At night nothing moves the sheet but the air."""
    job.day(f"""
        22:00 {READ}
        22:05 {STRIP}
        22:20 strip pull S1 good --parted compound
        23:40 verify
    """)
    assert look(job) == []


def test_a_strip_by_an_old_reading_says_less(job: Weldcal, weldcal: Weldcal) -> None:
    """The same strip with its sheet carried over from two hours before, and read anew."""

    def unsure(book: Weldcal, more: str) -> float:
        book.day(f"07:00 {READ}\n09:30 {STRIP} {more}")
        f = book.ok("dial --sheet-temp 66F --json").json["forecast"]
        return float(f["width_high_mm"] - f["width_low_mm"])

    spare = job.book.read_bytes()
    carried = unsure(job, "")
    job.book.write_bytes(spare)
    assert unsure(job, "--sheet-temp 66F --ambient 61F") < carried


FIRST_DAY = 'limit set first_day_strips 2 --source "site rule 4"'


def test_the_job_may_ask_for_a_second_strip_on_a_sheets_first_day(job: Weldcal) -> None:
    """After one: strip again, with the job's source; after two at the setting: good."""
    job.clock.set("06:40")
    job.ok(FIRST_DAY)
    job.day(f"06:40 {READ}\n06:42 {STRIP}\n06:55 strip pull S1 good --parted compound")
    said = job("go-ahead")
    assert said.code == 1
    assert "first day of this sheet" in said.out
    assert "site rule 4" in said.out
    start = "seam start A1 --nozzle 932 --speed 5.5 --json"
    notes = [n for n in job.ok(start).json["notes"] if n.get("code") == "warning"]
    assert [n["shortfall"] for n in notes] == ["moved_first_day"]
    job.day(f"06:58 {STRIP}\n07:10 strip pull S2 good --parted compound")
    assert job("go-ahead --json").json["level"] == "good"


def test_the_second_day_asks_no_second_strip(job: Weldcal) -> None:
    """Nor does a job that never asked for one."""
    strip = f"06:42 {STRIP}\n06:55 strip pull {{}} good --parted compound"
    job.day(f"06:40 {READ}\n{strip.format('S1')}")
    assert job("go-ahead --json").json["level"] == "good"
    job.ok(FIRST_DAY)
    job.day(f"+\n06:40 {READ}\n{strip.format('S2')}")
    assert job("go-ahead --json").json["level"] == "good"
