"""What the firm knows, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from weldcal.json_values import JsonObject
from weldcal.reports import shared_names, show
from weldcal.views.knowledge import KnowledgeFile, MetBy
from weldcal.words import _, plural

if TYPE_CHECKING:
    from weldcal.calibration.knowledge import Knowledge


def document(file: KnowledgeFile, met: MetBy) -> JsonObject:
    """A knowledge file as one JSON document: what it rests on, and what it says of levels."""
    knowledge = file.knowledge
    return {
        "form": file.form,
        "made": file.made,
        "program": file.program,
        "sha256": file.digest,
        "signed_by": file.signed_by or None,
        "jobs": len(knowledge.jobs),
        "strips": sum(job.strips for job in knowledge.jobs),
        "machines": _machines(knowledge),
        "sheets": _sheets(knowledge),
        "spread_of_sheets_ln_speed": _spread(knowledge, "sheet", ("class", "sheet")),
        "spread_of_jobs_ln_speed": _spread(knowledge, "intercept", ("job",)),
        "spread_of_sheets_ln_elasticity": _spread(knowledge, "elasticity", ("class", "sheet")),
        "jobs_with": met.counts,
        "shared_names": met.shared,
        "by_name_alone": met.by_name,
        "taught_by_this_job": met.own,
    }


def page(file: KnowledgeFile, met: MetBy) -> Iterator[str]:
    """A knowledge file in words.

    Args:
        met: what it knows of this job's machines and sheets.
    """
    knowledge = file.knowledge
    jobs = plural("{n} job", "{n} jobs", len(knowledge.jobs))
    strips = plural("{n} strip", "{n} strips", sum(job.strips for job in knowledge.jobs))
    machines = plural("{n} machine", "{n} machines", _machines(knowledge))
    sheets = plural("{n} sheet", "{n} sheets", _sheets(knowledge))
    yield _(
        "Learnt from {jobs}, {strips}: {machines}, {sheets}.",
        jobs=jobs,
        strips=strips,
        machines=machines,
        sheets=sheets,
    )
    yield _differ(knowledge)
    yield _(
        "A per cent of speed moves the bleed-out by some {middle:.1f} per cent; from sheet to sheet {low:.1f} to {high:.1f}.",
        **_elasticity(knowledge),
    )
    for what in shared_names.THINGS:
        counts = met.counts[f"{what}s"].items()
        yield from [_met(what, name, count, met) for name, count in counts]
    if any(met.counts[what].get(name) for what, names in met.by_name.items() for name in names):
        yield _(
            "Where the name alone tells and it was another one: weldcal merge a pack of that "
            "job. Then they are two here until somebody says that they are one."
        )
    signed = (
        _("signed with the key {key}", key=show.safe(file.signed_by))
        if file.signed_by
        else _("not signed")
    )
    yield _(
        "Made {day} by weldcal {program}; {signed}. Code {code}.",
        day=show.safe(file.made),
        program=show.safe(file.program),
        signed=signed,
        code=file.digest[:12],
    )


def _differ(known: Knowledge) -> str:
    """How far sheets and jobs differ; of one sheet nothing is learnt of that."""
    values = {
        "sheets": _percent(_spread(known, "sheet", ("class", "sheet"))),
        "jobs": _percent(_spread(known, "intercept", ("job",))),
    }
    if _sheets(known) < 2:
        return _(
            "One sheet does not tell how sheets differ: it is taken to be some {sheets} of speed, between jobs with the same sheet and machine {jobs}.",
            **values,
        )
    return _(
        "Sheets differ by some {sheets} of speed, jobs with the same sheet and machine by {jobs}.",
        **values,
    )


def _met(what: str, name: str, count: int, met: MetBy) -> str:
    things = met.shared[f"{what}s"].get(name, 0)
    if things:
        return shared_names.leads_to_none(what, name, things)
    if not count:
        return _("{name} is new to it.", name=show.safe(name))
    if name in met.by_name[f"{what}s"]:
        return plural(
            "{name} was on {n} of those jobs, by its name alone.",
            "{name} was on {n} of those jobs, by its name alone.",
            count,
            name=show.safe(name),
        )
    return plural(
        "{name} was on {n} of those jobs.",
        "{name} was on {n} of those jobs.",
        count,
        name=show.safe(name),
    )


def _machines(knowledge: Knowledge) -> int:
    return len({machine for job in knowledge.jobs for machine in job.machines})


def _sheets(knowledge: Knowledge) -> int:
    return len({sheet.key for job in knowledge.jobs for sheet in job.sheets})


def _spread(knowledge: Knowledge, of: str, at: tuple[str, ...]) -> float:
    """Spread of an unknown between things, all these levels together."""
    return math.sqrt(sum(knowledge.variance.get((of, one), 0.0) for one in at))


def _percent(ln: float) -> str:
    return show.percent(math.expm1(ln))


def _elasticity(knowledge: Knowledge) -> dict[str, float]:
    """The middle elasticity of the firm's sheets, and the range of most of them."""
    from weldcal.calibration.priors import ELASTICITY

    firm = [
        float(m)
        for level, m in zip(knowledge.levels, knowledge.mean, strict=True)
        if (level.of, level.at) == ("elasticity", "firm")
    ]
    middle = ELASTICITY.mean + sum(firm)
    away = 1.64 * _spread(knowledge, "elasticity", ("class", "sheet"))
    return {
        "middle": math.exp(middle),
        "low": math.exp(middle - away),
        "high": math.exp(middle + away),
    }
