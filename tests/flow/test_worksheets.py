"""Days worked through by hand (`operator_worksheets.py`, `other_worksheets.py`), and small ones here."""

from __future__ import annotations

import re
import shlex

import pytest
from msgspec.structs import replace

from weldcal.errors import NotAnswered, WeldcalError
from weldcal.flow import going, opening
from weldcal.flow.question import Question, read_answer
from weldcal.records.day import DayLap, GoAheadNow, ListedPerson

from . import days
from .operator_worksheets import OPERATOR
from .other_worksheets import OTHERS

SHEETS = OPERATOR | OTHERS
LINE = re.compile(r"(?P<code>\w+)(?: \[(?P<default>.*)\])? <(?: (?P<typed>.*))?")


@pytest.mark.parametrize("name", SHEETS)
def test_a_day_goes_as_on_the_worksheet(name: str) -> None:
    """Question by question, default by default, to the very command."""
    role, day_name, sheet = SHEETS[name]
    day = getattr(days, day_name)
    draft = going.opened(day, days.draft(role))
    wanted = []
    for line in filter(None, map(str.strip, sheet.splitlines())):
        if line.startswith("="):
            wanted.append(shlex.split(line[1:]))
            continue
        found = LINE.fullmatch(line)
        assert found, line
        asked = going.question(day, draft)
        assert asked is not None, line
        assert (asked.code, asked.default) == (found["code"], found["default"]), line
        typed = found["typed"] or ""
        if typed == "b":
            draft = going.back(draft)
        elif typed == "l":
            draft = going.opened(day, going.later(day, draft))
        else:
            try:
                draft = going.answer(day, draft, typed, day.now)
            except WeldcalError as error:
                assert str(error)  # asked again, as the next line says
    if wanted:
        assert going.question(day, draft) is None
        assert days.lines_of(day, draft) == [words for words in wanted if words]


def test_what_was_seen_a_while_ago_says_when() -> None:
    """An answer found again hours later is recorded with the time it was given."""
    draft = going.opened(days.PULL, days.draft("operator"))
    for typed in ("good", "", ""):
        draft = going.answer(days.PULL, draft, typed, "2026-06-01T11:02:30-06:00")
    assert days.lines_of(days.PULL, draft) == [["strip", "pull", "S1", "good", "--at", "11:02:30"]]


def test_a_walk_of_yesterday_evening_says_which_day() -> None:
    """Start and end are of the day they were given."""
    draft = going.opened(days.PROBING, days.draft("inspector"))
    draft = going.answer(days.PROBING, draft, "", "2026-05-31T17:50:00-06:00")
    draft = going.answer(days.PROBING, draft, "", "2026-05-31T17:55:00-06:00")
    (words,) = days.lines_of(days.PROBING, draft)
    assert words[3:] == ["--started", "2026-05-31 17:50:00", "--at", "2026-05-31 17:55:00"]


def test_the_setting_said_yes_to_is_the_one_recorded() -> None:
    """Another strip made at another terminal between the question and the command changes nothing."""
    draft = going.opened(days.GOOD, days.draft("operator"))
    for typed in ("", "yes"):
        draft = going.answer(days.GOOD, draft, typed, days.NOW)
    other = GoAheadNow("S2", "good", replace(days.SET, nozzle="900F", speed="7ft/min"))
    for later in (replace(days.GOOD, standing=other), replace(days.GOOD, standing=None, last=None)):
        assert going.question(later, draft) is None
        assert days.lines_of(later, draft) == days.lines_of(days.GOOD, draft)


def test_what_followed_from_the_day_stays_as_it_was() -> None:
    """The strip asked about is pulled, though another waits by the time the draft goes on."""
    draft = going.opened(days.PULL, days.draft("operator"))
    later = replace(days.PULL, waiting=("S2",))
    for typed in ("good", "", ""):
        draft = going.answer(later, draft, typed, days.NOW)
    assert days.lines_of(later, draft) == [["strip", "pull", "S1", "good"]]


def test_a_step_that_left_no_entry_is_not_asked_again_that_day() -> None:
    """Nothing read is nothing recorded, and done; what the book has noted is known from there."""
    draft = going.opened(days.BARE, days.draft("operator"))
    assert draft.step == "conditions"
    assert going.suggested(days.BARE, going.finished(draft, noted=False)) == "cautions"
    assert going.finished(draft, noted=True).done == ()


def test_a_walk_with_a_finding_of_yesterday_says_which_day() -> None:
    """A line has times of its own day only: the beginning goes beside it."""
    draft = going.opened(days.PROBING, days.draft("inspector"))
    for typed in ("", "void 14.5 3in", ""):
        draft = going.answer(days.PROBING, draft, typed, "2026-05-31T17:50:00-06:00")
    (words,) = days.lines_of(days.PROBING, draft)
    assert "2026-05-31 17:50:00" in words[words.index("--started") :]
    assert "17:50" not in words[2]


def test_a_number_typed_too_early_is_nobodys_name() -> None:
    """Who is working? is asked first of all, while somebody may type a temperature already."""
    with pytest.raises(NotAnswered):
        read_answer(opening.who(days.BARE), "61", "us")
    assert read_answer(opening.who(days.BARE), "Cleo", "us") == ("who", "Cleo")


def test_a_person_is_meant_by_first_name_or_initials_where_one_is() -> None:
    """Two of a first name are nobody by it: the name stays as typed."""
    day = replace(days.BARE, people=(*days.BARE.people, ListedPerson("Ana Soto", "operator", "AS")))
    assert opening.called(days.BARE, "ana") == "Ana Ruiz"
    assert opening.called(day, "BO") == "Ben Okoro"
    assert opening.called(day, "as") == "Ana Soto"
    assert opening.called(day, "ana  soto") == "Ana Soto"
    assert opening.called(day, "Ana") == "Ana"


def test_who_is_not_the_devices_person_is_named() -> None:
    """What a plain command would take for another's says whose it is."""
    draft = going.opened(days.PROBING, days.draft("inspector", "Ana Ruiz"))
    for _twice in range(2):
        draft = going.answer(days.PROBING, draft, "", days.NOW)
    assert days.lines_of(days.PROBING, draft)[0][-2:] == ["--by", "Ana Ruiz"]


BLANKS = ("", " ", "\t ", "\u00a0", "\u3000", "\u2003 \n")


@pytest.mark.parametrize("kind", ["name", "person", "text"])
@pytest.mark.parametrize("blank", BLANKS)
def test_a_blank_is_no_name(kind: str, blank: str) -> None:
    """Whatever space it is made of: asked again, left out, or the default, as the question says."""
    with pytest.raises(NotAnswered):
        read_answer(Question("who", kind), blank, "us")
    assert read_answer(Question("who", kind, optional=True), blank, "us") == ("who", None)
    assert read_answer(Question("who", kind, default="Ana"), blank, "us") == ("who", "Ana")
    assert read_answer(Question("who", kind, default="Ana", carried=True), blank, "us") == (
        "who",
        None,
    )


@pytest.mark.parametrize("kind", ["name", "person", "text"])
def test_a_name_is_kept_without_the_space_around_it_and_not_beyond_its_length(kind: str) -> None:
    """Spaces between its words are one; 200 signs are a name, 201 none."""
    assert read_answer(Question("who", kind), "  Ana \u00a0 Ruiz ", "us") == ("who", "Ana Ruiz")
    assert read_answer(Question("who", kind), "a" * 200, "us") == ("who", "a" * 200)
    with pytest.raises(WeldcalError):
        read_answer(Question("who", kind), "a" * 201, "us")


def test_a_number_is_nobodys_name() -> None:
    """Typed too early; a number may be a sheet's name."""
    with pytest.raises(NotAnswered):
        read_answer(Question("who", "person"), "932", "us")
    assert read_answer(Question("sheet", "name"), "932", "us") == ("sheet", "932")


LATER = {
    "a time where Enter records it": ("PULL", ["good", "", "7:40"]),
    "before the first answer": ("PULL", ["at 7:40", "good", "", ""]),
    "behind an answer": ("PULL", ["good at 7:40", "", ""]),
    "where a word is asked for, the time alone": ("PULL", ["7:40", "good", "", ""]),
    "in Spanish": ("PULL", ["a las 7:40", "good", "", ""]),
    "said again, the last counts": ("PULL", ["at 6:10", "good", "at 7:40am", "", ""]),
}


@pytest.mark.parametrize("name", LATER)
def test_what_was_seen_before_is_recorded_as_seen_then(name: str) -> None:
    """`7:40` where Enter records it, or `at 7:40` anywhere: entered now, seen then."""
    day_name, typed = LATER[name]
    day = getattr(days, day_name)
    draft = going.opened(day, days.draft("operator"))
    for text in typed:
        draft = going.answer(day, draft, text, day.now)
    assert going.question(day, draft) is None
    assert days.lines_of(day, draft) == [["strip", "pull", "S1", "good", "--at", "07:40:00"]]


@pytest.mark.parametrize(("typed", "said"), [("at 25:10", "not a time"), ("at 23:50", "to come")])
def test_a_time_that_cannot_be_is_asked_again(typed: str, said: str) -> None:
    """No time of any day; or one that is not yet."""
    draft = going.opened(days.PULL, days.draft("operator"))
    with pytest.raises(WeldcalError, match=said):
        going.answer(days.PULL, draft, typed, days.NOW)


def test_a_lap_finished_a_while_ago_and_a_walk_of_this_morning() -> None:
    """Behind the place where it ended; a walk begun and ended before has no start of its own."""
    draft = going.opened(days.CHECKED, days.draft("operator"))
    for typed in ("", "33 at 11:05"):
        draft = going.answer(days.CHECKED, draft, typed, days.NOW)
    assert days.lines_of(days.CHECKED, draft) == [
        ["seam", "finish", "A1", "--to", "33", "--at", "11:05:00"]
    ]
    draft = going.opened(days.PROBING, days.draft("inspector"))
    for typed in ("at ayer 16:00", "at yesterday 16:00", "", ""):
        draft = going.answer(days.PROBING, draft, typed, days.NOW)
    assert days.lines_of(days.PROBING, draft) == [
        ["probe", "A1", "0-33", "--at", "2026-05-31 16:00:00"]
    ]


def test_back_takes_the_time_said_away_by_itself() -> None:
    """`at 7:40`, then back: asked the same question, seen now."""
    draft = going.opened(days.PULL, days.draft("operator"))
    then = going.answer(days.PULL, draft, "at 7:40", days.NOW)
    assert going.answers_so_far(days.PULL, then)[0][1].text == "07:40"
    assert going.back(then) == draft
    draft = going.answer(days.PULL, then, "good", days.NOW)
    draft = going.answer(days.PULL, draft, "", days.NOW)
    asked = going.question(days.PULL, draft)
    assert asked is not None
    assert asked.at == "07:40"


def test_back_takes_an_answer_and_its_time_away_together() -> None:
    """`good at 7:40`, then back: neither stands."""
    draft = going.opened(days.PULL, days.draft("operator"))
    assert going.back(going.answer(days.PULL, draft, "good at 7:40", days.NOW)) == draft


@pytest.mark.parametrize("typed", ["strip", "Pull", "undo"])
def test_a_steps_word_where_a_seam_is_asked_for_is_asked_back(typed: str) -> None:
    """`Weld next` < strip: the step, or a seam of that name; Enter says neither."""
    day = replace(days.GOOD, waiting=("S1",))
    draft = going.opened(days.GOOD, days.draft("operator"))
    draft = going.answer(day, draft, typed, day.now)
    asked = going.question(day, draft)
    assert asked is not None
    assert asked.code == "meant"
    with pytest.raises(NotAnswered):
        going.answer(day, draft, "", day.now)
    named = going.answer(day, draft, "name", day.now)
    assert next(one.text for one in named.answers) == typed
    assert named.step == "start"
    assert going.answer(day, draft, "step", day.now).step == typed.casefold()
    assert going.back(draft).answers == ()


def test_a_seam_listed_under_a_steps_word_is_a_seam() -> None:
    """Nobody is asked about a name that is known."""
    day = replace(days.GOOD, to_weld=(DayLap("strip", "0", "9"),))
    draft = going.answer(day, going.opened(day, days.draft("operator")), "strip", day.now)
    asked = going.question(day, draft)
    assert asked is not None
    assert asked.code == "same_setting"
