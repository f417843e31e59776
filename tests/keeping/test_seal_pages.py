"""What was corrected since a seal, and to whom a seal went, as the pages say it."""

from __future__ import annotations

from typing import Any

import pytest


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_a_correction_and_a_taking_back_since_the_seal_are_told_apart(go_ahead: Any) -> None:
    """By name, field, person and time; both are counted, and so is all recorded since."""
    go_ahead.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    code = go_ahead.ok("seal --json").json["code"]
    go_ahead.clock.set("16:05")
    go_ahead.ok("amend S1 speed 5 --why slip --by AR")
    go_ahead.clock.set("16:10")
    go_ahead.ok("undo S2 --why 'wrong roof' --yes --by AR")
    said = squeezed(go_ahead.ok("verify", "--seal", code).out)
    told = go_ahead.ok("verify", "--seal", code, "--json").json
    assert "- S1: travel speed corrected, Ana Ruiz, 2026-06-01 16:05" in said
    assert "- S2: taken back or put back, Ana Ruiz, 2026-06-01 16:10" in said
    assert "S1: taken back" not in said
    assert "corrected or taken back since: 2." in said
    assert "And " not in said.split("taken back since: 2.")[1]
    assert told["faults"] == []


@pytest.mark.parametrize(("count", "more"), [(20, ""), (21, "And 1 more"), (23, "And 3 more")])
def test_of_many_corrections_the_first_twenty_are_told(
    go_ahead: Any, count: int, more: str
) -> None:
    """And how many there are beyond; all of them in JSON."""
    code = go_ahead.ok("seal --json").json["code"]
    for n in range(count):
        go_ahead.ok(f"amend S1 speed {4 + (n % 2) / 2} --why slip")
    said = squeezed(go_ahead.ok("verify", "--seal", code).out)
    assert said.count("- S1: travel speed corrected") == 20
    assert f"taken back since: {count}." in said
    assert (more in said) if more else "And " not in said.split("taken back since")[1]


def test_the_list_says_to_whom_a_seal_went_and_how_late_it_was_typed(go_ahead: Any) -> None:
    """Within the hour nothing more; later, or typed by another, it says so; to nobody yet."""
    go_ahead.ok("seal")
    assert "handed to nobody yet" in go_ahead.ok("seal --list").out
    go_ahead.clock.set("16:00")
    go_ahead.ok('hand L1 --to "the owner" --by AR')
    said = squeezed(go_ahead.ok("seal --list").out)
    assert "handed to the owner" in said
    assert "2026-06-01 16:00" in said
    assert "nobody yet" not in said
    assert "late" not in said
    assert "entered by" not in said
    go_ahead.clock.set("18:30")
    go_ahead.ok('hand L1 --to "the office" --by BO --at 16:30')
    said = squeezed(go_ahead.ok("seal --list").out)
    assert "handed to the office" in said
    assert said.count("entered late") == 1
