"""Small answers of the guided day: what one line means, and what is asked because of it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from weldcal.errors import NotAnswered, NotATime, StillToCome, WeldcalError
from weldcal.flow import at_once, earlier, foreman, going, strips
from weldcal.flow.inspector import _joints_on
from weldcal.flow.question import Question, read_answer
from weldcal.records.day import Advised, Answer, Joint, Needs, Wanted

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
        Answer(code, text, days.NOW)
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
        Answer(code, text, days.NOW)
        for code, text in (("machine", machine), ("nozzle", "932"), ("speed", speed))
    )
    said = strips.setting_told(day, given)
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
    wanted = Wanted("blue", "base", "selvage", asked, ())
    advised = Advised(
        speed="5.5", nozzle=nozzle, wanted=Wanted("blue", "base", "selvage", None, ())
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
    ],
)
def test_one_line_finishes_a_lap_or_checks_it(typed: str, told: dict[str, str]) -> None:
    """A place alone is its end; a place with readings a check there; anything else neither."""
    assert dict(at_once._lap(typed, "us")) == told


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
    assert dict(at_once.told(asked, typed, "us")) == told


NOW = "2026-06-01T09:30:00-06:00"


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
    found, left = earlier.parted(NOW, Question("asked", kind), typed)  # type: ignore[arg-type]
    assert (found and found[11:16], left) == (time, rest)


@pytest.mark.parametrize("kind", ["confirm", "value"])
def test_a_time_still_to_come_or_none_at_all_is_refused(kind: str) -> None:
    """At 9:30 nothing was seen at 9:31; `at` and no time is a slip, not an answer."""
    for typed, error in (("at 9:31", StillToCome), ("at 77 o'clock", NotATime)):
        with pytest.raises(error):
            earlier.parted(NOW, Question("asked", kind), typed)  # type: ignore[arg-type]
    assert earlier.parted(NOW, Question("asked", kind), "at 9:30")[0] is not None  # type: ignore[arg-type]


def test_the_seal_leaves_the_list_once_there_is_something_to_hand_over() -> None:
    """Handing over needs a seal; settling needs a warning."""
    assert "hand" not in foreman.open_steps(days.BARE)
    assert "settle" not in foreman.open_steps(days.BARE)
    assert "hand" in foreman.open_steps(days.SEALED)
    assert "settle" in foreman.open_steps(days.EVENING)


def test_good_where_it_is_asked_what_to_do_is_the_pull_of_the_strip_that_waits() -> None:
    """Of the one that waits; of two nobody knows which."""
    listed = going.begun_at(days.PULL, days.draft("operator"), going.LIST)
    assert listed.step == going.LIST
    pulled = going.answer(days.PULL, listed, "good", days.NOW)
    assert (pulled.step, pulled.answers[-1].text) == ("pull", "good")
    two = replace(days.PULL, waiting=("S1", "S2"))
    with pytest.raises(WeldcalError):
        going.answer(two, listed, "good", days.NOW)
