"""Dialling in: the speed for now, how sure, and what to try next."""

from __future__ import annotations

from typing import Any

import pytest

KEYS = [
    "speed_m_per_min",
    "dial_mark",
    "dial_unit",
    "nozzle_c",
    "sure",
    "forecast",
    "doubts",
    "next_strip",
    "reasons",
    "rests_on",
    "question",
    "window",
    "carried_over",
    "strips_left_out",
    "recorded",
    "is_go_ahead",
]
UNITS = ("_m_per_min", "_mm", "_c", "_k", "_pct", "_m_per_s", "_v", "_mark", "_h")
PLAIN = (
    "chance",
    "sure",
    "threshold",
    "gain",
    "hour",
    "strips",
    "repairs",
    "unknown_marks",
    "days",
    "set_aside",
    "bleed_checks",
    "peel_samples",
    "is_",
    "recorded",
    "by_bleed_out",
    "trace_ok",
    "effect_m_per_min",
)


@pytest.fixture
def morning(job: Any) -> Any:
    """Three strips, two of them good, on a mild morning."""
    job.ok("conditions --ambient 61F --sheet-temp 74F --wind 5mph")
    for speed, bleed, bond in (
        ("8", "1/16,1/16,1/8", "cold"),
        ("5.5", "1/4,3/16,1/4", "good"),
        ("5", "1/4,5/16,1/4", "good"),
    ):
        job.clock.moment = job.clock.moment.replace(minute=job.clock.moment.minute + 8)
        job.ok(
            f"strip record --nozzle 932 --speed {speed} --bleed {bleed} --bubbling none --bond {bond}"
        )
    return job


def test_before_any_strip_it_says_what_to_try_and_that_it_is_not_sure(job: Any) -> None:
    """No strip, no go-ahead, no certainty; still a speed to begin with."""
    page = job.ok("dial --why").out
    for text in ("Set ", "ft/min", "NOT SURE", "no strip", "NEXT STRIP", "not a go-ahead"):
        assert text in page


def test_the_json_has_stable_keys_and_never_claims_a_go_ahead(morning: Any) -> None:
    """One document, SI, and advice is advice."""
    document = morning.ok("dial --json").json
    assert set(KEYS) <= set(document)
    assert document["is_go_ahead"] is False
    assert document["rests_on"]["strips_today"] == 3
    assert (
        document["forecast"]["width_low_mm"]
        < document["forecast"]["width_mm"]
        < document["forecast"]["width_high_mm"]
    )
    for chance in (
        "chance",
        "chance_too_little",
        "chance_too_much",
        "chance_bubbling",
        "chance_cold",
    ):
        assert 0 <= document["forecast"][chance] <= 1


def test_every_measured_number_of_the_json_names_its_unit(morning: Any) -> None:
    """No bare metre, no bare degree."""
    document = morning.ok("dial --json").json

    def bare(part: Any, path: str) -> list[str]:
        if isinstance(part, dict):
            return [found for key, value in part.items() for found in bare(value, f"{path}.{key}")]
        if isinstance(part, list):
            return [found for value in part for found in bare(value, path)]
        key = path.rsplit(".", 1)[-1]
        number = isinstance(part, int | float) and not isinstance(part, bool)
        return [path] if number and not key.endswith(UNITS) and not key.startswith(PLAIN) else []

    assert bare(document, "") == []
    assert not {"speed_low", "speed_high", "speed_from_there"} & set(document)


def test_advice_is_a_mark_the_dial_has(morning: Any) -> None:
    """Steps of 0.5 from 1 to 20."""
    mark = morning.ok("dial --json").json["dial_mark"]
    assert 1 <= mark <= 20
    assert mark * 2 == int(mark * 2)


def test_conditions_not_given_are_carried_over_by_name(morning: Any) -> None:
    """With the time they were read; those given now are not."""
    document = morning.ok("dial --wind 2mph --json").json
    assert set(document["carried_over"]) == {"ambient_c", "sheet_c"}
    assert document["carried_over"]["ambient_c"] == "2026-06-01T07:00:00-06:00"
    assert "carried over, read 07:00" in " ".join(morning.ok("dial --why").out.split())


def test_a_sheets_reading_stays_beside_a_new_ambient_with_its_age(morning: Any) -> None:
    """As where the ambient is recorded first: `test_old_reading.py` has what it then says."""
    document = morning.ok("dial --ambient 95F --json").json
    assert document["question"]["ambient_c"] == pytest.approx(35.0)
    assert document["carried_over"]["sheet_c"] == "2026-06-01T07:00:00-06:00"


def test_a_hotter_sheet_is_advised_a_faster_speed(morning: Any) -> None:
    """The direction common practice knows (no source): 60 °F warmer is faster by a step and more."""
    cool, warm = (
        morning.ok(f"dial --sheet-temp {t}F --json").json["speed_m_per_min"] for t in (60, 120)
    )
    assert warm - cool > 0.5 * 0.3048 - 1e-9  # the dial's step


def test_advice_given_is_recorded_with_what_went_in_and_the_version(morning: Any) -> None:
    """Numbers as texts, as in every payload."""
    before = len(morning.entries())
    document = morning.ok("dial --json").json
    entry = morning.entries()[-1]
    assert (len(morning.entries()), entry["kind"]) == (before + 1, "advice")
    payload = entry["payload"]
    assert float(payload["answer"]["forecast"]["speed_m_per_min"]) == document["speed_m_per_min"]
    assert payload["question"]["machine"] == "blue"
    assert payload["version"]


def test_advising_changes_no_go_ahead(morning: Any) -> None:
    """A seam begun on advice alone, at another speed, is warned of."""
    morning.ok("dial")
    said = morning.ok("seam start A1 --nozzle 932 --speed 9").out
    assert "WARNING" in said


def test_bare_marks_are_advised_as_marks_once_two_are_measured(job: Any) -> None:
    """Until then the refusal says what to do; afterwards advice is in the dial's own marks."""
    job.ok('machine add "old: mark 1-9 step 0.5"')
    refused = job("dial --machine old")
    assert refused.code == 2
    assert "measure" in refused.err
    job.ok('machine add "tied: mark 1-9 step 0.5" --mark "2=0.8m/min" --mark "8=3m/min"')
    document = job.ok("dial --machine tied --json").json
    assert document["dial_unit"] == "mark"
    assert "mark" in job.ok("dial --machine tied").out


def test_a_strip_whose_speed_nobody_knows_is_left_out_and_counted(morning: Any) -> None:
    """A bare mark never measured teaches nothing, and the answer says so."""
    morning.ok('machine add "old: mark 1-9"')
    morning.ok("strip record --machine old --nozzle 932 --speed 6 --bleed 1/4 --bubbling none")
    assert morning.ok("dial --machine blue --json").json["strips_left_out"] == 1


def test_a_sheet_judged_by_bond_gets_no_width(job: Any) -> None:
    """Bleed-out says nothing there."""
    job.ok('sheet add "tpo: thermoplastic" --judged-by bond')
    page = " ".join(job.ok("dial --sheet tpo --why").out.split())
    assert "judged by bond" in page
    assert "limits 1/8" not in page


@pytest.mark.parametrize(
    "options",
    [
        "--nozzle 9320",
        "--nozzle hot",
        "--sheet-temp 500F",
        "--humidity 140",
        "--machine green",
        "--lap sideways",
        "--at noonish",
    ],
)
def test_a_question_that_cannot_be_is_refused(job: Any, options: str) -> None:
    """Nothing asked, nothing recorded."""
    before = job.entries()
    refused = job(f"dial {options}")
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert job.entries() == before


@pytest.mark.parametrize("line", ["dial", "dial --card", "form card"])
def test_without_a_machine_it_says_how_to_list_one(weldcal: Any, line: str) -> None:
    """Not that a machine of no name is unknown; of two, it asks which."""
    weldcal.ok('job new "Bare roof" --zone America/Denver --by AR --sheet "base: SBS"')
    assert "No machine yet. List one; how: weldcal machine add --help" in weldcal.refused(line)
    weldcal.ok('machine add "old blue: ft/min" --by AR')
    weldcal.ok('machine add "red: ft/min" --by AR')
    assert (
        "machine is missing. Add --machine, like --machine 'old blue', --machine red."
        in weldcal.refused(line)
    )
