"""What was taken back is shown as such wherever a seam is told, with its reason, and counts nowhere."""

from __future__ import annotations

from typing import Any

import html5lib
import pytest

from weldcal.reports import corrected

SET = "--nozzle 932 --speed 5.5"


@pytest.fixture
def slipped(go_ahead: Any) -> Any:
    """A1 welded, walked with a void, and the walk taken back; A2's run taken back with its seam."""
    go_ahead.day(f"""
        07:30 seam start A1 {SET}
        07:37 seam finish A1 --to 33
        08:00 seam start A2 {SET}
        08:07 seam finish A2 --to 33
        09:30 probe A1 0-33 --void 5+2in --by BO
        09:45 undo W1 --why "walked another seam's chalk" --yes --by BO
        10:00 undo R2 --why "no such seam" --yes
        10:01 undo A2 --why "no such seam" --yes
    """)
    return go_ahead


def page(book: Any, path: Any) -> str:
    """The dossier's words, one space between them."""
    book.ok("dossier", str(path / "d"), "--only", "html")
    tree = html5lib.parse((path / "d.html").read_text("utf-8"), namespaceHTMLElements=False)
    return " ".join(" ".join(tree.itertext()).split())


def test_a_seam_with_something_taken_back_has_its_page(slipped: Any, tmp_path: Any) -> None:
    """A finding reported and withdrawn is what somebody doubting the file asks for first."""
    told = page(slipped, tmp_path)
    seam = told.split("Seam A1, 33 ft: unprobed")[1]
    assert "TAKEN BACK: F1 finding: void from 5 ft to 5 ft 2 in" in seam
    assert "by Ben Okoro 2026-06-01 09:30; walked another seam's chalk; Ben Okoro" in seam
    row = slipped.ok("dossier", str(tmp_path / "e"), "--only", "html", "--json").json
    assert (row["faults"], row["open"], row["probed_m"], row["seam_pages"]) == (0, 0, 0, 1)


def test_the_evening_names_what_was_taken_back_that_day(slipped: Any) -> None:
    """It stands under none of what was welded, probed or found."""
    evening = slipped.ok("evening --json").json
    assert [row["name"] for row in evening["taken_back"]] == ["W1", "F1", "R2", "A2"]
    assert (evening["findings"], evening["probed_m"]) == ([], 0)
    said = " ".join(slipped.ok("evening").out.split())
    assert "taken back, counting for nothing: W1 A1, F1 A1, R2 A2, A2" in said
    assert "taken back" not in slipped.ok("evening --day 2026-05-31").out


def test_a_correction_or_answer_taken_back_is_not_told_as_its_record(slipped: Any) -> None:
    """The strip stays; what went is its correction."""
    slipped.day('11:00 amend S1 note wet --why "seen"\n11:01 undo --yes')
    said = " ".join(slipped.ok("evening").out.split())
    assert "correction of S1" in said


def test_a_seam_taken_back_whole_can_still_be_traced(slipped: Any) -> None:
    """What was recorded of it, by whom, and why it counts for nothing."""
    told = " ".join(slipped.ok("trace A2").out.split())
    assert "TAKEN BACK: R2 run 0 ft to 33 ft" in told
    assert "TAKEN BACK: seam A2" in told
    assert "no such seam" in told
    assert [event["what"] for event in slipped.ok("trace A2 --json").json["events"]] == [
        "withdrawn"
    ] * 2
    assert "No seam 'Z9'" in slipped.refused("trace Z9")


def test_a_correction_says_of_what_and_in_the_readers_words(slipped: Any, monkeypatch: Any) -> None:
    """A trace holds several records; a path of the payload is nobody's word."""
    slipped.day('11:00 amend S1 bubbling trace --why "seen again"')
    assert "correction of S1, bubbling: none became trace; seen again" in " ".join(
        slipped.ok("trace A1").out.split()
    )
    slipped.day('11:10 amend R1 speed 6 --why "misread"')
    assert "correction of R1, travel speed: 5.5 ft/min became 6 ft/min" in " ".join(
        slipped.ok("trace A1").out.split()
    )
    spanish = {
        "none": "ninguno",
        "trace": "leve",
        "bubbling": "burbujeo",
        "travel speed": "velocidad de avance",
    }
    monkeypatch.setattr(corrected, "_", lambda text: spanish.get(text, text))
    said = " ".join(slipped.ok("trace A1").out.split())
    assert "S1, burbujeo: ninguno became leve" in said
    assert "R1, velocidad de avance: 5.5 ft/min became 6 ft/min" in said


def test_page_1_tells_hot_work_with_no_watch_and_covers_name_their_seams(
    slipped: Any, tmp_path: Any
) -> None:
    """None recorded, begun only, ended and watched for too short, watched in full."""
    asked = "Hot work with no end, or no full fire watch, recorded"
    assert f"{asked} no hot work recorded" in page(slipped, tmp_path)
    slipped.day(
        '12:00 hotwork start --permit 7 --extinguisher "2-A" --deck steel --watch 60min --watch-source "permit 7"'
    )
    assert f"{asked} 1 H1" in page(slipped, tmp_path)
    slipped.day("13:00 hotwork end\n13:40 hotwork watch")
    assert f"{asked} 1 H1" in page(slipped, tmp_path)
    slipped.day("14:00 hotwork watch\n14:10 cover A")
    told = page(slipped, tmp_path)
    assert f"{asked} none" in told
    assert '["a1"' not in told


def test_page_1_counts_what_was_taken_back_once(slipped: Any, tmp_path: Any) -> None:
    """Under what was taken back, and not as a correction too: of those there is one."""
    slipped.day('11:00 amend S1 note wet --why "seen"')
    told = page(slipped, tmp_path)
    first = told[: told.index("Day by day")] if "Day by day" in told else told
    assert "Corrections 1 S1 " in first
    assert "Records taken back as mistakes 4 " in first
