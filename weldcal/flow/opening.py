"""Before the day: a job where there is none, and who is working as what.

Invariant: the job's own commands set it up; nothing is guessed but the time
zone, the initials and what a machine's dial usually reaches.
"""

from __future__ import annotations

from collections.abc import Iterator

from weldcal.flow.question import Given, Question, Step, Words, command, got
from weldcal.records.day import ROLES, Day
from weldcal.records.fields import same_name
from weldcal.words import mark


def _job(day: Day, given: Given) -> Iterator[Question]:
    yield Question("job_name", "text")
    yield Question("units", "choice", choices=("us", "si"), default="us")
    yield Question("zone", "zone", default=day.zone)
    yield Question("sheet_name", "text", default="base")
    yield Question("machine_name", "text")
    dials = (
        ("ft/min", "m/min", mark("marks"))
        if got(given, "units") != "si"
        else ("m/min", "ft/min", mark("marks"))
    )
    yield Question("dial_shows", "choice", choices=dials, default=dials[0])
    usual = {"ft/min": "1-25", "m/min": "0.3-7.5"}.get(got(given, "dial_shows") or "", "1-10")
    yield Question("dial_range", "text", default=usual)
    yield Question("person_name", "text")
    yield Question("role", "choice", choices=ROLES, default=ROLES[0])
    told = {code: got(given, code) or "" for code in ("job_name", "machine_name", "person_name")}
    yield Question("confirm_job", values=told)


def _job_words(day: Day, given: Given) -> Words:
    person = got(given, "person_name") or ""
    initials = "".join(part[0] for part in person.split() if part[0].isalnum()).upper()
    new = command(
        "job new",
        got(given, "job_name"),
        units=got(given, "units"),
        zone=got(given, "zone"),
        sheet=got(given, "sheet_name"),
        machine=" ".join(
            (
                f"{got(given, 'machine_name')}:",
                got(given, "dial_shows") or "",
                (got(given, "dial_range") or "").replace(" ", ""),
            )
        ).strip(),
        person=f"{person}: {initials}, {got(given, 'role')}",
    )
    return [new, command("me", person)]


SET_UP = Step("job", ("job",), _job, _job_words)


def _undo(day: Day, given: Given) -> Iterator[Question]:
    yield Question("confirm_undo")


# Anybody's, at any time: the command shows what it would take back, and asks.
UNDO = Step("undo", ("amend",), _undo, lambda day, given: [["undo"]])


def who(day: Day) -> Question:
    """Who is working: the last person on this device with Enter."""
    names = tuple(person.name for person in day.people)
    only = names[0] if len(names) == 1 else None
    return Question("who", "person", choices=names, default=day.typist or only)


def called(day: Day, named: str) -> str:
    """The person listed whom a name, a first name or initials mean, where they mean one; else the name."""
    wanted = same_name(named)
    for spelling in (same_name, _initials, _first):
        found = [one.name for one in day.people if spelling(one.name) == wanted]
        if len(found) == 1:
            return found[0]
    return named


def known(day: Day, person: str) -> bool:
    """Whether somebody is listed on the job, or types on this device."""
    return person == day.typist or any(one.name == person for one in day.people)


def new_person(person: str) -> Question:
    """Whether a name that nobody listed is somebody new; no default, for it may be a slip."""
    return Question("new_person", "choice", choices=("yes", "no"), values={"person": person})


def _initials(name: str) -> str:
    return "".join(part[0] for part in same_name(name).split())


def _first(name: str) -> str:
    return same_name(name).partition(" ")[0]


def what(day: Day, person: str) -> Question:
    """What they do today, where the job does not say."""
    return Question("what", "choice", choices=ROLES, default=ROLES[0], values={"person": person})


def role_of(day: Day, person: str) -> str | None:
    """What somebody does on this job, as listed."""
    return next((one.role for one in day.people if one.name == person), None)
