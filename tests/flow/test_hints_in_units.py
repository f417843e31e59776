"""A hint is in the units of the job: what is shown to type can be typed as it stands.

Common practice, no source: a crew in metres has no rule in inches.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from msgspec.structs import replace

from tests.flow import test_every_question
from tests.flow.test_every_question import ALL_DAYS, every
from weldcal.errors import WeldcalError
from weldcal.flow.question import read_answer
from weldcal.records import examples
from weldcal.records.day import TypedSetting
from weldcal.records.fields import read_many, stretch
from weldcal.reports import asking

__all__ = ["every"]
IN_US = re.compile(r"\d ?(?:F|ft|in|mph|lbf|ft/min)\b|\d/\d|[°]F|inch|feet")
IN_SI = re.compile(r"\d ?(?:C|m|mm|m/s|m/min|N)\b|[°]C")
# What another unit is, said beside ours.
BESIDE = "Another unit may follow the number."


def said(question: Any, units: str) -> str:
    """All that a question shows: its sentence, its help, what Enter and a wrong answer are told."""
    lines = [asking.prompt(question, units), *asking.explained(question, units)]
    for typed in ("", "\ud800", "?!"):
        try:
            read_answer(question, typed, units)
        except WeldcalError as refusal:
            lines.append(str(refusal))
    return " ".join(lines).replace(BESIDE, "")


@pytest.fixture
def metric(monkeypatch: Any) -> Any:
    """Every question of every day, on jobs in metres where nothing was typed in feet before."""
    before = TypedSetting("blue", "base", "selvage", "500C", "1.7m/min")

    def typed_in_metres(day: Any) -> Any:
        stands = day.standing and replace(day.standing, setting=before)
        dials = tuple(replace(machine, unit="m/min") for machine in day.machines)
        plain = {"read": (), "last": None, "advised": None}
        return replace(day, units="si", machines=dials, standing=stands, **plain)

    in_metres = {role: tuple(map(typed_in_metres, some)) for role, some in ALL_DAYS.items()}
    typed = {**test_every_question.TYPED, "many": ("6, 5, 7",), "walk": ("10", "void 3 50mm")}
    monkeypatch.setattr(test_every_question, "ALL_DAYS", in_metres)
    monkeypatch.setattr(test_every_question, "TYPED", typed)
    return test_every_question.every.__wrapped__()


def test_no_hint_of_a_job_in_metres_is_in_feet(metric: Any) -> None:
    """Every question of every step."""
    assert len(metric) > 60
    wrong = {
        key: found[0]
        for key, asked in metric.items()
        for question, _does in asked
        if (found := IN_US.findall(said(question, "si")))
    }
    assert wrong == {}


def test_no_hint_of_a_job_in_feet_is_in_metres(every: Any) -> None:
    """The same the other way round."""
    wrong = {
        key: found[0]
        for key, asked in every.items()
        for question, _does in asked
        if (found := IN_SI.findall(said(question, "us")))
    }
    assert wrong == {}


@pytest.mark.parametrize("units", ["us", "si"])
def test_examples_are_of_one_system(units: str) -> None:
    """And can be read."""
    other = IN_SI if units == "us" else IN_US
    for what in examples._EXAMPLES:
        assert not other.search(examples.example(what, units)), what
    assert read_many("reading", examples.example("reading", units), units)
    assert stretch(examples.example("stretch", units), units)


@pytest.mark.parametrize(
    "line",
    [
        "strip 500",
        "strip record --sheet base --nozzle 500 --speed 1.7",
        "strip record --sheet base",
        "probe A1 void",
        "probe A1 foo",
        "finding A1 void 1-2-3",
        "conditions",
        "machine measure blue",
        "machine add x:y",
        "route --from x",
        "seam finish A1",
        "look record A --item x",
        "peel A1 --parted compound",
        "power --volts 230",
    ],
)
def test_a_refusal_shows_what_to_type_in_metres(weldcal: Any, line: str) -> None:
    """On a job in metres; only what was typed itself is repeated."""
    weldcal.ok(
        'job new "Mill" --units si --zone America/Denver --by "Ana Ruiz" --sheet "base: SBS" '
        '--machine "blue: m/min 0.3-7.5 step 0.1" --person "Ana Ruiz: AR, operator"'
    )
    weldcal.ok('me "Ana Ruiz"')
    refused = weldcal(line)
    assert refused.code == 2
    assert not IN_US.search(refused.err), refused.err


def test_a_fraction_is_never_taken_for_a_part_of_a_millimetre(weldcal: Any) -> None:
    """`1/4` on a job in metres was kept as 0.25 mm, and failed the lap."""
    weldcal.ok('job new "Mill" --units si --zone America/Denver --by "Ana Ruiz"')
    for typed in ("1/4", "¼", "6,1/4", "3/16,6mm"):
        assert "says no unit. Type" in weldcal.refused(f"bleed A1 3 {typed} --by AR")
    weldcal.ok("bleed A1 3 1/4in,6 --by AR")


def test_every_commands_own_example_can_be_shown_in_metres() -> None:
    """Help shows both kinds of job one example; a refusal shows it in the units of this one."""
    import typer

    from weldcal.cli import help as pages
    from weldcal.cli.main import app

    root = typer.main.get_command(app)
    ctx = typer.Context(root, info_name="weldcal")
    shown = [
        line
        for name in root.list_commands(ctx)
        if (command := root.get_command(ctx, name)) and (line := pages.example(command, ctx))
    ]
    assert len(shown) > 20
    for line in shown:
        assert not IN_US.search(examples.in_metres(line)), line
    bleed = examples.in_metres("weldcal bleed A12 14ft 3/16,1/4 --by AR")
    assert bleed == "weldcal bleed A12 4.3m 5mm,6mm --by AR"
    kept = "weldcal seal --day 2026-06-01 5742a9000001/12 R4"
    assert examples.in_metres(kept) == kept


def test_a_word_left_out_is_asked_for_in_metres(weldcal: Any) -> None:
    """`like 14ft ... weldcal bleed A12 14 3/16,1/4` on a job in metres."""
    weldcal.ok('job new Mill --units si --zone America/Denver --by "Ana Ruiz"')
    for line in (
        "bleed A1",
        "now",
        "width A1",
        "mend F1 --patch",
        "leak report",
        "evening --ambient",
    ):
        refused = weldcal(line)
        assert refused.code == 2
        assert not IN_US.search(refused.err), refused.err
    assert "like 4.3m" in weldcal("bleed A1").err
