"""What a page is told of a go-ahead and of advice, of names shared, and of a way round the roof."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.quality.route import Leg, Task
from weldcal.views.dialled import Dialled
from weldcal.views.go_ahead import GoAhead
from weldcal.views.knowledge import FirmNames
from weldcal.views.walk import Stop, stops_of


@pytest.mark.parametrize(
    ("triggers", "only", "also"),
    [
        ([("reading_age", None)], True, True),
        ([("reading_age", None), ("wind", None)], False, True),
        ([("reading_age", None), ("wind", 5.0)], True, True),
        ([("reading_age", 5.0)], False, False),
        ([("wind", None)], False, False),
        ([], False, False),
    ],
)
def test_an_old_reading_alone_speaks_against_a_go_ahead(
    triggers: list[tuple[str, float | None]], only: bool, also: bool
) -> None:
    """What is over by now does not count."""
    told: Any = tuple(SimpleNamespace(code=code, until_s=until) for code, until in triggers)
    strip: Any = None
    found = GoAhead(strip=strip, level="look", triggers=told, seams={})
    assert (found.only_old, found.also_old) == (only, also)
    levels = ("good", "look", "strip_again", "wait")
    assert [GoAhead(strip, level, (), {}).permits for level in levels] == [True, True, False, False]


@pytest.mark.parametrize(("teaches", "tried"), [("5.5", "5.5"), (None, "6")])
def test_the_next_strip_is_the_one_that_teaches_most(teaches: str | None, tried: str) -> None:
    """Else the setting advised."""
    advice: Any = SimpleNamespace(next_strip=teaches, forecast="6")
    asked: Any = None
    found = Dialled(asked=asked, advice=advice, recorded=True)
    assert (found.to_try, found.advised) == (tried, "6")


def test_names_that_stand_for_two_things_are_told_with_a_job_of_each() -> None:
    """`blue` is one machine on the school and the shed, another on the hall; `red` is one."""
    called = {("1", "blue"): "k1", ("2", "blue"): "k1", ("3", "blue"): "k2", ("3", "red"): "k3"}
    jobs = {"1": "School", "2": "Shed", "3": "Hall"}
    names = FirmNames({"machine": called}, frozenset(), jobs)
    assert names.shared("machine") == {"blue": ["School", "Hall"]}
    assert names.named("machine") == {"blue": {"k1": "1", "k2": "3"}, "red": {"k3": "3"}}
    assert names.shared("sheet") == names.named("sheet") == {}


def test_a_way_is_numbered_as_its_lines_though_a_lap_has_no_place() -> None:
    """The second of three lies nowhere on the plan: the drawing has 1 and 3."""
    first = Leg("A1", (Task("probe", 0.0, 2.0),), (0.0, 0.0), (2.0, 0.0))
    last = Leg("A2", (Task("probe", 0.0, 3.0),), (0.0, 1.0), (3.0, 1.0))
    found = stops_of([first, Leg("Z", ()), last])
    assert found == (Stop(1, "A1", (0.0, 0.0), (2.0, 0.0)), Stop(3, "A2", (0.0, 1.0), (3.0, 1.0)))
