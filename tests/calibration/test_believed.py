"""What is believed before any strip, number by number: the tables of MODEL.md written out."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from weldcal.calibration.features import Levels
from weldcal.calibration.job_said import DAY, STRIP, JobSaid
from weldcal.calibration.keys import SheetKey, Who
from weldcal.calibration.knowledge import Knowledge, Taught, TaughtJob, believed, learn
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.levels import JobEvidence

LEVELS = Levels(("cap",), ("M1",), {}, (("M1", 1),))
# Mean and sd of each coefficient, as the model page has them.
TABLE = {
    "intercept": (log(1.676), 0.11),
    "sheet:cap": (0.0, 0.10),
    "sheet:": (0.0, 0.10),
    "machine:M1": (0.0, 0.07),
    "machine:": (0.0, 0.07),
    "lap:granules": (-0.08, 0.12),
    "repair:M1#1": (0.0, 0.10),
    "weather": (0.0158, 0.0045),
    "weather_curve": (0.0, 0.06),
    "two_faces": (-0.0010, 0.002),
    "nozzle": (1.0, 0.3),
    "wind": (-0.015, 0.012),
    "heater_low": (0.5, 0.35),
    "heater_high": (0.5, 0.35),
    "voltage": (0.4, 0.4),
    "sun": (0.24, 0.10),
    "damp": (-0.04, 0.06),
    "elasticity:cap": (log(2.6), 0.6),
    "elasticity:": (log(2.6), 0.6),
    "bubbling:cap": (0.0, 0.10),
    "bubbling:": (0.0, 0.10),
    "curvature": (0.15, 0.30),
    "trace_at": (log(0.30), 0.6),
    "heavy_gap": (log(0.12), 0.5),
    "cold_at": (log(0.45), 0.6),
    "bubbling_blur": (log(0.06), 0.4),
    "cold_blur": (log(0.07), 0.4),
}
UNJUDGED = {
    "intercept": (log(4.0), 0.40),
    "trace_at": (log(0.28), 0.4),
    "cold_at": (log(0.28), 0.4),
}


@pytest.mark.parametrize("judged", [True, False])
def test_every_coefficient_begins_as_the_model_page_has_it(judged: bool) -> None:
    """In the order of their names; a sheet not judged by width has its own middle."""
    layout = ParameterLayout(LEVELS, judged)
    found = {n: (p.mean, p.sd) for n, p in zip(layout.names, layout.priors, strict=True)}
    expected = TABLE if judged else TABLE | UNJUDGED
    assert list(found) == list(expected)
    for name, pair in expected.items():
        assert found[name] == pytest.approx(pair), name
    assert layout.names[layout.elasticity] == "elasticity:cap"
    assert layout.names[layout.bubbling_sheet] == "bubbling:cap"
    assert layout.names[layout.curvature] == "curvature"
    assert (layout.linear, layout.sheets) == (17, 2)


# Kind: spreads of firm, class and sheet together, machine, job.
SHARED = {
    "intercept": (0.25, 0.0, 0.0, 0.04),
    "sheet": (0.0, 0.20, 0.0, 0.03),
    "machine": (0.0, 0.0, 0.07, 0.02),
    "elasticity": (0.15, 0.58, 0.0, 0.07),
    "bubbling": (0.0, 0.10, 0.0, 0.03),
    "repair": (0.0, 0.0, 0.0, 0.10),
    "weather": (0.7 * 0.0045, 0.6 * 0.0045, 0.0, 0.35 * 0.0045),
    "curvature": (0.25 * 0.30, 0.9 * 0.30, 0.0, 0.35 * 0.30),
    DAY: (0.7, 0.6, 0.0, 0.35),
    STRIP: (0.7, 0.6, 0.0, 0.35),
}


@pytest.mark.parametrize("kind", SHARED)
def test_what_jobs_share_of_an_unknown(kind: str) -> None:
    """Half of a sheet's variance is its class's; the firm's own spread is known, others ln sd 0.5."""
    firm, sheet, machine, job = SHARED[kind]
    half = sheet / 2**0.5
    table = {"firm": firm, "class": half, "sheet": half, "machine": machine, "job": job}
    for at, sd in table.items():
        found = believed((kind, at))
        assert found.sd == pytest.approx(sd)
        assert found.log_sd == (0.0 if at == "firm" else 0.5)


def test_with_no_job_known_a_belief_is_the_sum_of_its_levels() -> None:
    """Means of the tables, variances of all levels together, and what names share."""
    layout = ParameterLayout(LEVELS, True)
    who = Who({"M1": "m"}, {"cap": SheetKey("c", "base")}, "J9")
    found = learn([]).belief(layout, "cap", who)
    at = {name: i for i, name in enumerate(layout.names)}
    for name, (mean, _sd) in TABLE.items():
        assert found.mean[at[name]] == pytest.approx(mean), name
    for name, kind in (
        ("intercept", "intercept"),
        ("sheet:cap", "sheet"),
        ("sheet:", "sheet"),
        ("machine:M1", "machine"),
        ("elasticity:cap", "elasticity"),
        ("bubbling:cap", "bubbling"),
        ("repair:M1#1", "repair"),
        ("weather", "weather"),
        ("curvature", "curvature"),
    ):
        variance = sum(sd**2 for sd in SHARED[kind])
        assert found.cov[at[name], at[name]] == pytest.approx(variance, abs=2e-10), name
    # Two sheets of a job share what is the firm's of their elasticities, and no more.
    shared = found.cov[at["elasticity:cap"], at["elasticity:"]]
    assert shared == pytest.approx(0.15**2)
    assert found.cov[at["sheet:cap"], at["sheet:"]] == pytest.approx(0.0)
    spread = (0.7**2 + 0.6**2 + 0.35**2) ** 0.5
    assert found.day == pytest.approx((0.0, spread))
    assert found.strip == pytest.approx((0.0, spread))
    assert found.unlike == pytest.approx(0.10)


def taught(key: str, machines: tuple[str, ...], *sheets: SheetKey) -> Taught:
    """A job that taught from ten strips."""
    return Taught(key, machines, sheets, 10)


CAP, BASE, OTHER = SheetKey("cap", "sbs"), SheetKey("base", "sbs"), SheetKey("foil", "app")
KNOWN = Knowledge(
    (),
    np.zeros(0),
    np.zeros((0, 0)),
    {},
    (taught("J1", ("m1",), CAP), taught("J2", ("m1", "m2"), BASE, OTHER)),
)


@pytest.mark.parametrize(
    ("machine", "sheet", "said", "unlike"),
    [
        ("m1", CAP, (2, 2, 1, 2, 20), 0.10 * 0.3 * 0.5),
        ("m2", CAP, (2, 1, 1, 2, 20), 0.10 * 0.3 * 0.5),
        ("m3", CAP, (2, 0, 1, 2, 20), 0.10 * 0.3),
        ("m1", SheetKey("new", "sbs"), (2, 2, 0, 2, 20), 0.10 * 0.5),
        ("m3", SheetKey("new", ""), (2, 0, 0, 0, 20), 0.10),
        ("m1", OTHER, (2, 2, 1, 1, 20), 0.10 * 0.3 * 0.5),
    ],
)
def test_what_advice_rests_on_and_the_chance_of_a_job_like_none(
    machine: str, sheet: SheetKey, said: tuple[int, ...], unlike: float
) -> None:
    """Jobs, with the machine, with the sheet; sheets of its class; strips. 0.10, 0.3 and 0.5."""
    who = Who({"M": machine}, {"S": sheet})
    found = KNOWN.rests_on("M", "S", who)
    assert (
        found.jobs,
        found.with_machine,
        found.with_sheet,
        found.sheets_alike,
        found.strips,
    ) == said
    assert KNOWN._unlike(sheet.key, who) == pytest.approx(unlike)


def _plain() -> dict[str, list[object]]:
    return {
        "levels": [["intercept", "firm", ""], ["sheet", "sheet", "cap"]],
        "mean": [0.1, 0.2],
        "cov": [0.04, 0.001, 0.01],
        "variance": [["sheet", "job", 0.0], ["sheet", "sheet", 0.01]],
        "jobs": [["J1", ["m1"], [["cap", "sbs"]], 10]],
    }


def test_knowledge_is_the_same_again_of_its_plain_values() -> None:
    """Lower triangle row by row; a spread of nothing is one."""
    found = Knowledge.of(_plain())
    assert found.cov.tolist() == [[0.04, 0.001], [0.001, 0.01]]
    assert found.plain() == _plain()


@pytest.mark.parametrize(
    ("part", "value"),
    [
        ("mean", [0.1]),
        ("mean", [0.1, float("nan")]),
        ("cov", [0.04, float("inf"), 0.01]),
        ("cov", [-0.01, 0.0, 0.01]),
        ("cov", [0.04, 0.0]),
        ("variance", [["sheet", "sheet", -0.01]]),
        ("variance", [["sheet", "machine", 0.01]]),
        ("levels", [["intercept", "firm", ""], ["no such thing", "firm", ""]]),
        ("levels", [["intercept", "firm", ""], ["intercept", "sheet", "cap"]]),
        ("jobs", [["J1", ["m1"]]]),
    ],
)
def test_numbers_that_are_no_knowledge_are_refused(part: str, value: list[object]) -> None:
    """One wrong part is enough."""
    with pytest.raises((ValueError, TypeError, KeyError)):
        Knowledge.of(_plain() | {part: value})


def test_a_job_that_taught_is_kept_by_its_keys() -> None:
    """Its machines and sheets as the firm knows them, and how many strips it had."""
    names = ("intercept", "sheet:cap", "sheet:foil", "machine:M1", "machine:M2")
    said = JobSaid(JobEvidence(names, np.eye(5), np.zeros(5)), "cap", 12)
    who = Who({"M1": "m1"}, {"cap": CAP}, "J1")
    found = learn([TaughtJob("J1", said, who)])
    assert found.jobs == (Taught("J1", ("m1", "J1:M2"), (CAP, SheetKey("J1:foil")), 12),)
    assert not [level for level in found.levels if level.at == "job"]
    assert found.rests_on("M1", "cap", who).strips == 12
