"""Published speed windows through the same door as a crew's file."""

from tests.intake.conftest import FIXTURES, defaults, read_strips
from tests.published_windows import WINDOWS


def test_each_speed_is_judged_by_its_ambients_window() -> None:
    """Good inside, cold if faster, bubbling if slower; no bleed-out is made up."""
    loaded = read_strips(FIXTURES / "windows_eva.csv", defaults(units="si"))
    assert not loaded.refused and not loaded.ignored
    judged = {}
    for _number, strip in loaded.strips:
        assert strip.readings == ()
        assert strip.setting.nozzle.to("C") == 450  # assumed, as the file says
        key = strip.conditions.ambient.to("C"), strip.setting.speed.to("m/min")
        judged[key] = strip.bubbling, strip.bond
    assert judged == {
        (ambient, speed): ("heavy", "not tried")
        if speed < low
        else ("none", "good" if speed <= high else "cold")
        for ambient, (low, high) in WINDOWS.items()
        for speed in range(3, 10)
    }


def test_each_ambient_is_a_day_of_its_own() -> None:
    """So that one can be held out."""
    loaded = read_strips(FIXTURES / "windows_eva.csv", defaults(units="si"))
    days = {strip.seen.at[:10]: strip.conditions.ambient.text for _n, strip in loaded.strips}
    assert sorted(days.values(), key=int) == ["-10", "-5", "0", "25", "30", "35"]
