"""Doubts, cuts and fault rates in words and letters, each number worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from weldcal.quality.doubt import Clear, Cut, Doubt, Doubts, Place
from weldcal.quality.faults import FaultRate, Overlap
from weldcal.reports import doubts

NAMES = {"a1": "A1", "a2": "A2"}


def doubt(name: str, length: float, **said: Any) -> Doubt:
    known: dict[str, Any] = {"machine": "blue", "go_ahead": "s", "failure": name, "kind": "bleed"}
    known |= {"places": (Place("a1", 0.0, length),), "before": None, "after": None}
    return Doubt(**known | {"length_m": length, "failed_m": 0.0, "clears": ()} | said)


def page(*found: Doubt, unplaced: tuple[str, ...] = (), **said: Any) -> list[str]:
    return doubts.page(Doubts(found, unplaced), NAMES, {"s": "S1"}, {"a2"}, "si", **said)


@pytest.mark.parametrize(
    ("kind", "said"), [("bleed", "bleed check"), ("walk", "probing"), ("peel", "pull")]
)
def test_a_doubt_says_what_failed_and_between_what_it_lies(kind: str, said: str) -> None:
    """The longest first; from the go-ahead, to the end, where no check bounds it."""
    first, place, second, _other = page(
        doubt("B1", 2.0, before="B0", after="B2", go_ahead=None), doubt("B9", 5.0, kind=kind)
    )
    assert first == (
        f"B9 ({said}) failed: 5 m welded by blue on S1 in doubt, from the go-ahead to the end of what is welded."
    )
    assert place == "- A1 0–5 m"
    assert second.endswith("2 m welded by blue on no go-ahead in doubt, from B0 to B2.")


def test_a_finding_is_told_as_what_was_found() -> None:
    """A scorch is no bleed check, whichever check could have seen it."""
    head, *_rest = page(doubt("F1", 2.0, before="B0", finding="scorched"))
    assert head == (
        "F1 (scorched) puts 2 m welded by blue on S1 in doubt, from B0 to the end of what is welded."
    )


def test_what_clears_it_depends_on_what_lies_open() -> None:
    """Probed, looked at, cut; of a hidden seam it is opened up; cuts are told in all from two on."""
    at, stretch = Place("a1", 3.0, 3.0005), Place("a1", 3.0, 4.0)
    clears = (
        Clear("probe_again", stretch),
        Clear("look_again", stretch),
        Clear("cut_here", at),
        Clear("cut_here", Place("a2", 3.0, 3.0)),
    )
    lines = page(doubt("B1", 5.0, clears=clears))
    assert lines[2:] == [
        "- to clear: probe again A1 3–4 m",
        "- to clear: look along the edge and read the bleed-out of A1 3–4 m",
        "- to clear: cut a sample at A1 3 m",
        "- to clear: open up A2 3 m",
    ]
    two = page(
        doubt("B1", 5.0, clears=(Clear("cut_here", at), Clear("cut_here", Place("a1", 1.0, 1.0))))
    )
    assert two[-1] == "Cuts in all, the fewest that tell: A1 1 m, A1 3 m."


def test_of_many_doubts_the_longest_twenty_are_told() -> None:
    """And how many more; all where all are asked for."""
    many = [doubt(f"B{n}", 1.0 + n) for n in range(21)]
    assert page(*many)[-1] == "And 1 more: weldcal doubt --all."
    assert sum(" failed: " in line for line in page(*many)) == 20
    assert not any("B0 " in line for line in page(*many))
    assert "more" not in page(*many[:20])[-1]
    assert sum(" failed: " in line for line in page(*many, every=True)) == 21
    assert "--all" not in page(*many, every=True)[-1]


def test_nothing_in_doubt_and_nowhere_welded_are_said() -> None:
    """Two sentences of their own."""
    assert page(unplaced=("B7", "B8")) == [
        "Nothing is in doubt: no check, probe or sample has failed.",
        "At places no run is known to have welded: B7, B8.",
    ]


def test_cuts_are_told_with_what_they_end() -> None:
    """One that was drawn already serves the plan too."""
    cut = Cut(Place("a1", 3.0, 3.0), ("B1", "B2"), drawn=False, strips=())
    again = Cut(Place("a2", 4.0, 4.0), ("B3",), drawn=True, strips=())
    assert doubts.fewest([], NAMES, "si") == []
    assert doubts.fewest([cut, again], NAMES, "si") == [
        "Fewest cuts that end it all, if the pulls are good: 2.",
        "- A1 3 m, for B1, B2",
        "- A2 4 m, for B3; drawn already",
        "Mend the lap where it failed.",
    ]
    strip = Cut(Place("a1", 3.0, 3.0), ("S1", "B2"), drawn=False, strips=("S1",))
    assert doubts.fewest([strip], NAMES, "si")[2:] == [
        "Mend the lap where it failed.",
        "A strip failed (S1): run a new one before you weld on.",
    ]
    assert doubts.cuts([cut], [], None, None, NAMES, "si")[-1] == "1 cut in all."
    none = doubts.cuts([], [], None, None, NAMES, "si")
    assert none == ["Nothing is in doubt that a cut would end.", "0 cuts in all."]


def rate(level: str, per: float, low: float, high: float, **said: Any) -> FaultRate:
    known: dict[str, Any] = {"factor": "operator", "level": level, "faults": 2, "length_m": 60.96}
    known |= {"per_100ft": per, "low": low, "high": high, "p": None, "p_among": None, "flag": None}
    return FaultRate(**known | {"confounded": ()} | said)


def faults(*rates: FaultRate, rough: bool = False) -> Any:
    from types import SimpleNamespace

    return SimpleNamespace(
        rates=rates, confidence=0.95, looked_at=3, rough=rough, probed_welded_over_m=0.0
    )


def test_rates_are_drawn_on_one_scale(monkeypatch: Any) -> None:
    """61 columns wide a rate of 10 would be sign 59: a tenth of it is sign 6 of 60, rounded."""
    monkeypatch.setattr(doubts.settings, "screen_columns", lambda: 80)
    monkeypatch.setattr(doubts.settings, "linear", lambda: False)
    lines = doubts.forest(faults(rate("Ana Ruiz", 2.0, 1.0, 10.0), rate("A", 0.0, 0.0, 5.0)), "us")
    assert lines == [
        "operator Ana Ru… |" + " " * 6 + "[" + "-" * 5 + "o" + "-" * 46 + "]",
        "operator A       |o" + "-" * 29 + "]" + " " * 29,
        "0 to 10.0 faults per 100 ft",
    ]
    assert doubts.forest(faults(rate("A", 2.0, 1.0, 10.0)), "us") == []
    nought = doubts.forest(faults(rate("A", 0.0, 0.0, 0.0), rate("B", 0.0, 0.0, 0.0)), "us")
    assert nought[0] == "operator A       |o" + " " * 59
    assert nought[2] == "0 to 1.0 faults per 100 ft"


@pytest.mark.parametrize(("columns", "wide"), [(80, 60), (79, 60), (78, 59), (29, 10), (28, 0)])
def test_a_narrow_screen_has_a_narrow_picture_or_none(
    monkeypatch: Any, columns: int, wide: int
) -> None:
    """Sixteen signs of a name, three between, ten of a picture at least."""
    monkeypatch.setattr(doubts.settings, "screen_columns", lambda: columns)
    monkeypatch.setattr(doubts.settings, "linear", lambda: False)
    lines = doubts.forest(faults(rate("A", 2.0, 1.0, 10.0), rate("B", 2.0, 1.0, 10.0)), "us")
    assert [len(line.partition("|")[2]) for line in lines[:1]] == [wide][: len(lines[:1])]
    assert bool(lines) is (wide > 0)


@pytest.mark.parametrize(
    ("flag", "said"),
    [
        ("within_chance", "; within chance"),
        ("one_of_many", "; one of many looked at: likely chance"),
        ("stands_out", "; STANDS OUT"),
        ("too_few", "; too few faults to tell"),
        (None, ""),
    ],
)
def test_a_rate_says_how_it_stands_against_chance(flag: str | None, said: str) -> None:
    """2 faults in 200 ft; per 100 m it is 3.28 times as many."""
    us = doubts.faults(faults(rate("A", 1.0, 0.1, 3.6, flag=flag)), "us")
    assert us[0] == f"- operator A: 1.00 per 100 ft (0.10 to 3.60), 2 faults in 200 ft probed{said}"
    si = doubts.faults(faults(rate("A", 1.0, 0.1, 3.6)), "si")
    assert si[0].startswith("- operator A: 3.28 per 100 m (0.33 to 11.81), 2 faults in 60.96 m")
    assert us[1].startswith("95 % intervals, allowing for faults that come in clumps; 3 groups")


def test_a_rate_names_what_it_cannot_be_told_apart_from() -> None:
    """The program's own words stand without their factor; few faults are a guess."""
    with_ben = rate("A", 1.0, 0.1, 3.6, confounded=(Overlap("machine", "blue", 0.9),))
    lines = doubts.faults(faults(with_ben, rough=True), "us")
    assert lines[0].endswith("; cannot be told apart from machine blue")
    assert lines[-1].startswith("Few faults: even the clumping is a guess.")
    kind = doubts.faults(faults(rate("void", 1.0, 0.1, 3.6, factor="kind")), "us")
    assert kind[0].startswith("- void: 1.00")
