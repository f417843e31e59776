"""What Enter alone does not do. The rules are ours: site setting, no source."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Sit = Callable[..., Any]


def test_enter_never_passes_a_bad_check(go_ahead: Any, terminal: Sit) -> None:
    """After a check outside the limits, Enter for ever finishes no lap and starts none."""
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5")
    go_ahead.ok("bleed A1 14 0,0")
    before = [entry["kind"] for entry in go_ahead.entries()]
    t = terminal()
    t.type("weldcal", *[""] * 12)
    t.asked("finish, check")
    assert "Now (finish, check): " in t.last
    assert [entry["kind"] for entry in go_ahead.entries()] == before


def test_new_weather_drops_the_speed_of_the_old(go_ahead: Any, terminal: Sit) -> None:
    """Weather typed anew within a strip: the speed has no default, Enter asks again."""
    go_ahead.ok("conditions --ambient 43F --sheet-temp 43F --wind 3mph --humidity 50")
    go_ahead.ok("dial")
    go_ahead.clock.set("11:10")
    t = terminal()
    t.type("weldcal", "", "b", "strip")
    t.asked("Still so?")
    t.type("no", "80", "110", "", "")
    t.asked("Nozzle")
    t.type("")
    t.asked("Speed on the dial")
    assert "Speed on the dial [" not in t.last
    t.type("")
    t.asked("Speed on the dial")
