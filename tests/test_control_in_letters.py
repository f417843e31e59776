"""The control chart in letters, sign for sign, and what samples show, each number worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.reports import control


def single(**said: Any) -> Any:
    known = {"low": 6.0, "high": 10.0, "centre": 8.0, "out": (4,), "first_out": 4, "coarse": False}
    return SimpleNamespace(**known | said)


def found(*values: float, average: Any = None, **said: Any) -> Any:
    rows = [{"name": f"B{n}", "seam": f"A{n}", "at_m": 1.0 * n} for n in range(1, len(values) + 1)]
    return SimpleNamespace(
        values_mm=values,
        rows=rows,
        single=single(**said),
        average=average,
        strip={"name": "S1"},
        doubt=("A5", "A6"),
    )


def test_checks_stand_in_their_rows_between_the_limits() -> None:
    """14 to 6 mm in nine rows, a millimetre each: limits at 10 and 6, the centre at 8, 14 out."""
    lines = control.page(found(6.0, 7.0, 8.0, 9.0, 14.0), "si")
    assert lines[:2] == ["Bleed checks on go-ahead S1, n = 5", ""]
    assert lines[2:11] == [
        " 14.0 mm |    X",
        "         |",
        "         |",
        "         |",
        "         |------",
        "         |   o",
        "         |..o...",
        "         | o",
        "  6.0 mm |o-----",
    ]
    said = " ".join(" ".join(lines[11:]).split())
    assert said.startswith("o check, X out, . centre, - limits;")
    assert "Centre 8.0 mm (the go-ahead's median), individual limits 6.0 mm to 10.0 mm." in said
    assert said.endswith(
        "FIRST OUT OF CONTROL: B5 on seam A5 at 5 m. In doubt since the check before: A5, A6."
    )


def test_what_the_moving_average_calls_out_is_crossed_too_and_the_earlier_is_first() -> None:
    """By either; nothing out is said as well."""
    average = SimpleNamespace(out=(2,), first_out=2)
    lines = control.page(found(6.0, 7.0, 8.0, 9.0, 14.0, average=average), "si")
    assert lines[8] == "         |..X..."
    assert "FIRST OUT OF CONTROL: B3" in " ".join(lines)
    late = SimpleNamespace(out=(), first_out=None)
    by_one = control.page(found(6.0, 7.0, 8.0, 9.0, 14.0, average=late), "si")
    assert "FIRST OUT OF CONTROL: B5" in " ".join(by_one)
    none = control.page(found(6.0, 7.0, 8.0, out=(), first_out=None), "si")
    assert "No point is out of control" in " ".join(none)
    assert not any("X" in line for line in none if " |" in line)


def test_of_many_checks_the_newest_are_drawn(monkeypatch: Any) -> None:
    """As many as fit beside the margin of twelve, five at least; what is out stays with its check."""
    values = [8.0] * 99 + [14.0]
    for wide, shown in ((40, 28), (17, 5), (10, 5)):
        monkeypatch.setattr(control, "columns", lambda wide=wide: wide)
        lines = control._drawn(found(*values, out=(99,)), "si")
        assert lines[0] == " 14.0 mm |" + " " * (shown - 1) + "X"
        assert lines[6] == "         |" + "o" * (shown - 1) + ".."


def test_checks_all_alike_are_one_row() -> None:
    """With no spread there is no division by nought."""
    lines = control._drawn(found(8.0, 8.0, low=None, high=None, out=()), "si")
    assert lines[0] == "  8.0 mm |oo."
    assert [line for line in lines[1:8] if "o" in line] == []


def test_one_check_has_no_limits_and_a_limit_is_never_below_nought() -> None:
    """And a coarse tape is said."""
    one = " ".join(control.page(found(8.0, low=None, high=None, out=(), first_out=None), "si"))
    assert "One check tells no spread yet" in one
    assert "coarse" not in one
    low = " ".join(
        control.page(found(8.0, 9.0, low=-3.0, out=(), coarse=True, first_out=None), "si")
    )
    assert "individual limits 0.0 mm to 10.0 mm" in " ".join(low.split())
    assert "coarse against this spread" in low


def test_without_a_drawing_each_check_is_told(monkeypatch: Any) -> None:
    """By single values or by their average."""
    monkeypatch.setattr(control.settings, "linear", lambda: True)
    average = SimpleNamespace(out=(0,), first_out=0)
    lines = [
        " ".join(line.split())
        for line in control.page(found(6.0, 7.0, 8.0, 9.0, 14.0, average=average), "si")
    ]
    assert lines[2] == "Out of control: B1 on seam A1 at 1 m, 6.0 mm."
    assert lines[3] == "In control: B2 on seam A2 at 2 m, 7.0 mm."
    assert lines[6] == "Out of control: B5 on seam A5 at 5 m, 14.0 mm."


def test_a_chart_as_json_has_its_first_point_out() -> None:
    """The earlier of both; None where there is none."""
    average = SimpleNamespace(out=(2,), first_out=2)
    assert control._first(found(1.0, average=average)) == 2
    assert control._first(found(1.0)) == 4
    assert control._first(found(1.0, first_out=None)) is None


def test_a_plan_says_samples_and_feet() -> None:
    """30.48 m are 100 ft."""
    feet: Any = SimpleNamespace(length_m=30.48, laps=3)
    lines = control.plan(0.05, 0.9, 2, 45, feet)
    assert "with 90 % confidence that no more than 5 % of the lap is bad, 2 failures" in lines[0]
    assert lines[1].startswith("- 45 samples")
    assert lines[2].startswith("- 100 ft (30 m) of probing on 3 laps:")


def loads(**said: Any) -> Any:
    known = {"n": 3, "mean": 5.0, "spread": None, "parted": {"in the compound": 3}, "bound": None}
    return SimpleNamespace(**{**known, "below": 1, "shown": None, **said})


def spacing(why: str = "held") -> Any:
    return SimpleNamespace(why=why, spacing_m=100.0)


def share(bad: int, **said: Any) -> Any:
    known = {"samples": 20, "low": 0.01, "high": 0.25, "most": 0.139, "confidence": 0.95}
    return SimpleNamespace(bad=bad, **{**known, "by_three": None, **said})


@pytest.mark.parametrize(
    ("shown", "verdict"),
    [(True, "shown"), (False, "NOT shown"), (None, "not known from one sample")],
)
def test_loads_against_a_least_one(shown: bool | None, verdict: str) -> None:
    """5 N/mm are 250 N on 50 mm."""
    lines = control.loads(loads(shown=shown), spacing(), None, 4.0, "si", "sheet 7")
    assert lines[:3] == [
        "3 samples, mean 250 N/50 mm; parted in the compound 3.",
        f"Against 200 N/50 mm: 1 below; {verdict}.",
        "The least load is from: sheet 7.",
    ]
    assert "spread 25 N/50 mm" in control.loads(loads(spread=0.5), spacing(), None, None, "si")[0]
    assert "No load was judged" in control.loads(loads(), spacing(), None, None, "si")[1]


def test_what_samples_say_of_the_lap() -> None:
    """Some failed: an interval; none failed: at most so much, and the rule of three."""
    bad = control.loads(loads(), spacing(), share(2), None, "si")
    assert bad[2].startswith(
        "2 of 20 samples from seams failed: 1.0 to 25.0 % of the lap is bad, at 95 % confidence"
    )
    assert "18 of 20 passed" in bad[-1]
    good = control.loads(loads(), spacing(), share(0, by_three=0.15), None, "si")
    assert good[2].startswith(
        "None of 20 samples from seams failed: with 95 % confidence no more than 13.9 % of the lap"
    )
    assert good[3].startswith("The rule of three says 15.0 % (3 divided by 20;")
    assert len(control.loads(loads(), spacing(), share(0), None, "si")) == len(good) - 1
    assert "0 of 0 passed" in control.loads(loads(), spacing(), None, None, "si")[-1]


@pytest.mark.parametrize(
    ("why", "said"),
    [
        ("first", "the first spacing"),
        ("tightened", "tightened after a failure"),
        ("relaxed", "relaxed after a run of passes"),
        ("held", "held"),
    ],
)
def test_the_next_sample_is_so_far_on_and_why(why: str, said: str) -> None:
    """In the job's units."""
    line = control.loads(loads(), spacing(why), None, None, "si")[-1]
    assert line.startswith(f"Next sample from a seam within 100 m of lap ({said}; ")
