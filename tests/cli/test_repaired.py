"""A machine repaired: recorded, shown on its passport, and a step that advice expects."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Weldcal

GOOD = "strip record --nozzle 932 --speed {} --bleed {} --bubbling none --bond good --sheet-temp 74F --wind 5mph"
FIXED = 'machine repaired blue "new element"'


def welded(book: Weldcal, days: int = 4) -> None:
    """Mornings of good strips at 5 and 6 ft/min, and one strip today."""
    for _day in range(days):
        book.day(f"""
            07:10 {GOOD.format(5, "5/16,1/4,5/16")}
            07:20 {GOOD.format(6, "1/4,3/16,1/4")}
            +
        """)
    book.clock.set("07:10")
    book.ok(GOOD.format(5.5, "1/4,1/4,1/4"))
    book.clock.set("07:30")


def asked(book: Weldcal) -> Any:
    return book.ok("dial --sheet-temp 74F --wind 5mph --json").json


@pytest.fixture
def crew(job: Weldcal) -> Weldcal:
    welded(job)
    return job


def width(said: Any) -> float:
    low, high = (said["forecast"][k] for k in ("width_low_mm", "width_high_mm"))
    return float(high / low)


def test_it_is_recorded_and_stands_on_the_machines_passport(crew: Weldcal) -> None:
    """With who and when; taken back, it is gone."""
    assert (
        "new element" in crew.ok(f'{FIXED} --by "Ben Okoro"').out + crew.ok("machine show blue").out
    )
    (row,) = crew.ok("machine show blue --json").json["repairs"]
    assert (row["what"], row["seen_by"]) == ("new element", "Ben Okoro")
    assert "green" in crew.refused('machine repaired green "new element"')
    crew.ok("undo --yes --why slip")
    assert crew.ok("machine show blue --json").json["repairs"] == []
    crew.ok("verify")


def test_after_it_advice_waits_for_a_strip_and_its_interval_is_wider(crew: Weldcal) -> None:
    """Until one is made: not sure, and the doubt says why; one strip later it is sure again."""
    before = asked(crew)
    assert before["sure"]
    crew.ok(FIXED)
    said = asked(crew)
    assert not said["sure"]
    assert "machine_repaired" in said["doubts"]
    assert "no strip since this machine was repaired" in crew.ok("dial --why").out
    assert width(said) > 1.1 * width(before)
    for at in ("07:40", "07:50"):
        crew.clock.set(at)
        crew.ok(GOOD.format(5.5, "1/4,1/4,1/4"))
    after = asked(crew)
    assert "machine_repaired" not in after["doubts"]
    assert width(after) < width(said)


@pytest.mark.parametrize("repaired", [True, False])
def test_a_step_after_it_is_no_fault(crew: Weldcal, repaired: bool) -> None:
    """Good bleed-out at 7 ft/min twice in a row: after a repair that is what repairs do, and the
    speed follows; without one something may be broken."""
    before = asked(crew)["speed_m_per_min"]
    if repaired:
        crew.ok(FIXED)
    for at in ("07:40", "07:50"):
        crew.clock.set(at)
        crew.ok(GOOD.format(8, "1/4,1/4,5/16"))
    said = asked(crew)
    if repaired:
        assert said["speed_m_per_min"] > 1.1 * before
        assert "may_be_broken" not in said["doubts"]
    else:
        assert {"may_be_broken", "broken"} & set(said["doubts"])
