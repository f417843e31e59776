"""A lawyer's first questions, answered in every view: late, by whom entered, with what, by the one who welded it."""

from __future__ import annotations

import json
from typing import Any

import pytest

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"


@pytest.fixture
def roof(job: Any) -> Any:
    """A seam welded by Ana Ruiz on a go-ahead of the morning, all entered when it was seen."""
    job.day(f"""
        07:00 instrument add "tape 1: tape, checked 2025-05-01, due 2026-05-01"
        07:10 {STRIP}
        07:30 strip pull S1 good
        08:00 seam start A1 --nozzle 932 --speed 5.5
        08:05 seam finish A1 --to 33
    """)
    return job


def views(weldcal: Any, seam: str = "A1") -> dict[str, str]:
    """The seam's trace and its line of the roof, unfolded."""
    trace = " ".join(weldcal.ok(f"trace {seam}").out.split())
    line = next(line for line in weldcal.ok("roof").out.splitlines() if f"{seam}\t" in line)
    return {"trace": trace, "roof": line}


def test_what_was_entered_when_it_was_seen_is_not_marked(roof: Any) -> None:
    """So that the marks below mean something."""
    for shown in (*views(roof).values(), roof.ok("strip list").out):
        assert not any(
            mark in shown for mark in ("late", "entered by", "past its check", "probed by")
        )


LATE = [
    'bleed A1 14 3/16,1/4 --at "08:03"',
    'probe A1 0-33 --by BO --at "09:00"',
    'finding A1 wrinkle 3-4 --by BO --at "09:00"',
    "peel A1 20 --parted compound --load 40lbf --width 1in --at 09:00",
    "seam start A1 --from 33 --nozzle 932 --speed 5.5 --at 09:00",
]


@pytest.mark.parametrize("words", LATE, ids=lambda words: words.split()[0])
def test_what_is_entered_late_is_marked_in_every_view(roof: Any, words: str) -> None:
    """Seen in the morning, entered at five: how late is in the tables, that it was in trace and roof."""
    roof.clock.set("17:00")
    assert "late" in roof.ok(words).out
    for shown in views(roof).values():
        assert "late" in shown


def test_a_late_strip_is_marked_in_the_list(roof: Any) -> None:
    """And in the trace of a seam that stands on it."""
    roof.clock.set("17:00")
    roof.ok(f"{STRIP} --at 09:00")
    assert "late" in roof.ok("strip list").out.splitlines()[-1]
    strip = roof.ok("strip list --json").json[-1]
    assert "late" in strip["marks"]


@pytest.mark.parametrize(
    "words",
    [
        "probe A1 0-33 --by BO",
        "finding A1 wrinkle 3-4 --by BO",
        "bleed A1 14 3/16,1/4 --by BO",
        "peel A1 20 --parted compound --load 40lbf --width 1in --by BO",
    ],
    ids=lambda words: words.split()[0],
)
def test_what_another_entered_than_the_one_who_saw_it_is_marked(roof: Any, words: str) -> None:
    """Ana Ruiz types what Ben Okoro saw."""
    roof.ok('me "Ana Ruiz"')
    roof.ok(words)
    assert "Ben Okoro [entered by Ana Ruiz" in views(roof)["trace"]
    assert "entered by another" in views(roof)["roof"]


@pytest.mark.parametrize(
    "words",
    [
        "probe A1 0-33 --by BO --instrument 'tape 1'",
        "finding A1 wrinkle 3-4 --by BO --instrument 'tape 1'",
        "bleed A1 14 3/16,1/4 --instrument 'tape 1'",
        "peel A1 20 --parted compound --load 40lbf --width 1in --instrument 'tape 1'",
    ],
    ids=lambda words: words.split()[0],
)
def test_an_instrument_past_its_check_is_marked(roof: Any, words: str) -> None:
    """Told when recorded, marked in trace and roof."""
    assert "past its check" in roof.ok(words).out
    for shown in views(roof).values():
        assert "past its check" in shown


def test_who_probed_what_they_welded_is_marked(roof: Any) -> None:
    """Told when recorded, in the roof's flags and the trace's head."""
    assert "welded this seam and probed it" in roof.ok("probe A1 0-33 --by AR").out
    for shown in views(roof).values():
        assert "probed by its operator" in shown


def test_a_late_pull_entered_by_another_is_marked(job: Any) -> None:
    """The pull decides whether a strip is a go-ahead: who pulled it, who entered it and how late belongs beside it."""
    job.day(f"07:10 {STRIP}")
    job.clock.set("17:00")
    job.ok("strip pull S1 good --by BO --at 07:30")
    strip = job.ok("strip list --json").json[0]
    marks = json.dumps(strip["marks"])
    assert "late" in marks
    assert "another" in marks


def test_a_late_finish_entered_by_another_is_marked(roof: Any) -> None:
    """The same for the end of a run."""
    roof.day("08:10 seam start A2 --nozzle 932 --speed 5.5")
    roof.clock.set("17:00")
    roof.ok("seam finish A2 --to 33 --by BO --at 08:15")
    shown = views(roof, "A2")
    assert "late" in shown["roof"]
    assert "late" in shown["trace"]


def test_a_seal_said_to_be_handed_over_long_ago_is_marked(roof: Any) -> None:
    """Handing over is evidence too: entered seven days after it is said to have been."""
    roof.ok("seal")
    roof.clock.set("08:00", days=7)
    roof.ok('hand L1 --to "J. Vale" --at "2026-06-01 09:00"')
    assert "late" in roof.ok("seal --list").out


def test_a_time_ahead_of_the_clock_is_marked(roof: Any) -> None:
    """Kept as typed."""
    assert "ahead" in roof.ok("probe A1 0-33 --by BO --at 23:00").out
    assert "ahead of the clock" in views(roof)["trace"]
