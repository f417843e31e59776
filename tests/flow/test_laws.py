"""Laws of the flow: whatever is typed, in whatever order."""

from __future__ import annotations

import contextlib
from typing import Any

import typer
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from weldcal.cli.main import app
from weldcal.errors import NotAnswered, WeldcalError
from weldcal.flow import going
from weldcal.flow.question import Question
from weldcal.records.day import Day
from weldcal.records.draft import Draft

from . import days

TYPED = st.sampled_from(
    [
        "",
        "yes",
        "no",
        "good",
        "none",
        "n",
        "1",
        "2",
        "3",
        "61",
        "74F",
        "5.5",
        "1/4",
        "1/4,3/16",
        "932",
        "0-33",
        "void 3 2in",
        "A1",
        "A2",
        "F2",
        "R2",
        "Z 9",
        "-x",
        "patch",
        "strip",
        "pull",
        "start",
        "dial",
        "evening",
        "seal",
        "seen",
        "cold",
        "p",
        "words of any kind",
        "7:40",
        "at 7:40",
        "33 at 7:40",
        "step",
        "name",
        "ñandú",
        "0",
        "9320",
    ]
)
MOVES = st.lists(st.one_of(TYPED, st.sampled_from([None, "later"])), max_size=25)
WHERE = st.sampled_from([(role, day) for role, some in days.DAYS.items() for day in some])


def moved(day: Day, draft: Draft, move: str | None) -> Draft:
    """The draft after an answer, None for back; as it was where the answer is refused."""
    if move is None:
        return going.back(draft)
    if move == "later":
        return going.opened(day, going.later(day, draft))
    if going.question(day, draft) is None:
        return going.opened(day, going.finished(draft))
    try:
        return going.answer(day, draft, move, day.now)
    except WeldcalError:
        return draft


@given(WHERE, MOVES)
def test_what_is_done_stays_done(where: tuple[str, Day], moves: list[str | None]) -> None:
    """No answer and no going back takes a finished or put-off step out of the day."""
    role, day = where
    draft = going.opened(day, days.draft(role))
    for move in moves:
        then = moved(day, draft, move)
        assert set(draft.done) <= set(then.done)
        assert (then.person, then.role, then.date) == (draft.person, draft.role, draft.date)
        draft = then


@given(WHERE, MOVES, TYPED)
def test_back_and_the_same_answer_is_where_one_was(
    where: tuple[str, Day], moves: list[str | None], typed: str
) -> None:
    """Going back undoes an answer, and giving it again restores it."""
    role, day = where
    draft = going.opened(day, days.draft(role))
    for move in moves:
        draft = moved(day, draft, move)
    if going.question(day, draft) is None:
        return
    then = moved(day, draft, typed)
    if then == draft or then.step != draft.step:
        return
    assert going.back(then) == draft
    assert moved(day, going.back(then), typed) == then


def leaf(words: list[str]) -> tuple[Any, list[str]]:
    """The command some words are for, and what is left for it."""
    command: Any = typer.main.get_command(app)
    rest = list(words)
    while hasattr(command, "list_commands") and rest:
        found = command.get_command(typer.Context(command), rest[0])
        if found is None:
            unnamed = getattr(command, "unnamed", None)  # `probe A1` is `probe walk A1`
            found, rest = command.get_command(typer.Context(command), unnamed), ["", *rest]
        if found is None:
            break
        command, rest = found, rest[1:]
    return command, rest


@given(WHERE, MOVES)
def test_a_complete_step_ends_in_a_command_there_is(
    where: tuple[str, Day], moves: list[str | None]
) -> None:
    """Its words are a command's own options and arguments, whatever was typed."""
    role, day = where
    draft = going.opened(day, days.draft(role, "Ana Ruiz"))
    for move in moves:
        draft = moved(day, draft, move)
        if going.question(day, draft) is None:
            for words in days.lines_of(day, draft):
                command, rest = leaf(words)
                assert not hasattr(command, "list_commands") or command.name == "roof", words
                command.make_context("x", list(rest), resilient_parsing=False)


@given(WHERE)
def test_what_comes_next_can_be_told_without_asking(where: tuple[str, Day]) -> None:
    """For whoever reads it through a pipe: a command, with capitals for what must be seen."""
    role, day = where
    draft = days.draft(role)
    assert bool(going.sketch(day, draft)) == (going.suggested(day, draft) is not None)


# Steps that a day needs besides strips and laps, and questions of that kind within others.
BESIDE = ("hot work over", "watch", "rolls", "peel", "cover")
WITHIN = ("line_voltage", "supply", "gust", "roll_temp", "damp", "roll_lot", "joint")


@given(WHERE, st.sampled_from(BESIDE))
def test_enter_skips_what_a_day_needs_besides(where: tuple[str, Day], step: str) -> None:
    """One key: the step is done for the day, and its command is not called."""
    role, day = where
    listed = replace(days.draft(role), step=going.LIST)
    menu = going.question(day, listed)
    assert menu is not None
    assume(step in menu.choices)
    draft = going.answer(day, listed, step, day.now)
    while (asked := going.question(day, draft)) is not None:
        if asked.code in ("peeled", "peel_at"):  # no place is drawn: where, is asked first
            return
        draft = going.answer(day, draft, "", day.now)
    assert going.calls(day, draft) == ()
    assert step in going.finished(draft, noted=False).done


@given(WHERE, MOVES)
def test_enter_at_a_question_within_a_step_leaves_it_out(
    where: tuple[str, Day], moves: list[str | None]
) -> None:
    """Voltage, gusts, a roll's temperature and lot, damp, T-joints: nothing is said of them."""
    role, day = where
    draft = going.opened(day, days.draft(role))
    for move in moves:
        draft = moved(day, draft, move)
        asked = going.question(day, draft)
        if asked is not None and asked.code in WITHIN:
            assert going.answer(day, draft, "", day.now).answers[-1].text is None


@given(WHERE, MOVES)
def test_enter_says_nothing_that_somebody_should_have_read(
    where: tuple[str, Day], moves: list[str | None]
) -> None:
    """At any question of a value to be read now: left out, carried over, or asked again."""
    role, day = where
    draft = going.opened(day, days.draft(role))
    for move in moves:
        draft = moved(day, draft, move)
        asked = going.question(day, draft)
        if asked is None or not judged(asked):
            continue
        with contextlib.suppress(NotAnswered):
            assert going.answer(day, draft, "", day.now).answers[-1].text is None


def judged(asked: Question) -> bool:
    """Whether a question is of something read or judged by eye just now."""
    return asked.seen and asked.code not in ("same_setting", "method", "confirm_start")
