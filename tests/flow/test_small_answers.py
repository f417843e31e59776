"""Small answers of the guided day: what one line means, and what is asked because of it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from weldcal.errors import NotAnswered, NotATime, SkippedTime, WeldcalError
from weldcal.flow import earlier, foreman, going, operator, strips, weather
from weldcal.flow.earlier import StillToCome
from weldcal.flow.inspector import _joints_on
from weldcal.flow.question import Question, read_answer
from weldcal.records.day import Advised, Day, Joint, LastReading, Needs, SpeedWanted
from weldcal.records.draft import DayAnswer, Draft

from . import days

FT = 0.3048


@pytest.mark.parametrize(
    ("start", "end", "met"),
    [
        ("0", "33", ["near", "middle", "far"]),
        ("3", "33", ["near", "middle", "far"]),  # it begins on the joint itself
        ("3.5", "33", ["middle", "far"]),
        ("0", "30", ["near", "middle", "far"]),  # it ends on the joint itself
        ("0", "29", ["near", "middle"]),
        (None, None, ["near", "middle", "far"]),
    ],
)
def test_a_walk_meets_the_t_joints_on_its_stretch(
    start: str | None, end: str | None, met: list[str]
) -> None:
    """T-joints at 3, 10 and 30 ft of A1; one on another lap is never met."""
    joints = (
        Joint("near", "A1", 3 * FT),
        Joint("middle", "a1", 10 * FT),
        Joint("far", "A1", 30 * FT),
        Joint("elsewhere", "A2", 10 * FT),
    )
    day = replace(days.PROBING, needs=Needs(joints=joints))
    given = tuple(
        DayAnswer(code, text, days.NOW)
        for code, text in (("walk", "A1"), ("walk_from", start), ("walk_to", end))
    )
    assert list(_joints_on(day, given)) == met


@pytest.mark.parametrize(
    ("machine", "speed", "told"),
    [
        ("blue", "5.5", "5.5 ft/min"),
        ("blue", "1.7m/min", "1.7m/min"),
        ("red", "4", "4"),
        ("nobody's", "4", "4"),
    ],
)
def test_a_bare_speed_is_said_with_the_dials_unit(machine: str, speed: str, told: str) -> None:
    """Not where a unit was typed, nor on a dial of bare marks, nor of a machine nobody listed."""
    day = replace(
        days.BARE,
        machines=(
            replace(days.BARE.machines[0], name="blue", unit="ft/min"),
            replace(days.BARE.machines[0], name="red", unit="mark"),
        ),
    )
    given = tuple(
        DayAnswer(code, text, days.NOW)
        for code, text in (("machine", machine), ("nozzle", "932"), ("speed", speed))
    )
    said = strips.setting_in_words(day, given)
    assert said["speed"] == told
    assert said["nozzle"].startswith("932")


@pytest.mark.parametrize(
    ("nozzle", "asked", "fits"),
    [
        ("932F", "500C", True),
        ("932F", "932", True),
        ("932F", "940F", False),
        ("932F", None, True),
        (None, "500C", True),
        ("932F", "hot", False),
    ],
)
def test_advice_fits_where_only_the_writing_of_the_nozzle_differs(
    nozzle: str | None, asked: str | None, fits: bool
) -> None:
    """500 °C is 932 °F; another temperature is another question."""
    wanted = SpeedWanted("blue", "base", "selvage", asked, ())
    advised = Advised(
        speed="5.5", nozzle=nozzle, wanted=SpeedWanted("blue", "base", "selvage", None, ())
    )
    assert strips.fits(advised, wanted, "us") is fits
    assert not strips.fits(advised, replace(wanted, machine="red"), "us")


@pytest.mark.parametrize("sign", ["\ud800", "\udc80", "\udfff"])
def test_bytes_that_are_no_text_are_no_answer(sign: str) -> None:
    """As a terminal hands them on that is set to another encoding."""
    with pytest.raises(NotAnswered):
        read_answer(Question("who", "name"), f"Ana{sign}", "us")
    assert read_answer(Question("who", "name"), "Ana \ue000", "us")[1] == "Ana \ue000"


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("33", {"lap_what": "finish", "end": "33"}),
        ("14 1/4 3/16", {"lap_what": "check", "at": "14", "readings": "1/4,3/16"}),
        ("14 x", {}),
        ("x 1/4", {}),
        ('"', {}),
        ("", {}),
    ],
)
def test_one_line_finishes_a_lap_or_checks_it(typed: str, told: dict[str, str]) -> None:
    """A place alone is its end; a place with readings a check there; anything else neither."""
    assert dict(going._lap(typed, "us")) == told


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("110", {"still": "no", "wind": None, "sheet_temp": "110"}),
        (" 45 C ", {"still": "no", "wind": None, "sheet_temp": "45 C"}),
        ("yes", {}),
        ("no", {}),
        ("", {}),
        ("warm", {}),
    ],
)
def test_a_sheet_temperature_typed_where_it_is_asked_whether_all_is_still_so(
    typed: str, told: dict[str, str | None]
) -> None:
    """It is the sheet's now; what was read lately is not asked again. Words are an answer of their own."""
    asked = Question("still", "choice", choices=("yes", "no"), fresh=("wind", "sheet_temp"))
    assert dict(going.answers_at_once(asked, typed, "us")) == told


NOW = "2026-06-01T09:30:00-06:00"
ZONE = "America/Denver"


@pytest.mark.parametrize(
    ("kind", "typed", "time", "rest"),
    [
        ("confirm", "7:40", "07:40", ""),
        ("choice", "7:40", "07:40", ""),
        ("text", "7:40", None, "7:40"),  # a remark may be a time of something else
        ("confirm", "at 7:40", "07:40", ""),
        ("value", "5.5 at 7:40", "07:40", "5.5"),
        ("value", "5.5 a las 7:40", "07:40", "5.5"),
        ("text", "wind rose at 7:40", None, "wind rose at 7:40"),
        ("walk", "A1 at 7:40", None, "A1 at 7:40"),
        ("text", "at 7:40", "07:40", ""),
        ("text", "at 3 ft from the drain", None, "at 3 ft from the drain"),
        ("value", "5.5 at 77 o'clock", None, "5.5 at 77 o'clock"),
        ("confirm", "yes", None, "yes"),
    ],
)
def test_a_time_said_with_an_answer_is_parted_from_it(
    kind: str, typed: str, time: str | None, rest: str
) -> None:
    """Where it can be nothing else; what may be part of the words is left in them."""
    found, left = earlier.time_and_rest(NOW, ZONE, Question("asked", kind), typed)  # type: ignore[arg-type]
    assert (found and found[11:16], left) == (time, rest)


@pytest.mark.parametrize("kind", ["confirm", "value", "text"])
def test_a_time_that_was_on_no_clock_is_refused_and_no_words(kind: str) -> None:
    """Clocks went forward over it: it is a time all the same, and not taken for an answer."""
    with pytest.raises(SkippedTime):
        asked = Question("asked", kind)  # type: ignore[arg-type]
        earlier.time_and_rest("2026-03-08T08:00:00-06:00", ZONE, asked, "at 2:30")


@pytest.mark.parametrize("kind", ["confirm", "value"])
def test_a_time_still_to_come_or_none_at_all_is_refused(kind: str) -> None:
    """At 9:30 nothing was seen at 9:31; `at` and no time is a slip, not an answer."""
    for typed, error in (("at 9:31", StillToCome), ("at 77 o'clock", NotATime)):
        with pytest.raises(error):
            earlier.time_and_rest(NOW, ZONE, Question("asked", kind), typed)  # type: ignore[arg-type]
    assert earlier.time_and_rest(NOW, ZONE, Question("asked", kind), "at 9:30")[0] is not None  # type: ignore[arg-type]


def test_the_seal_leaves_the_list_once_there_is_something_to_hand_over() -> None:
    """Handing over needs a seal; settling needs a warning."""
    assert "hand" not in foreman.open_steps(days.BARE)
    assert "settle" not in foreman.open_steps(days.BARE)
    assert "hand" in foreman.open_steps(days.SEALED)
    assert "settle" in foreman.open_steps(days.EVENING)


def test_steps_there_is_nothing_for_are_not_listed() -> None:
    """The start-up list once all is seen to, hot work and its watch, a pull, a lap in work."""
    nothing = operator.open_steps(days.GOOD)
    for step in ("startup", "hot work over", "watch", "pull", "lap"):
        assert step not in nothing
    assert "startup" in operator.open_steps(days.STARTING)
    assert {"hot work over", "watch"} <= set(operator.open_steps(days.HOT_WORK))
    assert "pull" in operator.open_steps(days.PULL)
    assert "lap" in operator.open_steps(days.WELDING)
    assert "startup" in foreman.open_steps(days.FIRST_EVENING)
    assert "mend" in going.question(days.PROBING, _listed(days.PROBING)).choices
    assert "mend" not in going.question(days.BARE, _listed(days.BARE)).choices


def _listed(day: Day) -> Draft:
    return going.begun_at(day, days.draft("inspector"), going.LIST)


def test_good_where_it_is_asked_what_to_do_is_the_pull_of_the_strip_that_waits() -> None:
    """Of the one that waits; of two nobody knows which."""
    listed = going.begun_at(days.PULL, days.draft("operator"), going.LIST)
    assert listed.step == going.LIST
    pulled = going.answer(days.PULL, listed, "good", days.NOW)
    assert (pulled.step, pulled.answers[-1].text) == ("pull", "good")
    two = replace(days.PULL, waiting=("S1", "S2"))
    with pytest.raises(WeldcalError):
        going.answer(two, listed, "good", days.NOW)
    inspector = going.begun_at(days.PULL, days.draft("inspector"), going.LIST)
    with pytest.raises(WeldcalError):  # whose day has no pulls
        going.answer(days.PULL, inspector, "good", days.NOW)
    with pytest.raises(WeldcalError):
        going.answer(days.PULL, listed, "hot", days.NOW)


@pytest.mark.parametrize(
    ("day", "given", "speed"),
    [
        (days.HOT, {}, "6"),  # advised for just this
        (days.HOT, {"nozzle": "500C"}, "6"),
        (days.HOT, {"nozzle": "900F"}, None),  # advised for another nozzle
        (replace(days.HOT, sheets=("base", "cap")), {"sheet": "cap"}, None),
        (days.HOT_COLD, {}, "5.5ft/min"),  # no advice: as last time
        (days.HOT_COLD, {"sheet_temp": "90F"}, None),  # but not in other weather
        (days.HOT, {"sheet_temp": "90F"}, None),
    ],
)
def test_the_speed_offered_is_the_one_advised_for_just_this(
    day: Day, given: dict[str, str], speed: str | None
) -> None:
    """Never one that was meant for something else."""
    answers = tuple(DayAnswer(code, text, days.NOW) for code, text in given.items())
    asked = {q.code: q for q in going.STEPS["strip"].asks(day, answers)}
    assert asked["speed"].default == speed


def test_a_step_broken_off_was_recorded_or_its_last_answer_is_asked_again() -> None:
    """By what its person recorded since its command began; what others recorded says nothing."""
    asked = going.begun_at(days.PULL, days.draft("operator"), "pull")
    answered = going.answer(days.PULL, asked, "good", days.NOW)
    assert going.taken_up(answered, frozenset(["pull"])) == (answered, False)  # it never began
    begun = replace(answered, begun=12)
    done, was = going.taken_up(begun, frozenset(["pull"]))
    assert was and done.step is None and done.answers == () and done.begun is None
    again, was = going.taken_up(begun, frozenset(["strip"]))
    assert not was and again == replace(asked, begun=None)


def test_back_goes_to_the_list_and_no_further() -> None:
    """Before a step's first question; from the list, and from setting up a job, nowhere."""
    step = going.begun_at(days.PULL, days.draft("operator"), "pull")
    listed = going.back(step)
    assert (listed.step, listed.answers) == (going.LIST, ())
    assert going.back(listed) == listed
    job = going.begun_at(days.NOWHERE, days.draft(None), "job")
    assert going.back(job) == job


def test_what_is_left_for_later_comes_no_more_that_day_and_can_be_taken_up() -> None:
    """The pull of this strip, not of another; the list and setting up a job cannot be left."""
    step = going.begun_at(days.PULL, days.draft("operator"), "pull")
    left = going.later(days.PULL, step)
    assert left.step is None and left.done == ("pull S1",)
    assert going.later(days.PULL, replace(step, done=left.done)).done == ("pull S1",)
    assert going.suggested(days.PULL, left) != "pull"
    assert going.suggested(replace(days.PULL, waiting=("S2",)), left) == "pull"
    assert going.put_off(days.PULL, left) == ("pull",)
    assert going.put_off(days.PULL, days.draft("operator")) == ()
    for name in (None, going.LIST, "job"):
        draft = replace(step, step=name, answers=())
        assert going.later(days.PULL, draft) == draft
    assert going.put_off(days.NOWHERE, left) == ()


def test_what_a_step_leaves_behind_once_it_is_done() -> None:
    """Once a day; or where it could be skipped and the book did not note it."""
    draft = days.draft("operator")
    for step, noted, leaves in (
        ("cautions", True, True),
        ("conditions", True, False),
        ("conditions", False, True),
        ("pull", False, False),
        (going.LIST, False, False),
    ):
        done = going.finished(replace(draft, step=step), noted=noted)
        assert done.done == ((step,) if leaves else ())
        assert done.step is None
    assert going.begun(days.PULL, draft).begun == 12


def test_a_flaw_at_a_joint_on_the_way_is_a_finding_of_its_own() -> None:
    """Beside the walk; where none was found, the walk alone."""
    told = {"walk": "A1", "walk_from": "0", "walk_to": "33", "walk_end": "33"}
    given = tuple(DayAnswer(code, text, days.NOW) for code, text in told.items())
    found = (DayAnswer("joint", "A1.1t", days.NOW), DayAnswer("joint_flaw", "void", days.NOW))
    lines = [c.line() for c in going.STEPS["probe"].filled(days.JOINTED, (*given, *found))]
    assert [line[0] for line in lines] == ["probe", "finding"]
    assert lines[1] == ["finding", "A1.1t", "void", "0", "--how", "probed"]
    none = going.STEPS["probe"].filled(days.JOINTED, (*given, DayAnswer("joint", None, days.NOW)))
    assert [c.command for c in none] == ["probe"]


@pytest.mark.parametrize(
    ("job", "name"),
    [
        ("School roof", "school-roof"),
        ("  A&B, 2nd -- ", "a-b-2nd"),
        ("屋根", "dossier"),
        (None, "dossier"),
    ],
)
def test_the_dossier_is_named_after_its_job(job: str | None, name: str) -> None:
    """Letters and numbers of it; nothing is written where nobody wants it."""
    day = replace(days.BARE, job=job)
    step = going.STEPS["dossier"]
    (call,) = step.filled(day, (DayAnswer("want_dossier", "yes", days.NOW),))
    assert call.line() == ["dossier", name]
    assert step.filled(day, (DayAnswer("want_dossier", "no", days.NOW),)) == ()


def test_readings_too_old_are_not_among_those_kept_without_a_look() -> None:
    """Two hours on this job: the air of an hour ago is kept, the sheet of three is read anew."""
    read = (LastReading("ambient", "61F", 1.0), LastReading("sheet_temp", "74F", 3.0))
    (asked,) = weather.still(replace(days.HOT, read=read, read_h=2.0), ())
    assert "ambient" in asked.fresh and "sheet_temp" not in asked.fresh
    assert asked.default is None  # Enter alone does not say that it still is so
    (lately,) = weather.still(replace(days.HOT, read=read[:1], read_h=2.0), ())
    assert lately.default == "yes"


def test_an_answer_to_a_step_that_is_complete_changes_nothing() -> None:
    """There is no question left that it could be one to."""
    draft = going.begun_at(days.PULL, days.draft("operator"), "pull")
    for typed in ("good", "", "yes"):
        draft = going.answer(days.PULL, draft, typed, days.NOW)
    assert going.question(days.PULL, draft) is None
    assert going.answer(days.PULL, draft, "cold", days.NOW) == draft
