"""Doubt and samples know of each other; conflicts are told where the day is; a past day is as it was."""

from __future__ import annotations

import json
import shutil
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.bracket import Bracketed
from weldcal.quality.doubt import BLEED, PEEL, Check, Welded

FT = 0.3048
MARGIN, REACH = 0.15, 1.0


@pytest.fixture
def doubted(welded_whole: Any) -> Any:
    """A1 to A3 welded on S1; bleed checks of A1 at 20 ft and of A2 at 10 ft far too little."""
    welded_whole.ok("bleed A1 20 1/32 --at 07:24")
    welded_whole.ok("bleed A2 10 1/32 --at 07:33")
    return welded_whole


def test_doubt_says_the_fewest_cuts_that_end_it(doubted: Any) -> None:
    """Two failures far apart: a cut on either side of each, past where a mend reaches."""
    found = doubted.ok("sample cuts --json").json["for_doubt"]
    places = [(c["seam"], round(c["at_m"] / FT, 2)) for c in found]
    assert len(found) == 4
    assert [seam for seam, _at in places] == ["A1", "A1", "A2", "A2"]
    assert places[0][1] < 19.5 and places[1][1] > 20.5  # the mend covers 6 in on either side
    said = " ".join(doubted.ok("doubt").out.split())
    assert "Fewest cuts that end it all, if the pulls are good: 4" in said
    for cut in found:
        at = cut["at_m"] / FT
        doubted.ok(f"peel {cut['seam']} {at:.4f} --parted compound --line-load 25lbf/in --by BO")
    left = doubted.ok("doubt --json").json["doubts"]
    assert all(d["length_m"] < 2 * (REACH + MARGIN + 0.05) for d in left)
    assert doubted.ok("sample cuts --json").json["for_doubt"] == []


def test_a_place_drawn_that_lies_beside_a_failure_is_the_cut(doubted: Any) -> None:
    """Drawn for the plan, it serves both; nothing is cut twice."""
    for seed in range(200):
        copy = Path(str(doubted.book) + ".copy")
        shutil.copyfile(doubted.book, copy)
        drawn = doubted.ok(f"sample draw --count 5 --seed {seed} --by BO --json").json["places"]
        beside = [p for p in drawn if p["seam"] == "A1" and 20.6 < p["at_m"] / FT < 23.4]
        if beside:
            break
        shutil.move(copy, doubted.book)
    document = doubted.ok("sample cuts --json").json
    taken = [(c["seam"], c["at_m"]) for c in document["for_doubt"] if c["drawn"]]
    assert (beside[0]["seam"], beside[0]["at_m"]) in taken
    more = doubted.ok("sample cuts --count 9 --json").json
    assert more["draw"] is None or len(more["for_plan"]) == 9 - len(more["for_doubt"])
    assert len(more["for_doubt"]) + len(more["for_plan"]) == 9
    places = [(c["seam"], c["at_m"]) for c in (*more["for_doubt"], *more["for_plan"])]
    assert len(set(places)) == len(places)


def test_the_plan_is_met_by_drawing_the_rest_with_a_seed_kept(doubted: Any) -> None:
    """Four for the doubt, three more drawn; asked again, those drawn stand."""
    first = doubted.ok("sample cuts --count 7 --seed 5 --by BO --json").json
    assert (len(first["for_doubt"]), len(first["for_plan"]), first["seed"]) == (4, 3, 5)
    again = doubted.ok("sample cuts --count 7 --json").json
    assert len(again["for_doubt"]) + len(again["for_plan"]) == 7
    assert len(doubted.query("SELECT 1 FROM draws")) == 1
    assert "7 cuts in all" in doubted.ok("sample cuts --count 7").out


RUN = Welded("r", "blue", "s", "a", 0.0, 40.0, 0.0)


@given(bad=st.lists(st.integers(1, 39), min_size=1, max_size=5, unique=True))
def test_no_smaller_set_of_places_would_do(bad: list[int]) -> None:
    """By brute force over places a quarter metre apart, every side of every failure beside a cut."""
    checks = [Check(f"b{at}", BLEED, False, "a", at, at, 1.0 + at) for at in bad]
    names = {check.id for check in checks}
    cuts = Bracketed([RUN], checks).least_cuts(names, MARGIN, REACH)
    sides = []
    for doubt in Bracketed([RUN], checks).doubts().doubts:
        at = float(doubt.failure[1:])
        if at > MARGIN + REACH:  # else the go-ahead bounds it as near as a cut could
            sides.append((at - MARGIN - REACH, at - MARGIN))
        if 40.0 - at > MARGIN + REACH:
            sides.append((at + MARGIN, at + MARGIN + REACH))
    places = [cut.place.start_m for cut in cuts]
    assert all(any(low - 1e-9 <= at <= high + 1e-9 for at in places) for low, high in sides)
    edges = sorted({edge for side in sides for edge in side})
    fewer = combinations(edges, len(cuts) - 1) if len(cuts) > 1 else []
    assert not any(
        all(any(low <= at <= high for at in some) for low, high in sides) for some in fewer
    )


def test_a_good_pull_beside_a_failure_ends_its_doubt_there() -> None:
    """So the cuts said are the cuts needed."""
    checks = [Check("b", BLEED, False, "a", 20.0, 20.0, 1.0)]
    cuts = Bracketed([RUN], checks).least_cuts({"b"}, MARGIN, REACH)
    pulls = [Check("p", PEEL, True, "a", c.place.start_m, c.place.start_m, 9.0) for c in cuts]
    (doubt,) = Bracketed([RUN], [*checks, *pulls]).doubts().doubts
    assert doubt.length_m == pytest.approx(cuts[1].place.start_m - cuts[0].place.start_m)
    assert not Bracketed([RUN], checks).least_cuts((), MARGIN, REACH)


@pytest.fixture
def apart(job: Any, tmp_path: Path) -> Any:
    """The length of A1 corrected on two devices, then merged."""
    there = tmp_path / "there.sqlite"
    from tests.conftest import Weldcal

    job.ok("pack", str(tmp_path / "start.weldpack"))
    other = Weldcal(there, job.capsys, job.clock)
    other.ok("merge", str(tmp_path / "start.weldpack"))
    job.ok('amend A1 length 34ft --why "taped again"')
    other.ok('amend A1 length 32ft --why "taped by me" --by BO')
    other.ok("pack", str(tmp_path / "back.weldpack"))
    job.ok("merge", str(tmp_path / "back.weldpack"))
    return job


def test_conflicts_between_devices_stand_on_the_roof_and_the_evening(apart: Any) -> None:
    """With both values, who said each, and what settles it; then gone."""
    for page in ("roof", "evening"):
        said = " ".join(apart.ok(page).out.split())
        assert "CONFLICT: A1, length was corrected apart: " in said
        for value in ("34ft by Ana Ruiz", "32ft by Ben Okoro"):  # of one tick, in either order
            assert value in said
    for page in ("roof --json", "evening --json"):
        (clash,) = apart.ok(page).json["conflicts"]
        assert (clash["name"], clash["path"], len(clash["said"])) == ("A1", "length", 2)
    apart.ok('amend A1 length 33.5ft --why "both taped it together"')
    assert apart.ok("roof --json").json["conflicts"] == []
    assert "CONFLICT" not in apart.ok("evening").out


@pytest.fixture
def two_days(welded_whole: Any) -> Any:
    """Monday: A1 to A3 welded, A1 probed, a void in A3. Tuesday: all of it probed and mended, B1 begun."""
    welded_whole.day("""
        10:00 probe A1 0-33 --by BO
        10:10 probe A3 0-33 --void 20+2in --by BO
    """)
    welded_whole.clock.set("16:00")
    before = welded_whole.ok("evening").out, welded_whole.ok("evening --json").json
    welded_whole.clock.set("08:00", days=1)
    welded_whole.ok("seam add B1 --length 33ft")
    welded_whole.ok("conditions --ambient 60F")
    welded_whole.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none")
    welded_whole.ok("mend F1 --method patch")
    welded_whole.ok("seam start B1 --nozzle 932 --speed 5.5")
    welded_whole.clock.set("10:00")
    welded_whole.ok("probe A2 0-33 --by BO")
    welded_whole.ok("probe A3 19-22 --by BO")
    welded_whole.ok('amend A1 length 34ft --why "taped again"')
    return welded_whole, before


def test_the_evening_of_a_past_day_is_as_of_that_day(two_days: Any) -> None:
    """What was open then is open on its page, and nothing of the next day stands there."""
    book, (said, data) = two_days
    entries = len(book.entries())
    then = book.ok("evening --day 2026-06-01 --json").json
    keys = ("open", "mended_unprobed", "welded_in_all_m", "probed_in_all_m", "warnings_open")
    assert {key: then[key] for key in keys} == {key: data[key] for key in keys}
    assert then["open"] == ["F1"]
    assert {k: v for k, v in then["first_tomorrow"].items() if k != "finish"} == {
        k: v for k, v in data["first_tomorrow"].items() if k != "finish"
    }
    assert then["as_of"] == "2026-06-01"
    page = " ".join(book.ok("evening --day 2026-06-01").out.split())
    assert "THAT DAY, MONDAY, JUNE 1, 2026, AS OF ITS END" in page
    assert "TODAY" not in page and "B1" not in page and "S2" not in page
    assert "findings open: A3 F1" in page and "findings open: A3 F1" in " ".join(said.split())
    assert len(book.entries()) == entries
    assert "findings open: none" in " ".join(book.ok("evening").out.split())
    assert json.dumps(book.ok("evening --json").json["as_of"]) == "null"


def test_paper_typed_up_the_next_day_counts_for_the_day_it_tells_of(two_days: Any) -> None:
    """Seen on Monday, entered on Tuesday."""
    book, _before = two_days
    book.ok('probe A2 0-33 --by BO --at "2026-06-01 15:00"')
    then = book.ok("evening --day 2026-06-01 --json").json
    assert then["probed_in_all_m"] == pytest.approx(3 * 33 * FT)


# -- across midnight, and the evening of a day gone by --------------------------------------------


def test_a_lap_finished_after_midnight_is_welded_on_the_day_it_was_finished(go_ahead: Any) -> None:
    """Begun on the evening's page before, all its feet on the next; no day says it twice."""
    go_ahead.day("""
        23:40 seam start A1 --nozzle 932 --speed 5.5
        +
        00:10 seam finish A1 --to 33
        09:00 seam start A2 --nozzle 932 --speed 5.5
        09:10 seam finish A2 --to 20
    """)
    told = {
        day: go_ahead.ok(f"evening --day {day} --json").json["welded_m"]
        for day in ("2026-06-01", "2026-06-02")
    }
    assert told == {"2026-06-01": 0, "2026-06-02": pytest.approx(53 * 0.3048)}
    go_ahead.clock.set("09:00", days=1)
    assert go_ahead.ok("evening --json").json["welded_m"] == 0
    again = go_ahead.ok("evening --day 2026-06-02 --json").json["welded_m"]
    assert again == pytest.approx(53 * 0.3048)


def test_hot_work_with_no_end_stays_open_on_the_next_days_page(go_ahead: Any) -> None:
    """Over midnight, and until somebody says when it ended."""
    watch = '--extinguisher x --deck steel --watch 60min --watch-source "permit 1"'
    go_ahead.day(f"23:41 hotwork start --permit 1 {watch}\n+\n00:11 conditions --ambient 50F")
    assert go_ahead.ok("evening --json").json["hot_work_unwatched"] == ["H1"]
    go_ahead.day("00:20 hotwork end\n01:20 hotwork watch")
    assert go_ahead.ok("evening --json").json["hot_work_unwatched"] == []


@pytest.mark.parametrize(
    ("last", "level"),
    [
        ("seam finish A1 --to 20 --power-lost", "strip_again"),
        ("bleed A1 5 0,0", "strip_again"),
        ("bleed A1 5 1/32", "look"),
        ("peel A1 5 --parted 'at the lap' --by BO", "strip_again"),
        ("bleed A1 5 1/4", "good"),
    ],
)
def test_a_day_gone_by_says_of_its_go_ahead_what_its_evening_said(
    go_ahead: Any, last: str, level: str
) -> None:
    """Whatever the last thing of the day was: a check, a sample, the end of a run."""
    go_ahead.day(f"07:20 seam start A1 --nozzle 932 --speed 5.5\n07:24 {last}")
    then = go_ahead.ok("evening --json").json["go_aheads"]
    assert then == [{"name": "S1", "level": level}]
    go_ahead.clock.set("09:00", days=1)
    assert go_ahead.ok("evening --day 2026-06-01 --json").json["go_aheads"] == then
