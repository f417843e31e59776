"""Before hot air: the cord's voltage drop with its cautions, and dew on the sheet."""

from __future__ import annotations

from typing import Any

import pytest

CAUTIONS = ["ampacity", "cord", "coil", "ground-fault", "licensed electrician"]

# Worked from NEC chapter 9 table 8 (75 °C, stranded) and IEC 60228 class 5 (20 °C): what is lost, V.
# The command reckons a loaded cord at 75 °C: the metric table's value times 1 + 0.00393·55 K.
WORKED = [
    ("--volts 120 --length 100ft --load 16A --cord 12AWG", 6.336, 0.0528),
    ("--volts 120 --length 100ft --load 16A --cord #12", 6.336, 0.0528),
    ("--volts 230 --length 100ft --load 20A --cord 10AWG", 4.96, 0.0216),
    ("--volts 230 --length 30m --load 16A --cord 4mm2", 4.752 * 1.21615, 0.0207 * 1.21615),
    ("--volts 230 --length 30m --load 16A --cord '4 mm²'", 4.752 * 1.21615, 0.0207 * 1.21615),
    ("--volts 230 --length 100ft --load 20A --cord 10AWG --phases 3", 4.96 * 3**0.5 / 2, None),
]


@pytest.mark.parametrize(("line", "volts", "share"), WORKED, ids=[case[0] for case in WORKED])
def test_worked_examples(job: Any, line: str, volts: float, share: float | None) -> None:
    """Two conductors, there and back; √3 of one for three phases."""
    drop = job.ok(f"power {line} --json").json["drop"]
    assert drop["drop_v"] == pytest.approx(volts, rel=2e-3)
    assert share is None or drop["share"] == pytest.approx(share, rel=3e-3)


def test_the_heater_loses_by_the_square(job: Any) -> None:
    """×0.897 of its power at 5.28 % less voltage."""
    line = "power --volts 120 --length 100ft --load 16A --cord 12AWG"
    assert job.ok(f"{line} --json").json["drop"]["heater_lost"] == pytest.approx(
        1 - 0.897, abs=5e-4
    )
    out = job.ok(line).out
    assert "10.3 % less power" in out
    assert "6.3 V lost (5.3 %)" in out


@pytest.mark.parametrize(
    ("options", "gauge"), [("", "8 AWG"), ("--most 5.3", "12 AWG"), ("--most 4", "10 AWG")]
)
def test_what_gauge_would_do(job: Any, options: str, gauge: str) -> None:
    """At 16 A, 100 ft, 120 V: 12 AWG loses 5.28 %, 10 AWG 3.31 %, 8 AWG 2.07 % (table 8)."""
    out = job.ok(f"power --volts 120 --length 100ft --load 16A {options}").out
    assert f"{gauge} would lose" in out


@pytest.mark.parametrize(
    "line",
    [
        "--volts 120 --length 100ft --load 16A --cord 12AWG",
        "--volts 120 --length 100ft --load 16A",
        "--volts 230 --length 30m --load 16A --cord 4mm2",
        "--volts 230 --length 100ft --load 16A --most 0",
    ],
)
def test_a_gauge_never_comes_without_what_decides_it(job: Any, line: str) -> None:
    """Ampacity, the cord's rating, coiling, ground-fault protection, a licensed electrician."""
    out = job.ok(f"power {line}").out
    assert "Voltage drop alone never decides" in out
    for caution in CAUTIONS:
        assert caution in out
    document = job.ok(f"power {line} --json").json
    assert len(document["cautions"]) == len(CAUTIONS)


def test_where_no_conductor_holds_it_says_so(job: Any) -> None:
    """300 m of cord."""
    out = job.ok("power --volts 120 --length 300m --load 16A").out
    assert "No conductor of the table holds 3 %" in out
    assert "would lose" not in out


def test_power_needs_no_job_and_records_nothing(weldcal: Any) -> None:
    """No book either."""
    out = weldcal.ok("power --volts 120 --length 100ft --load 16A --cord 12AWG").out
    assert "5.3 %" in out
    assert weldcal.entries() == []


BAD = [
    ("--volts 230 --length 30m --load 16A --cord 99", "14 AWG, 12 AWG, 10 AWG, 8 AWG, 6 AWG"),
    ("--volts 230 --length 30m --load 16A --cord 99mm2", "1.5 mm², 2.5 mm², 4 mm², 6 mm²"),
    ("--volts 230 --length 30m --load 16A --cord thick", "14 AWG"),
    ("--volts 230 --length 30m --load 16A --cord ''", "14 AWG"),
    ("--volts 230 --length 30m --load 16A --cord=-12AWG", "14 AWG"),
    ("--volts 0 --length 30m --load 16A", "cannot be"),
    ("--volts 230 --length=-30m --load 16A", "cannot be"),
    ("--volts 230 --length 30m --load 0", "cannot be"),
    ("--volts 230 --length 30m --load 16A --phases 2", "1, 3"),
    ("--volts 230 --length 30m --load lots", "not a number"),
    ("--volts 60 --length 900m --load 16A --cord 14AWG", "lose all the voltage"),
    ("--length 30m --load 16A", "--volts"),
    ("--volts 230 --load 16A", "--length"),
    ("--volts 230 --length 30m", "--load"),
]


@pytest.mark.parametrize(("line", "told"), BAD, ids=[case[0] for case in BAD])
def test_power_that_cannot_be_is_refused_in_one_line(job: Any, line: str, told: str) -> None:
    """And says what there is."""
    refused = job(f"power {line}")
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.splitlines()) == 1
    assert told in refused.err


# -- dew --------------------------------------------------------------------------------

# Air at 59 °F (15 °C), 70 %: dew point 9.57 °C, 49.2 °F (WMO coefficients; MetPy 9.569, PsychroLib 9.579).
DEW = [
    ("--ambient 59F --humidity 70 --sheet-temp 60F", "dry"),  # 6 K above
    ("--ambient 59F --humidity 70 --sheet-temp 55F", "dry"),  # 3.2 K
    ("--ambient 59F --humidity 70 --sheet-temp 54F", "near_dew"),  # 2.7 K
    ("--ambient 59F --humidity 70 --sheet-temp 49F", "dew"),
    ("--ambient 15C --humidity 70 --sheet-temp 9C", "dew"),
    ("--ambient 32F --humidity 80 --sheet-temp 20F", "frost"),  # frost point -2.7 °C, 27 °F
    ("--ambient 61F --humidity 100 --sheet-temp 61F", "dew"),
]


@pytest.mark.parametrize(("line", "code"), DEW, ids=[case[0] for case in DEW])
def test_dew_against_the_sheet(job: Any, line: str, code: str) -> None:
    """3 K is near."""
    assert job.ok(f"check {line} --json").json["dampness"]["code"] == code


def test_dew_point_and_margin_are_told_with_their_source(job: Any) -> None:
    """49 °F; the rule is borrowed, and says so."""
    out = " ".join(job.ok("check --ambient 59F --humidity 70 --sheet-temp 54F").out.split())
    assert "Dew point 49 °F; the sheet is 5 °F above: NEAR DEW" in out
    assert "borrowed from steel-coating practice" in out


def test_a_sheet_colder_than_the_dew_point_lies_below_it(job: Any) -> None:
    """No "-4 °F above"."""
    out = " ".join(job.ok("check --ambient 59F --humidity 70 --sheet-temp 45F").out.split())
    assert "4 °F below" in out
    assert "DEW on the sheet" in out


def test_nothing_read_says_what_to_read(job: Any) -> None:
    """Exit code 0: "not known" is an answer; the cautions stand there all the same."""
    done = job.ok("check")
    assert "Dew point not known: read ambient, humidity and sheet temperature" in " ".join(
        done.out.split()
    )
    assert "BEFORE HOT AIR" in done.out
    assert job.ok("check --json").json["dampness"] is None


@pytest.mark.parametrize("left", ["ambient", "humidity", "sheet-temp"])
def test_one_reading_missing_is_not_known(job: Any, left: str) -> None:
    """Never guessed."""
    read = {"ambient": "61F", "humidity": "85", "sheet-temp": "58F"}
    options = " ".join(f"--{name} {text}" for name, text in read.items() if name != left)
    assert job.ok(f"check {options} --json").json["dampness"] is None


def test_what_was_read_before_counts_and_what_is_given_now_counts_more(job: Any) -> None:
    """Conditions of half an hour ago."""
    job.ok(
        "conditions --ambient 59F --humidity 70 --sheet-temp 49F --wind 12mph --line-voltage 212 --damp yes"
    )
    job.clock.set("07:30")
    out = job.ok("check").out
    assert "DEW on the sheet" in out
    assert "noted damp" in out
    assert "Wind 12 mph." in out
    assert "Line 212 V under load." in out
    assert job.ok("check --sheet-temp 70F --json").json["dampness"]["code"] == "dry"


def test_readings_of_yesterday_are_not_todays_dew(job: Any) -> None:
    """Nor is a sheet noted damp yesterday damp today."""
    job.ok("conditions --ambient 59F --humidity 70 --sheet-temp 49F --damp yes")
    job.clock.set("07:30", days=1)
    document = job.ok("check --json").json
    assert document["dampness"] is None
    assert document["conditions"]["damp"] is False


@pytest.mark.parametrize(
    "line",
    [
        "--ambient=-55F --humidity 50 --sheet-temp 0F",
        "--ambient 61F --humidity 0 --sheet-temp 60F",
        "--ambient 140F --humidity 100 --sheet-temp 140F",
        "--ambient=-49F --humidity 1 --sheet-temp=-50F",
    ],
)
def test_no_weather_that_can_be_typed_breaks_it(job: Any, line: str) -> None:
    """An answer or one plain refusal; never "something went wrong"."""
    done = job(f"check {line}")
    assert done.code in (0, 2)
    assert "went wrong" not in done.err


@pytest.mark.parametrize("line", ["--humidity 140", "--ambient warm", "--sheet-temp 900F"])
def test_weather_that_cannot_be_is_refused(job: Any, line: str) -> None:
    """Exit code 2, one line."""
    refused = job(f"check {line}")
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1


def test_checking_records_nothing(job: Any) -> None:
    """It only looks."""
    before = job.entries()
    job.ok("check --ambient 61F --humidity 85 --sheet-temp 58F")
    assert job.entries() == before


def test_a_dew_point_below_zero_is_told_in_words_that_can_be_read(job: Any) -> None:
    """At 0 °C and 80 % frost forms at -2.7 °C (PsychroLib, over ice): the sheet below it is so
    many degrees below, never minus so many above."""
    cold = "check --ambient 0C --humidity 80"
    below = " ".join(job.ok(f"{cold} --sheet-temp -6.7C").out.split())
    above = " ".join(job.ok(f"{cold} --sheet-temp -1.7C").out.split())
    assert (
        "Dew point 27 °F; the sheet is 7 °F below: FROST on the sheet: wait until it is dry"
        in below
    )
    assert "Dew point 27 °F; the sheet is 2 °F above: NEAR DEW" in above


def test_a_sheet_below_the_dew_point_voids_in_words(go_ahead: Any) -> None:
    """`-12 °F above the dew point` was said of it."""
    go_ahead.day("07:10 conditions --ambient 59F --humidity 70 --sheet-temp 45F")
    for page in ("go-ahead", "dial"):
        said = " ".join(go_ahead(page).out.split())
        assert "the sheet is 4 °F below the dew point: dew on it" in said
        assert "-4 °F" not in said


def test_in_metres_a_dew_point_below_zero_has_its_sign(weldcal: Any) -> None:
    """-2.7 °C, told as -3 °C; the sheet at -6.7 °C lies 4 °C below."""
    weldcal.ok('job new Mill --units si --zone Europe/Oslo --by "Ana Ruiz"')
    said = " ".join(weldcal.ok("check --ambient 0C --humidity 80 --sheet-temp -6.7C").out.split())
    assert "Dew point -3 °C; the sheet is 4 °C below: FROST on the sheet" in said
