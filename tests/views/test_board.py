"""What the board says lapsed, worked out of a day by hand: it rings once when it comes to that."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.views.board import Board


def day(**ages: float) -> Any:
    """Readings by their age, to be taken again after two hours."""
    read = [SimpleNamespace(name=name, age_h=age) for name, age in ages.items()]
    return SimpleNamespace(read=read, read_h=2.0)


def dialled(hour: float | None, *steps: float) -> Any:
    """Advice asked for at an hour, its speed stepping at these."""
    made = tuple(SimpleNamespace(hour=at, speed_m_per_min=at / 10) for at in steps)
    question = SimpleNamespace(question=SimpleNamespace(hour=hour))
    return SimpleNamespace(asked=question, advice=SimpleNamespace(steps=made))


def then(read_at: str | None = None, *waits: str) -> Any:
    """What to do with it."""
    return SimpleNamespace(read_at=read_at, waits=tuple(SimpleNamespace(code=one) for one in waits))


def test_a_day_of_which_nothing_is_known_has_nothing_lapsed() -> None:
    """No advice, no go-ahead, no reading."""
    board = Board(day=day())
    assert (board.lapsed, board.old, board.steps) == (frozenset(), frozenset(), ())


@pytest.mark.parametrize(("age", "old"), [(1.9, set()), (2.0, set()), (2.1, {"wind"})])
def test_a_reading_is_old_past_the_limit(age: float, old: set[str]) -> None:
    """Not at it."""
    board = Board(day=day(ambient=0.0, wind=age))
    assert board.old == old
    assert board.lapsed == {f"old {name}" for name in old}


@pytest.mark.parametrize(
    ("read", "name"),
    [
        ({"ambient": 0.5, "sheet_temp": 0.5}, "sheet_temp"),
        ({"ambient": 0.5, "wind": 0.5}, "ambient"),
        ({"wind": 0.5}, "sheet_temp"),
        ({}, "sheet_temp"),
    ],
)
def test_under_its_sun_the_sheet_is_old_before_the_others(
    read: dict[str, float], name: str
) -> None:
    """The air where nobody reads the sheet; the sheet where neither was read."""
    assert Board(day=day(**read), then=then()).old == frozenset()
    assert Board(day=day(**read), then=then("2026-06-01T07:00:00-06:00")).old == {name}


@pytest.mark.parametrize(
    ("level", "lapsed"), [("good", set()), ("look", {"S2 look"}), ("wait", {"S2 wait"})]
)
def test_a_go_ahead_lapses_when_it_is_not_good(level: str, lapsed: set[str]) -> None:
    """By name and level: that it is worse by now rings once more."""
    standing: Any = SimpleNamespace(name="S2", level=level)
    assert Board(day=day(), standing=standing).lapsed == lapsed


@pytest.mark.parametrize(
    ("hour", "due"),
    [
        (None, set()),
        (8.9, set()),
        (9.0, {"step 0.9"}),
        (14.0, {"step 0.9", "step 1.4"}),
    ],
)
def test_a_step_of_the_speed_is_due_at_its_hour(hour: float | None, due: set[str]) -> None:
    """Of a question without an hour none is, but one of midnight."""
    board = Board(day=day(), dialled=dialled(hour, 0.5, 9.0, 14.0))
    assert board.lapsed == (due | {"step 0.05"} if hour is not None else due)
    assert [step.hour for step in board.steps] == [0.5, 9.0, 14.0]
    assert Board(day=day(), dialled=dialled(hour, 0.0)).lapsed == {"step 0.0"}


def test_a_stop_rule_lapses_by_its_own_name() -> None:
    """Each of them."""
    assert Board(day=day(), then=then(None, "rain", "wind")).lapsed == {"wait rain", "wait wind"}
