"""The start-up list before the first lap, yearly looks after the last, leaks until they are dry."""

from __future__ import annotations

from typing import Any

import pytest

from weldcal.quality.upkeep import START_UP
from weldcal.rules.on_seam import seam_of

SET = "--nozzle 932 --speed 5.5"


def flat(text: str) -> str:
    """A page without its folds."""
    return " ".join(text.split())


# -- the start-up list ----------------------------------------------------------------------------


def test_each_line_is_answered_by_somebody_at_a_time(job: Any) -> None:
    """Who and when stand beside it; "no" leaves it open; the last answer counts."""
    job.clock.set("06:30")
    job.ok("startup answer 1-3,7 yes --by BO")
    job.ok('startup answer 4 no --note "cavity not known"')
    page = flat(job.ok("startup").out)
    assert "10 of 14 lines open" in page.replace(f"{len(START_UP) - 4} of", "10 of")
    assert "7. Rolls are those of the contract" in page
    assert "yes, Ben Okoro, 2026-06-01 06:30" in page
    assert "4. OPEN: What lies beneath" in page
    assert "no, Ana Ruiz, 2026-06-01 06:30: cavity not known" in page
    job.clock.set("06:50")
    job.ok("startup answer 4 n/a")
    assert "4. What lies beneath" in flat(job.ok("startup").out)
    answers = job.query("SELECT answer FROM start_answers WHERE line = 'beneath' ORDER BY tick")
    assert [row["answer"] for row in answers] == ["no", "not needed"]
    job.ok("verify")


def test_lines_of_common_practice_are_marked_so_and_a_jobs_own_name_their_source(job: Any) -> None:
    """The program's lines say that they have no source."""
    job.ok('startup add "primer dry to the touch" --source "maker\'s instructions, 2025"')
    page = flat(job.ok("startup").out)
    assert f"Lines 1-{len(START_UP)}: common practice, no source" in page
    assert (
        f"{len(START_UP) + 1}. OPEN: primer dry to the touch (maker's instructions, 2025)" in page
    )
    job.ok(f"startup answer {len(START_UP) + 1} yes")
    assert len(job.ok("evening --json").json["start_up_open"]) == len(START_UP)


def test_the_first_lap_is_told_of_lines_left_open_and_no_later_one(go_ahead: Any) -> None:
    """And nothing once all is answered."""
    said = flat(go_ahead.ok(f"seam start A1 {SET}").out)
    assert f"First lap of the job: {len(START_UP)} lines of the start-up list are open" in said
    go_ahead.ok("seam finish A1 --to end")
    assert "start-up" not in go_ahead.ok(f"seam start A2 {SET}").out


def test_a_list_answered_whole_says_nothing_at_the_first_lap(go_ahead: Any) -> None:
    """Neither on the evening page."""
    said = flat(go_ahead.ok(f"startup answer 1-{len(START_UP)} yes").out)
    assert "Every line is answered." in said
    assert "start-up" not in go_ahead.ok(f"seam start A1 {SET}").out
    assert "start-up" not in go_ahead.ok("evening --ambient 55F").out


def test_what_is_unanswered_stands_on_the_evening_page_of_each_day(job: Any) -> None:
    """As of that day."""
    job.ok("startup answer 1-12 yes")
    assert "start-up list, lines open: 13, 14" in flat(job.ok("evening --ambient 55F").out)
    job.clock.set("08:00", days=1)
    job.ok("startup answer 13-14 yes")
    assert job.ok("evening --json").json["start_up_open"] == []
    assert job.ok("evening --day 2026-06-01 --json").json["start_up_open"] == [13, 14]


def test_an_answer_taken_back_leaves_its_line_open_again(job: Any) -> None:
    """As it was before."""
    job.ok(f"startup answer 1-{len(START_UP)} yes")
    job.clock.set("07:10")
    job.ok("startup answer 5 no")
    assert job.ok("evening --json").json["start_up_open"] == [5]
    job.ok("undo --yes")
    assert job.ok("evening --json").json["start_up_open"] == []


# -- yearly looks ---------------------------------------------------------------------------------


def test_a_look_is_due_a_year_after_the_roof_was_welded_and_after_the_last_look(
    welded_whole: Any,
) -> None:
    """The day before, nothing is due."""
    book = welded_whole
    assert "The roof: next yearly look Tuesday, June 1, 2027; last never" in flat(
        book.ok("look").out
    )
    book.clock.set("09:00", days=364)
    assert book.ok("evening --json").json["looks_due"] == []
    book.clock.set("09:00", days=1)
    assert book.ok("evening --json").json["looks_due"] == [""]
    assert "YEARLY LOOK DUE since Tuesday, June 1, 2027" in flat(book.ok("evening").out)
    book.ok('look record --item "A3 20ft: mend the fishmouth" --item "drain: clear it"')
    assert book.ok("evening --json").json["looks_due"] == []
    (due,) = book.ok("look --json").json["due"]
    assert (due["due"], due["last"], due["open"]) == ("2028-06-01", "2027-06-01", 2)
    book.ok("verify")


def test_each_area_is_due_by_itself_and_its_items_are_settled_like_a_visitors(
    go_ahead: Any,
) -> None:
    """A look at C says nothing of D."""
    roll = "--roll-width 39.4in --roll-length 33ft"
    go_ahead.ok(f'roof lay "C 60ft x 20ft; D 20ft x 20ft at 60ft,0" {roll}')
    for n, name in enumerate(("C1", "D1")):
        go_ahead.day(
            f"07:{10 + 20 * n} seam start {name} {SET}\n07:{22 + 20 * n} seam finish {name} --to end"
        )
    go_ahead.clock.set("09:00", days=400)
    assert go_ahead.ok("evening --json").json["looks_due"] == ["C", "D"]
    go_ahead.ok('look record c --item "C1 20ft: mend the fishmouth"')
    assert go_ahead.ok("evening --json").json["looks_due"] == ["D"]
    assert go_ahead.ok("evening --json").json["punch_open"] == ["V1"]
    go_ahead.ok('punch settle V1 "patched, probed"')
    page = flat(go_ahead.ok("look").out)
    assert "D: YEARLY LOOK DUE" in page
    assert "settled: patched, probed, Ana Ruiz" in page


def test_how_often_is_a_limit(welded_whole: Any) -> None:
    """With its source; 0 never."""
    book = welded_whole
    book.ok('limit set look_months 6 --source "roof warranty 12"')
    assert "next yearly look Tuesday, December 1, 2026" in flat(book.ok("look").out)
    book.ok('limit set look_months 0 --source "roof warranty 13"')
    assert book.ok("look --json").json["due"] == []


# -- leaks ----------------------------------------------------------------------------------------


def stage(book: Any) -> dict[str, str]:
    """Where each open leak stands, on the evening page."""
    found: dict[str, str] = book.ok("evening --json").json["leaks_open"]
    return found


def test_a_leak_is_open_until_it_was_found_mended_and_dry_after_rain(job: Any) -> None:
    """Each step by whom and when; the page says what is next."""
    job.ok('leak 10ft 5ft --where inside --note "room 12"')
    assert stage(job) == {"K1": "search"}
    job.ok('leak found K1 "open T-joint" --place "A2 3ft"')
    assert stage(job) == {"K1": "mend"}
    assert "K1: found, not mended" in flat(job.ok("evening --ambient 55F").out)
    job.ok('leak mended K1 "cut back, patched" --by BO')
    assert stage(job) == {"K1": "look"}
    job.clock.set("08:00", days=3)
    done = flat(job.ok('leak looked K1 dry --note "an inch of rain"').out)
    assert "K1: closed, looked at dry after rain" in done
    assert stage(job) == {}
    page = flat(job.ok("leak list").out)
    assert "found: open T-joint (A2 3ft); Ana Ruiz" in page
    assert "mended: cut back, patched; Ben Okoro" in page
    assert "after rain DRY: an inch of rain; Ana Ruiz, 2026-06-04 08:00" in page
    assert job.ok("evening --day 2026-06-01 --json").json["leaks_open"] == {"K1": "look"}
    job.ok("verify")


def test_a_leak_wet_after_rain_is_searched_for_again(job: Any) -> None:
    """Dry before it was mended closes nothing either."""
    job.ok("leak 10ft 5ft --where inside")
    job.ok("leak looked K1 dry")
    assert stage(job) == {"K1": "search"}
    job.ok('leak found K1 "void"')
    job.ok('leak mended K1 "patch"')
    job.clock.set("08:00", days=2)
    job.ok("leak looked K1 wet")
    assert stage(job) == {"K1": "search"}
    job.ok("undo --yes")
    assert stage(job) == {"K1": "look"}


def test_a_step_without_a_place_is_in_the_trace_of_the_seam_the_leak_was_found_on(job: Any) -> None:
    """The mend and the look after rain too; of another seam's trace they are none."""
    job.ok("leak 10ft 5ft --where inside")
    job.ok("leak 20ft 5ft --where inside")
    job.ok('leak found K1 "open T-joint" --place "A2 3ft"')
    job.ok('leak mended K1 "cut back, patched" --by BO')
    job.ok('leak mended K2 "caulked the drain"')
    job.ok("leak looked K1 dry")
    told = flat(job.ok("trace A2").out)
    assert "K1 leak found: open T-joint (A2 3ft)" in told
    assert "K1 leak mended: cut back, patched; Ben Okoro" in told
    assert "K1 leak after rain DRY" in told
    job.ok("leak looked K1 wet")
    assert "K1 leak after rain WET" in flat(job.ok("trace A2").out)
    assert "K2" not in told
    assert "K1" not in job.ok("trace A1").out
    job.ok('leak found K1 "and a void" --place "A1 9ft"')
    assert "K1 leak mended: cut back, patched" in flat(job.ok("trace A1").out)


def test_a_search_can_be_asked_again_and_records_nothing(job: Any) -> None:
    """By what is known then."""
    job.ok("leak 10ft 5ft --where inside")
    before = job.entries()
    assert "K1: where to look, not a cause" in job.ok("leak search K1").out
    assert job.entries() == before


def test_the_dossier_tells_all_of_it(welded_whole: Any, tmp_path: Any) -> None:
    """Page 1 what waits; a section each; names put out where that was asked."""
    book = welded_whole
    book.ok("startup answer 1-3 yes --by BO")
    book.ok('look record --item "A3 20ft: mend the fishmouth"')
    book.ok("leak 10ft 5ft --where inside")
    book.ok('leak found K1 "Ben Okoro found a void" --by BO')
    book.ok(f"dossier {tmp_path}/d --only html")
    page = flat((tmp_path / "d.html").read_text())
    for said in (
        "Lines of the start-up list not answered, or answered no",
        "NOT ANSWERED",
        "yes, Ben Okoro, 2026-06-01 10:00",
        "V1 (A3 20ft)",
        "Leaks not mended and seen dry after rain",
        "K1: found, not mended",
    ):
        assert said in page, said
    book.ok(f"dossier {tmp_path}/n --only html --no-people")
    assert "Okoro" not in (tmp_path / "n.html").read_text()


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("startup answer 99 yes", "1-14"),
        ("startup answer one yes", "1-9,12"),
        ("startup answer 1 perhaps", "not needed"),
        ('startup add "primer dry"', "--source"),
        ('look record A --item "sweep"', "A3 20ft: mend"),
        ('leak found K9 "void"', "K9"),
        ('leak found S1 "void"', "K1"),
        ("leak looked K1 damp", "dry"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(go_ahead: Any, line: str, why: str) -> None:
    """And nothing of it is recorded."""
    go_ahead.ok("leak 10ft 5ft --where inside")
    assert why in go_ahead.refused(line)


# -- on the seam they are about --------------------------------------------------------------------


def test_items_and_leaks_stand_in_the_trace_and_on_the_seams_page_of_the_dossier(
    welded_whole: Any, tmp_path: Any
) -> None:
    """By the seam their place begins with; with what the next ply hides."""
    book = welded_whole
    book.ok('punch add "a3, 20ft" "mend the fishmouth" --visitor "owner\'s representative"')
    book.ok('punch add "A30 20ft" "sweep" --visitor "owner\'s representative"')
    book.ok("leak 10ft 5ft --where inside")
    book.ok('leak found K1 "open lap" --place "A2 3ft"')
    book.ok('punch add "A1 5ft" "look again" --visitor "roof consultant"')
    book.ok("cover A1 --stretch 0-10")
    book.clock.set("10:30")
    book.ok('punch settle V1 "patched"')
    trace = flat(book.ok("trace A3").out)
    assert "item of a visit: mend the fishmouth (a3, 20ft, owner's representative)" in trace
    assert "settled: patched, Ana Ruiz" in trace
    assert "sweep" not in trace
    assert "K1 leak found: open lap (A2 3ft); Ana Ruiz" in flat(book.ok("trace A2").out)
    events = {e["what"] for e in book.ok("trace A2 --json").json["events"]}
    assert "leak-step" in events
    book.ok(f"dossier {tmp_path}/d --only html")
    page = flat((tmp_path / "d.html").read_text())
    assert "item of a visit: mend the fishmouth" in page
    assert "leak found: open lap" in page
    assert "hidden by the next ply, 0–10 ft" in page
    book.ok("verify")


@pytest.mark.parametrize(
    ("place", "seam"),
    [
        ("A3 20ft", "a3"),
        ("a1.1, 3 ft", "a1.1"),
        ("A1: at the drain", "a1"),
        ("night edge 3ft", "night edge"),
        ("A30 20ft", None),
        ("area A", None),
        ("", None),
    ],
)
def test_a_place_is_on_the_seam_it_begins_with(place: str, seam: str | None) -> None:
    """Whole names, the longest that fits."""
    assert seam_of(place, {"a1", "a1.1", "a3", "night edge", "night"}) == seam
