"""Two devices gave one short name: every page says which of the two it speaks of.

Common practice, no source: the operator's and the inspector's devices each number on their own.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"
MADE = f"strip record {SET} --bubbling none"
PAGES = ("go-ahead", "evening --ambient 55F", "dial", "trace A1", "strip list", "doubt")


@pytest.fixture
def two_s1(pair: tuple[Any, Any], carry: Callable[..., Any]) -> Any:
    """S1 of the operator passed and A1 was welded on it; S1 of the inspector failed after it."""
    one, two = pair
    one.day(f"07:00 {MADE} --bleed 1/4,3/16,5/16\n07:10 strip pull S1 good --parted compound")
    one.day(f"07:20 seam start A1 {SET}\n07:25 seam finish A1 --to 33")
    two.day(f"07:40 {MADE} --bleed 0,1/16,1/16\n07:50 strip pull S1 cold")
    carry(two, one)
    one.clock.set("08:00")
    return one


def called(book: Any) -> dict[str, str]:
    """What each S1 is called, by who saw it."""
    rows = book.query("SELECT name, device, seen_by FROM strips")
    return {row["seen_by"]: f"{row['name']}.{row['device'][:4]}" for row in rows}


@pytest.mark.parametrize("line", PAGES)
def test_no_page_says_a_name_that_two_strips_have(two_s1: Any, line: str) -> None:
    """Qualified wherever it stands, as the refusal of the bare name has it."""
    page = " ".join(two_s1(line).out.split())
    assert not re.search(r"\bS1\b(?!\.[0-9a-f]{4}\b)", page), page
    refused = two_s1.refused("strip pull S1 good")
    assert all(name in refused for name in called(two_s1).values())


def test_the_go_ahead_says_which_strip_passed_and_which_failed(two_s1: Any) -> None:
    """The operator's S1 is the go-ahead, the inspector's speaks against it."""
    names = called(two_s1)
    page = " ".join(two_s1("go-ahead").out.split())
    assert f"strip {names['Ben Okoro']} failed" in page
    assert names["Ana Ruiz"] in page
    assert f"{names['Ana Ruiz']} go-ahead strip" in " ".join(two_s1("trace A1").out.split())


def test_a_name_that_one_device_gave_stays_short(two_s1: Any) -> None:
    """The run has a name of its own; taken back, the strip leaves its name to the other."""
    assert re.search(r"\bR1\b(?!\.)", two_s1.ok("trace A1").out)
    two_s1.ok(f"undo {called(two_s1)['Ben Okoro']} --yes")
    assert re.search(r"\bS1\b(?!\.)", two_s1("go-ahead").out)


def test_an_open_finding_stays_in_doubt_whatever_else_has_its_name(
    pair: tuple[Any, Any], carry: Callable[..., Any]
) -> None:
    """F1 of one device is open on A1, F1 of the other on A2: each is a doubt, by the name the
    trace gives it, and mending the one leaves the other."""
    one, two = pair
    one.day(f"07:00 {MADE} --bleed 1/4,3/16,5/16\n07:10 strip pull S1 good --parted compound")
    for at, seam in (("07:20", "A1"), ("07:30", "A2")):
        one.day(f"{at} seam start {seam} {SET}\n{at[:4]}5 seam finish {seam} --to 33")
    carry(one, two)
    one.day("08:20 finding A1 void 10-10.5 --how probed")
    two.day("08:21 finding A2 void 20-20.5 --how probed")
    carry(two, one)
    one.clock.set("08:30")
    names = {f"F1.{row['device'][:4]}" for row in one.query("SELECT device FROM findings")}
    assert len(names) == 2
    assert {doubt["failure"] for doubt in one.ok("doubt --json").json["doubts"]} == names
    assert set(one.ok("evening --json").json["first_tomorrow"]["clear"]) == names
