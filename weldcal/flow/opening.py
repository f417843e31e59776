"""Before the day: a job where there is none, and who is working as what.

Invariant: the job's own commands set it up; nothing is guessed but the time
zone, the initials and what a machine's dial usually reaches.
"""

from __future__ import annotations

from collections.abc import Iterator

from weldcal.flow.question import WORD, Call, Calls, Given, Question, Step, got
from weldcal.records.day import Day, ListedPerson
from weldcal.records.draft import ROLES
from weldcal.records.fields import same_name
from weldcal.words import mark


def _job(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "job_name",
        "text",
        mark("Name of the job"),
        mark("One roof contract. Everything recorded belongs to it."),
        option=WORD,
    )
    yield Question(
        "units",
        "choice",
        mark("Units: °F and ft, or °C and m"),
        mark("What a bare number means on this job; a unit can be typed anywhere."),
        option="--units",
        choices=("us", "si"),
        default="us",
    )
    yield Question(
        "zone",
        "zone",
        mark("Time zone"),
        mark("Where the roof is, like America/Denver: times are recorded on that clock."),
        option="--zone",
        default=day.zone,
    )
    yield Question(
        "sheet_name",
        "text",
        mark("Short name of the sheet"),
        mark("The membrane that is lapped, by a word the crew uses, like base."),
        option="--sheet",
        default="base",
    )
    yield from _first_machine(given)
    yield from _first_person(given)


def _first_machine(given: Given) -> Iterator[Question]:
    yield Question(
        "machine_name",
        "text",
        mark("Short name of the hot-air machine"),
        mark("A word the crew uses for the machine, like blue."),
    )
    ours, other = ("m/min", "ft/min") if got(given, "units") == "si" else ("ft/min", "m/min")
    yield Question(
        "dial_shows",
        "choice",
        mark("Its dial shows"),
        mark("A dial with bare numbers shows marks."),
        choices=(ours, other, mark("marks")),
        default=ours,
    )
    reach = _REACHES.get(got(given, "dial_shows") or "", "1-10")
    yield Question(
        "dial_range",
        "text",
        mark("Its dial goes from and to"),
        mark("The lowest and the highest it can be set to, like {like}: a slip is told by it."),
        default=reach,
        values={"like": reach},
    )


_REACHES = {"ft/min": "1-25", "m/min": "0.3-7.5"}


def _first_person(given: Given) -> Iterator[Question]:
    yield Question(
        "person_name", "text", mark("Your name"), mark("Only name and initials are kept.")
    )
    yield Question("role", "choice", mark("What you do"), choices=ROLES, default=ROLES[0])
    yield Question(
        "confirm_job",
        asks=mark("Job {job_name}, machine {machine_name}, {person_name}. Enter begins it"),
    )


def _set_up(day: Day, given: Given, call: Call) -> Calls:
    """The job with its machine and person; then who is typing."""
    person, role, machine, dial, reach = (
        got(given, code) or ""
        for code in ("person_name", "role", "machine_name", "dial_shows", "dial_range")
    )
    initials = "".join(part[0] for part in person.split() if part[0].isalnum()).upper()
    new = call.adding(
        machine=f"{machine}: {dial} {reach.replace(' ', '')}".strip(),
        person=f"{person}: {initials}, {role}",
    )
    return (new, Call("me", (person,)))


SET_UP = Step(mark("job"), mark("set up a job"), _job, "job new", ("job",), _set_up)


def _undo(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "confirm_undo",
        asks=mark("Enter shows what you recorded last; it asks before it is taken back"),
    )


# Anybody's, at any time: the command shows what it would take back, and asks.
UNDO = Step(mark("undo"), mark("take back what was recorded by mistake"), _undo, "undo", ("amend",))


def who(day: Day) -> Question:
    """Who is working: the last person on this device with Enter."""
    names = tuple(person.name for person in day.people)
    only = names[0] if len(names) == 1 else None
    return Question(
        "who",
        "person",
        mark("Who is working?"),
        mark("What is recorded now is recorded as seen by this person. A new name may be typed."),
        choices=names,
        default=day.typist or only,
    )


def called(day: Day, named: str) -> str:
    """The person listed whom a name, a first name or initials mean, where they mean one; else the name."""
    wanted = same_name(named)
    for spelling in (_name, _initials, _first):
        names = [person.name for person in day.people if spelling(person) == wanted]
        if len(names) == 1:
            return names[0]
    return named


def known(day: Day, person: str) -> bool:
    """Whether somebody is listed on the job, or types on this device."""
    return person == day.typist or any(one.name == person for one in day.people)


def new_person(person: str) -> Question:
    """Whether a name that nobody listed is somebody new; no default, for it may be a slip."""
    return Question(
        "new_person",
        "choice",
        mark("Nobody is listed as {person}. Somebody new?"),
        choices=("yes", "no"),
        values={"person": person},
    )


def _name(person: ListedPerson) -> str:
    return same_name(person.name)


def _initials(person: ListedPerson) -> str:
    return same_name(person.initials or "")  # as listed: none are made up of a name


def _first(person: ListedPerson) -> str:
    return same_name(person.name).partition(" ")[0]


def what(day: Day, person: str) -> Question:
    """What they do today, where the job does not say."""
    return Question(
        "what",
        "choice",
        mark("{person} today is"),
        choices=ROLES,
        default=ROLES[0],
        values={"person": person},
    )


def take_up(date: str) -> Question:
    """Whether to go on with what was begun another day."""
    return Question(
        "take_up",
        "choice",
        mark("Something of {date} was not finished. Take it up?"),
        choices=("yes", "no"),
        default="no",
        values={"date": date},
    )


def role_of(day: Day, person: str) -> str | None:
    """What somebody does on this job, as listed."""
    return next((one.role for one in day.people if one.name == person), None)
