"""Cover-up: what is not probed clean before the next ply, and what is offered afterwards."""

from __future__ import annotations

from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"


@pytest.fixture
def roof(welded_whole: Any) -> Any:
    """Area A: A1 probed clean, A2 unprobed, A3 with a void; B1 not started."""
    welded_whole.ok("seam add B1 --length 33ft")
    welded_whole.day("""
        10:00 probe A1 0-33 --by BO
        10:10 probe A3 0-33 --void 20+2in --by BO
    """)
    welded_whole.clock.set("14:00")
    return welded_whole


def test_before_it_every_seam_not_probed_clean_is_listed(roof: Any) -> None:
    """Nothing is recorded by looking."""
    before = roof.entries()
    out = roof.ok("cover A --look").out
    rows = {row.split("\t")[1]: row for row in out.splitlines() if "\t" in row}
    assert set(rows) == {"Seam", "A2", "A3"}
    assert "unprobed 0–33 ft" in rows["A2"]
    assert "open: F1" in rows["A3"]
    assert [seam["name"] for seam in roof.ok("cover A --look --json").json] == ["A2", "A3"]
    assert roof.entries() == before


def test_an_area_probed_clean_says_so(roof: Any) -> None:
    """Then the cover-up carries no warning."""
    roof.day("""
        14:00 probe A2 0-33 --by BO
        14:10 mend F1 --method patch --by AR
        14:30 probe A3 15-25 --by BO
    """)
    assert "Every seam of A is probed with no open finding" in roof.ok("cover A --look").out
    document = roof.ok("cover A --json").json
    assert document["seams"] == ["A1", "A2", "A3"]
    assert document["notes"] == []
    assert roof.ok("roof --json").json["warnings"] == []


def test_hiding_what_is_not_clean_is_recorded_warned_of_and_open_until_answered(roof: Any) -> None:
    """Never refused."""
    out = " ".join(roof.ok("cover A").out.split())
    assert "Cover-up C1 recorded." in out
    assert "hidden without being probed clean: A2, A3." in out
    assert "opened up" in out
    warnings = roof.ok("roof --json").json["warnings"]
    assert {w["code"] for w in warnings} == {"covered_unprobed"}
    page = " ".join(roof.ok("roof").out.split())
    assert "Open warning: C1 over area A, hidden by the next ply" in page
    assert "C1 on seam" not in page
    roof.ok('settle C1 "A2 and A3 opened up and probed 2026-06-02"')
    assert roof.ok("roof --json").json["warnings"] == []
    roof.ok("verify")


def test_covered_stands_beside_the_state(roof: Any) -> None:
    """On the roof and in the trace; B1 is not hidden."""
    roof.ok("cover A")
    assert "covered" in roof.seam("A1")["flags"]
    assert "covered unprobed" not in roof.seam("A1")["flags"]
    assert "covered unprobed" in roof.seam("A2")["flags"]
    assert "covered unprobed" in roof.seam("A3")["flags"]
    assert roof.seam("B1")["flags"] == []
    assert "covered" in roof.ok("trace A2").out


@pytest.mark.parametrize("line", ["roof", "doubt", "trace A2", "trace A3", "cover A --look"])
def test_what_is_covered_is_never_offered_to_be_probed_again(roof: Any, line: str) -> None:
    """It can be opened up; the words "probe again" are gone."""
    roof.ok("cover A")
    out = " ".join(roof(line).out.lower().split())
    assert "probe again" not in out
    assert "probe it again" not in out


@pytest.mark.parametrize("line", ["roof", "doubt"])
def test_what_is_covered_unprobed_is_offered_to_be_opened_up(roof: Any, line: str) -> None:
    """Where something is in doubt or was never probed: A2's bleed-out was far too little."""
    roof.day("07:33 bleed A2 10 1/32\n14:00 verify")
    assert "look along the edge and read the bleed-out of A" in " ".join(
        roof.ok("doubt").out.split()
    )
    roof.ok("cover A")
    assert "open up" in roof.ok(line).out.lower()


def test_a_probe_of_what_is_covered_is_kept_told_and_flagged(roof: Any) -> None:
    """Nobody can probe a lap under the next ply: the record says so, and it clears nothing."""
    roof.ok("cover A")
    roof.clock.set("15:00")
    said = " ".join(roof.ok("probe A2 0-33 --by BO").out.lower().split())
    assert "walk w3 recorded" in said
    assert "opened up" in said or "open up" in said
    assert roof.seam("A2")["state"] != "probed with no open finding"


def test_covering_twice_hides_nothing_more(roof: Any) -> None:
    """The second is refused, or names only what was added since."""
    roof.ok("cover A")
    before = roof.entries()
    refused = roof("cover A")
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert roof.entries() == before


def test_what_was_added_since_can_be_covered(roof: Any) -> None:
    """A4 alone."""
    roof.ok("cover A")
    roof.ok("seam add A4 --length 33ft")
    assert roof.ok("cover A --json").json["seams"] == ["A4"]


def test_covering_one_area_leaves_areas_that_begin_like_it(job: Any) -> None:
    """A is not Annex, nor Attic1."""
    roll = "--roll-width 39.4in --roll-length 33ft"
    job.ok(f'roof lay "Annex 20ft x 10ft; A 20ft x 10ft at 40ft,0" {roll}')
    job.ok("seam add Attic1 --length 33ft")
    hidden = job.ok("cover A --json").json["seams"]
    assert hidden
    assert [name for name in hidden if name.startswith(("Annex", "Attic"))] == []
    left = {s["name"]: s["flags"] for s in job.ok("roof --json").json["seams"]}
    assert "covered" not in left["Annex1"]
    assert "covered" not in left["Attic1"]


def test_t_joints_and_details_of_the_area_are_covered_with_it(job: Any) -> None:
    """All of it."""
    job.ok(
        'roof lay "C 40ft x 10ft" --roll-width 39.4in --roll-length 33ft --mark "drain at 3ft,3ft"'
    )
    hidden = job.ok("cover C --json").json["seams"]
    listed = [row["name"] for row in job.query("SELECT name FROM seams WHERE name LIKE 'C%'")]
    assert sorted(hidden) == sorted(listed)


@pytest.mark.parametrize("line", ["cover Z", "cover Z --look", "cover ''"])
def test_an_area_nobody_heard_of_is_refused_in_one_line(roof: Any, line: str) -> None:
    """Exit code 2, nothing recorded, and no "None" among what is known."""
    assert "None" not in roof.refused(line)


def test_a_seam_welded_after_it_was_covered_is_kept_and_told(roof: Any) -> None:
    """It cannot be; somebody mistyped a name. A record is never lost."""
    roof.ok("cover A")
    roof.clock.set("15:00")
    said = roof.ok(f"seam start A1 {SET}").out.lower()
    assert "hidden" in said or "covered" in said


@pytest.mark.parametrize("name", ["[red]Q", "Ñ", "\x1b[31mQ", "Q%", "_", "'; DROP TABLE seams; --"])
def test_names_of_mischief_are_obeyed_nowhere(job: Any, name: str) -> None:
    """In seams and areas."""
    job.ok("seam", "add", "--length", "33ft", "--", name)
    done = job("cover", "--", name)
    assert done.code == 0
    assert "\x1b" not in done.out
    covered = [s["name"] for s in job.ok("roof --json").json["seams"] if "covered" in s["flags"]]
    assert len(covered) == 1


def test_nobody_is_sent_to_probe_or_mend_what_is_hidden(roof: Any, tmp_path: Any) -> None:
    """The evening and the paper sheet name it only to be opened up; once open, it is work again."""
    roof.ok("cover A")
    paper = f"form probe --seams --json --pdf {tmp_path / 'probes.pdf'}"
    first = roof.ok("evening --json").json["first_tomorrow"]
    assert (first["mend"], first["probe"], first["open_up"]) == ([], [], ["A2", "A3"])
    assert "open up what the next ply hides unproven: A2, A3" in roof.ok("evening").out
    assert roof.ok(paper).json["rows"] == 0
    roof.ok("open-up A2")
    first = roof.ok("evening --json").json["first_tomorrow"]
    assert (first["probe"], first["open_up"]) == (["A2"], ["A3"])
    assert roof.ok(paper).json["rows"] == 1


def test_the_evening_says_what_clears_lap_in_doubt(roof: Any) -> None:
    """A failure named, and the command that tells how; not one that only wants its mend."""
    first = roof.ok("evening --json").json["first_tomorrow"]
    assert (first["mend"], first["clear"]) == (["F1"], [])
    roof.ok('peel A2 10 --parted "at the lap" --by BO')
    assert roof.ok("evening --json").json["first_tomorrow"]["clear"] == ["P1"]
    assert "in doubt: P1; how: weldcal doubt" in " ".join(roof.ok("evening").out.split())


def test_the_guided_day_does_not_call_hidden_lap_probed(roof: Any) -> None:
    """Once covered, nobody is sent there to probe; it is said that it lies unproven."""
    assert "Unprobed: A2" in roof.ok("day --for foreman").out
    roof.ok("cover A")
    for role in ("foreman", "inspector"):
        said = " ".join(roof.ok(f"day --for {role}").out.split())
        assert "Hidden by the next ply and unproven, to be opened up: A2, A3." in said
        assert "Nothing welded is unprobed" not in said
