"""Before the day: who is working, as what, and what a first machine usually is."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from weldcal.flow import going, opening
from weldcal.records.day import ListedPerson
from weldcal.records.draft import DayAnswer

from . import days


def test_who_is_working_and_as_what() -> None:
    """Who types on the device, else the only one listed; an operator, where the job does not say."""
    assert opening.who(days.BARE).default == "Ana Ruiz"
    nobody = replace(days.BARE, typist=None)
    assert opening.who(nobody).default is None
    alone = replace(nobody, people=nobody.people[:1])
    assert opening.who(alone).default == "Ana Ruiz"
    assert opening.who(days.BARE).choices == ("Ana Ruiz", "Ben Okoro")
    asked = opening.what(days.BARE, "Carla")
    assert (asked.default, asked.choices[0], asked.values["person"]) == (
        "operator",
        "operator",
        "Carla",
    )
    assert opening.role_of(days.BARE, "Ben Okoro") == "inspector"
    assert opening.role_of(days.BARE, "Carla") is None
    assert opening.new_person("Carla").default is None
    assert opening.take_up("2026-05-31").default == "no"
    for name, is_known in (("Ana Ruiz", True), ("Ben Okoro", True), ("Carla", False)):
        assert opening.known(replace(days.BARE, typist="Ana Ruiz"), name) is is_known
    assert opening.known(replace(days.BARE, typist="Carla"), "Carla")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("ana ruiz", "Ana Ruiz"),
        ("AR", "Ana Ruiz"),
        ("ana", "Ana Ruiz"),
        ("ben", "Ben Okoro"),
        ("ruiz", "ruiz"),
        ("carla", "carla"),
    ],
)
def test_a_person_is_called_by_name_initials_or_first_name(typed: str, meant: str) -> None:
    """Where that means one of those listed."""
    assert opening.called(days.BARE, typed) == meant
    twice = replace(
        days.BARE, people=(*days.BARE.people, ListedPerson("Ana Rojas", "operator", "AR"))
    )
    for short in ("AR", "ana"):
        assert opening.called(twice, short) == short
    assert opening.called(twice, "ana rojas") == "Ana Rojas"


@pytest.mark.parametrize(
    ("units", "shows", "reach"),
    [
        (None, None, None),
        ("us", "ft/min", "1-25"),
        ("si", "m/min", "0.3-7.5"),
        ("us", "m/min", "0.3-7.5"),
        ("us", "marks", "1-10"),
    ],
)
def test_what_a_dial_usually_shows_and_reaches(
    units: str | None, shows: str | None, reach: str | None
) -> None:
    """The job's own unit first; the reach of such dials."""
    given = tuple(
        DayAnswer(code, text, days.NOW)
        for code, text in (("units", units), ("dial_shows", shows))
        if text
    )
    asked = {q.code: q for q in going.STEPS["job"].asks(days.NOWHERE, given)}
    assert asked["dial_shows"].default == ("m/min" if units == "si" else "ft/min")
    assert asked["dial_shows"].choices == (
        ("m/min", "ft/min", "marks") if units == "si" else ("ft/min", "m/min", "marks")
    )
    assert asked["dial_range"].default == (reach or "1-10")
    assert asked["role"].default == "operator"
    assert (asked["units"].default, asked["sheet_name"].default) == ("us", "base")
