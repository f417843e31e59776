"""A passport in words: a machine, sheet, instrument or person over the jobs it was on."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import asdict

from weldcal.json_values import JsonObject
from weldcal.reports import show
from weldcal.reports.dossier.lengths import welded
from weldcal.row_types.machines import MeasureRow
from weldcal.views.passport import KnownOnJob, Passport
from weldcal.words import _, mark, plural

WHAT = {
    "machine": mark("machine"),
    "sheet": mark("sheet"),
    "instrument": mark("instrument"),
    "person": mark("person"),
}


def document(passport: Passport) -> JsonObject:
    """The passport as one JSON document."""
    return {
        "what": passport.what,
        "name": passport.name,
        "jobs": [asdict(job) for job in passport.jobs],
        "measures": [
            {
                key: measure[key]
                for key in (
                    "seen_local",
                    "seen_by",
                    "mark",
                    "mark_unit",
                    "speed_m_per_min",
                    "nozzle_set_c",
                    "nozzle_measured_c",
                )
            }
            for measure in passport.measures
        ],
        "repairs": [
            {key: repair[key] for key in ("seen_local", "seen_by", "what", "note")}
            for repair in passport.repairs
        ],
        "apart": [{"job": one.job_name, "name": one.name} for one in passport.apart],
    }


def page(passport: Passport, units: str) -> Iterator[str]:
    """The passport, line by line."""
    yield plural(
        "{what} {name}: known from {n} job.",
        "{what} {name}: known from {n} jobs.",
        len(passport.jobs),
        what=_(WHAT[passport.what]).capitalize(),
        name=show.safe(passport.name),
    )
    for job in passport.jobs:
        yield _line(job, units)
    for row in passport.measures:
        yield _measured(row, units)
    for repair in passport.repairs:
        yield _(
            "- repaired {when} by {by}: {what}",
            when=show.clock(repair["seen_local"]),
            by=show.safe(repair["seen_by"]),
            what=show.safe(repair["what"]),
        )
    for other in passport.apart:
        yield _(
            "{job} has one of that name too, in a book of its own: taken for another one. "
            "If it is this one: weldcal {what} same {name} --with {quoted}",
            job=show.safe(other.job_name),
            what=passport.what,
            name=show.quoted(passport.name),
            quoted=show.quoted(other.job_name),
        )


def recorded(values: JsonObject, name: str) -> str:
    """What was recorded of two things."""
    both = {
        "name": show.safe(name),
        "other": show.safe(values["other"]),
        "job": show.safe(values["job"]),
    }
    if values["same"]:
        return _("{name} of this job and {other} of {job} are one from now on.", **both)
    return _("{name} of this job and {other} of {job} are two from now on.", **both)


def _line(job: KnownOnJob, units: str) -> str:
    head = _("- {job}, as {called}", job=show.safe(job.job), called=show.safe(job.called))
    if job.first_day is None or job.last_day is None:
        return _("{head}: named on no strip and no run yet", head=head)
    return plural(
        "{head}: {first} to {last}, {passed} of {n} strip passed, {length} welded",
        "{head}: {first} to {last}, {passed} of {n} strips passed, {length} welded",
        job.strips,
        head=head,
        first=show.day(job.first_day),
        last=show.day(job.last_day),
        passed=job.passed,
        length=welded(job.welded_m, job.welded_again_m, units),
    )


def _measured(row: MeasureRow, units: str) -> str:
    when, by = show.clock(row["seen_local"]), show.safe(row["seen_by"])
    if row["speed_m_per_min"] is not None and row["mark"] is not None:
        return _(
            "- measured {when} by {by}: mark {mark:g} runs {speed}",
            when=when,
            by=by,
            mark=row["mark"],
            speed=show.speed(row["speed_m_per_min"], units, 2),
        )
    return _(
        "- measured {when} by {by}: nozzle set to {set}, air {air}",
        when=when,
        by=by,
        set=show.temperature(row["nozzle_set_c"], units),
        air=show.temperature(row["nozzle_measured_c"], units),
    )
