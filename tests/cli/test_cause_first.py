"""A machine taken out: every page that says what to do says that a cause comes first.

That a machine is taken out until a cause is named is borrowed for strips from a geomembrane
specification's trial seams (`quality/taken_out.py` names it); that every page says so is ours.
"""

from __future__ import annotations

from typing import Any

import pytest

THICK = "strip record --nozzle 932 --speed 5.5 --bleed 1/2,1/2,1/2 --bubbling none"
GOOD = "strip record --nozzle 932 --speed 6.5 --bleed 1/4,1/4,1/4 --bubbling none"
FIRST = 'First find out why strips failed: weldcal machine cause blue "WHAT". Then a strip.'


@pytest.fixture
def out(job: Any) -> Any:
    """Two strips in a row failed at one setting; a good one since, at another."""
    job.day(f"""
        07:00 conditions --ambient 61F --sheet-temp 74F
        07:01 {THICK}
        07:10 {THICK}
        07:20 {GOOD}
        07:32 strip pull S3 good --parted compound
    """)
    job.clock.set("07:35")
    return job


@pytest.mark.parametrize("line", ["dial", "dial --why", "now 74F", "board --once", "go-ahead"])
def test_the_cause_comes_before_another_strip(out: Any, line: str) -> None:
    """No strip is a go-ahead until then, however sure the advice is."""
    assert FIRST in " ".join(out(line).out.split())


@pytest.mark.parametrize("line", ["dial", "board --once", "go-ahead"])
def test_once_it_is_named_strips_are_asked_for(out: Any, line: str) -> None:
    """Two in a row, as the job's limit has it."""
    out.ok('machine cause blue "speed set too low" --by "Ana Ruiz"')
    said = " ".join(out(line).out.split())
    assert FIRST not in said
    assert "strip" in said


def test_the_board_names_it_for_a_program(out: Any) -> None:
    """As it does what else is to be done."""
    assert out.ok("board --json").json["do"] == "cause"
