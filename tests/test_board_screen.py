"""How the board's lines are laid out on a screen, row by row, with short lines in place of its own."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.reports import board as page
from weldcal.reports.board import BoardLine, ScreenRow

KEYS = ("all the keys", "keys")
LINES = [
    BoardLine(page._HEAD, "head", ""),
    *(BoardLine(page._ANSWER, text, "", "bold") for text in ("one", "two", "three")),
    BoardLine(page._NEXT, "next", ""),
    BoardLine(page._STANDS, "stands", ""),
    BoardLine(page._READ, "read", ""),
    BoardLine(page._WAITS, "waits", ""),
    BoardLine(page._LATER, "later", ""),
    BoardLine(page._KEYS, "all the keys", ""),
]


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> Any:
    """The screen of those lines: `shown(columns, rows)`; `large` rows of a number at most."""

    def show(columns: int, rows: int, *, large: int = 0, lines: Any = LINES) -> list[str]:
        monkeypatch.setattr(page, "lines", lambda _board, _todo, _keys: lines)
        monkeypatch.setattr(
            page, "_large", lambda _board, _columns, room: [ScreenRow("#")] * min(large, room)
        )
        board: Any = None
        return [row.text for row in page.screen(board, page.Todo(), KEYS, (columns, rows))]

    return show


ALL = [line.text for line in LINES]
ANSWER = ["one", "two", "three"]


@pytest.mark.parametrize(
    ("rows", "free"),
    [
        (10, ()),
        (11, (1,)),
        (12, (1, 4)),
        (13, (1, 4, 9)),
        (14, (1, 4, 5, 9)),
        (17, (1, 4, 5, 6, 7, 8, 9)),
        (30, (1, 4, 5, 6, 7, 8, 9)),
    ],
)
def test_rows_left_over_part_the_answer_first_then_the_keys_then_the_rest(
    shown: Any, rows: int, free: tuple[int, ...]
) -> None:
    """Never the answer's own three lines."""
    expected: list[str] = []
    for n, text in enumerate(ALL):
        expected += ["", text] if n in free else [text]
    assert shown(80, rows) == expected


@pytest.mark.parametrize(
    ("rows", "left"),
    [
        (9, [*ANSWER, "next", "stands", "read", "waits", "later", "keys"]),
        (8, [*ANSWER, "next", "stands", "read", "waits", "keys"]),
        (7, [*ANSWER, "stands", "read", "waits", "keys"]),
        (6, [*ANSWER, "stands", "waits", "keys"]),
        (5, [*ANSWER, "stands", "keys"]),
        (4, [*ANSWER, "keys"]),
        (3, ANSWER),
        (2, ANSWER[:2]),
    ],
)
def test_what_presses_least_is_left_out_first(shown: Any, rows: int, left: list[str]) -> None:
    """Keys are told in short once they do not fit in full; the answer is cut last of all."""
    assert shown(80, rows) == left


@pytest.mark.parametrize(
    ("columns", "rows", "small"), [(40, 10, True), (41, 10, False), (40, 11, False)]
)
def test_a_small_screen_has_the_answer_alone(
    shown: Any, columns: int, rows: int, small: bool
) -> None:
    """Up to forty columns and ten rows; a number has no room there."""
    found = shown(columns, rows, large=0)
    assert (found == [*ANSWER, "", "keys"]) is small
    assert "#" not in shown(40, 10, large=5)


@pytest.mark.parametrize(("rows", "number"), [(9, 5), (12, 5), (13, 6), (20, 13), (40, 15)])
def test_the_number_grows_into_the_rows_left_but_three(shown: Any, rows: int, number: int) -> None:
    """Three of the answer, one of the keys, at least five of the number, here fifteen at most."""
    found = shown(80, rows, large=15, lines=LINES[1:4])
    assert found.count("#") == number
    assert [text for text in found if text not in ("#", "")] == [*ANSWER, "keys"]
    assert found[0] == "one"
    assert len(found) == min(rows, number + 4 + 3)


def test_long_lines_are_folded_at_a_hundred_and_broken_where_they_must() -> None:
    """At the screen's width where it is narrower; a word longer than that is cut."""
    words = BoardLine(page._READ, " ".join(["word"] * 40), "", "bold")
    assert max(len(row.text) for row in page._folded(words, 200)) == 99
    assert max(len(row.text) for row in page._folded(words, 50)) == 49
    assert {row.style for row in page._folded(words, 50)} == {"bold"}
    cut = page._folded(BoardLine(page._READ, "x" * 25, ""), 10)
    assert [row.text for row in cut] == ["x" * 10, "x" * 10, "x" * 5]
    assert page._folded(BoardLine(page._READ, "", ""), 10) == [ScreenRow("")]


def test_news_are_lines_that_say_something_else_than_before() -> None:
    """By what they mean, not by how it is worded; a new part is new."""
    before = [BoardLine(page._LAP, "about 11 ft", "R1"), BoardLine(page._READ, "read", "61F")]
    now = [
        BoardLine(page._LAP, "about 12 ft", "R1"),
        BoardLine(page._READ, "read", "70F"),
        BoardLine(page._WAITS, "pull", "R1"),
    ]
    assert page.news(before, now) == ["read", "pull"]
    assert page.news([], before) == ["about 11 ft", "read"]


def reading(name: str, text: str, age_h: float) -> Any:
    return SimpleNamespace(name=name, text=text, age_h=age_h)


def readings(*read: Any, old: frozenset[str] = frozenset()) -> BoardLine:
    board: Any = SimpleNamespace(day=SimpleNamespace(read=read), old=old)
    (said,) = page._readings(board)
    return said


def test_readings_of_one_age_stand_together_the_newest_first() -> None:
    """Under a minute it is just now; one over its limit says OLD, and the line stands out."""
    said = readings(
        reading("ambient", "61F", 2.0),
        reading("sheet_temp", "74F", 0.01),
        reading("wind", "5mph", 2.0),
    )
    assert said.text == "Read just now: sheet 74 °F; 2 h ago: air 61 °F, wind 5 mph."
    assert said.style == ""
    old = readings(reading("ambient", "61F", 0.5), old=frozenset(["ambient"]))
    assert (old.text, old.style) == ("Read 30 min ago, OLD: air 61 °F.", "bold")
    assert readings(reading("ambient", "61F", 1 / 60)).text == "Read 1 min ago: air 61 °F."
    assert readings().text == "Nothing read yet today."


@pytest.mark.parametrize(
    ("about", "units", "said"),
    [
        (3.44, "us", ["By its speed about 11 ft now."]),
        (3.44, "si", ["By its speed about 3.4 m now."]),
        (None, "us", []),
    ],
)
def test_where_a_machine_is_is_told_to_the_foot_or_the_tenth_of_a_metre(
    about: float | None, units: str, said: list[str]
) -> None:
    """Nothing where it cannot be known."""
    one: Any = SimpleNamespace(at_end=False, about_m=about)
    assert list(page._reckoned(one, units)) == said


@pytest.mark.parametrize(
    ("count", "said"), [(0, "No bleed check yet."), (1, "1 bleed check."), (2, "2 bleed checks.")]
)
def test_checks_of_a_lap_are_counted(count: int, said: str) -> None:
    """None is said as well."""
    assert page._checked(count) == said
