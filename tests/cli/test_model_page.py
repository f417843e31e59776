"""`weldcal dial --report`: what the page says in the job's units is what the JSON says in SI."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest


@pytest.fixture
def mornings(job: Any) -> Any:
    """Four days of three strips each, the first of a morning now and then far off."""
    for day in range(4):
        job.clock.set("06:45", days=1 if day else 0)
        job.ok(f"conditions --ambient {58 + 4 * day}F --sheet-temp {66 + 6 * day}F --wind 5mph")
        for n, (speed, bleed) in enumerate(
            ((6, "3/8,3/8,5/16"), (7 if day != 3 else 9, "1/4,5/16,1/4"), (8, "3/16,3/16,1/8"))
        ):
            job.clock.set(f"07:{10 * n:02d}")
            job.ok(f"strip record --nozzle 932 --speed {speed} --bleed {bleed} --bubbling none")
    return job


@pytest.fixture
def both(mornings: Any) -> tuple[Any, list[str]]:
    """The document and the page."""
    return mornings.ok("dial --report --json").json, mornings.ok("dial --report").out.splitlines()


def test_each_coefficient_is_told_per_degree_of_the_job(both: tuple[Any, list[str]]) -> None:
    """9 °F are 5 K: what is so much per K is 5/9 of it per °F, per K² 25/81.

    A mile is 1609.344 m and a foot 0.3048 m (NIST SP 811, appendix B): per m/s and ln m/min too.
    """
    document, page = both
    text = " ".join(" ".join(page).split())
    told = re.findall(
        r"\(((?:[^():]|\([^()]*\))+)\): (\S+) ± (\S+) -> (\S+) ± (\S+), ([+-][\d.]+);", text
    )
    assert len(told) == len(document["coefficients"])
    seen = set()
    for (unit, *numbers), c in zip(told, document["coefficients"], strict=True):
        per = 25 / 81 if " K²" in c["unit"] else 5 / 9 if " K" in c["unit"] else 1.0
        if "m/s" in c["unit"]:
            per = 1609.344 / 3600
        off = math.log(1 / 0.3048) if c["unit"] == "ln m/min" else 0.0
        seen.add(per)
        assert not re.search(r" K| m/", unit)
        for number, (name, digits) in zip(
            numbers,
            (("prior_mean", 3), ("prior_sd", 2), ("mean", 3), ("sd", 2)),
            strict=False,
        ):
            shift = off if name in ("prior_mean", "mean") else 0.0
            expected = per * c[name] + shift
            assert float(number) == pytest.approx(expected, rel=10.0 ** (1 - digits)), c["name"]
        assert float(numbers[-1]) == pytest.approx(c["moved_prior_sds"], abs=0.051)
        moved = (c["mean"] - c["prior_mean"]) / c["prior_sd"]
        assert c["moved_prior_sds"] == pytest.approx(moved)
    assert len(seen) == 4


def test_days_scatter_and_past_are_the_documents(both: tuple[Any, list[str]]) -> None:
    """Every day with its offset in per cent, every past morning, and how many lay inside."""
    document, page = both
    text = " ".join(" ".join(page).split())
    days = re.findall(r"- (\d{4}-\d\d-\d\d) blue: ([+-]\d+) %, n = (\d+)", text)
    assert [(day, int(n)) for day, _off, n in days] == [(f"2026-06-0{d}", 3) for d in range(1, 5)]
    for (_day, off, _n), one in zip(days, document["days"], strict=True):
        assert int(off) == pytest.approx(100 * one["offset"], abs=0.51)
    scatter = re.search(
        r"along a strip ([\d.]+), strip to strip ([\d.]+) .*?day to day ([\d.]+)", text
    )
    assert scatter is not None
    for number, name in zip(
        scatter.groups(), ("reading_spread", "strip_spread", "day_spread"), strict=True
    ):
        assert float(number) == pytest.approx(document[name], abs=0.0051)
    past = document["past"]
    inside = [one["low_mm"] <= one["width_mm"] <= one["high_mm"] for one in past]
    assert [one["inside"] for one in past] == inside
    assert f"{sum(inside)} of {len(past)} first strips" in text
    assert text.count("OUTSIDE") == inside.count(False)
    assert document["covered"] == pytest.approx(sum(inside) / len(past))


def test_the_strips_furthest_from_the_fit_come_first(both: tuple[Any, list[str]]) -> None:
    """Eight of the twelve, by how many sd they lie off, whichever way."""
    document, page = both
    offs = [float(off) for off in re.findall(r", ([+-][\d.]+) sd", " ".join(page))]
    worst = sorted((one["off"] for one in document["residuals"]), key=abs, reverse=True)
    assert len(worst) == 12
    assert offs == pytest.approx(worst[:8], abs=0.051)
    (told,) = re.findall(
        r"Strips furthest from the fit \(of (\d+); (\d+) set aside\)", " ".join(page)
    )
    assert told == ("12", str(len(document["set_aside"])))
