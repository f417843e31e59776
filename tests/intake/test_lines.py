"""Whole strips and walks in one typed line: what is understood, what is refused and by which name."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from weldcal.errors import WeldcalError
from weldcal.intake.probe_line import read_probe, walked
from weldcal.intake.strip_line import ListedNames, read_strip
from weldcal.quantities import Quantity

NAMES = ListedNames(("blue", "red 2"), ("base",))


def strip(line: str, units: str = "us") -> dict[str, Any]:
    """What a line says, numbers as `number unit`."""
    found = read_strip(line.split(), units, NAMES)
    said = {n: getattr(found, n) for n in found.__struct_fields__}
    return {n: plain(v) for n, v in said.items() if v not in (None, ())}


def plain(value: Any) -> Any:
    if isinstance(value, Quantity):
        return f"{value.number} {value.unit}"
    return [plain(v) for v in value] if isinstance(value, tuple) else value


FOUR = ["1/4 in", "3/16 in", "1/4 in", "5/16 in"]
STRIPS = {
    "5.5 1/4 3/16 1/4 5/16 none": {"speed": "5.5", "readings": FOUR, "bubbling": "none"},
    "5.5, 1/4,3/16,1/4,5/16, none": {"speed": "5.5", "readings": FOUR, "bubbling": "none"},
    "5.5 1/4 trace 932": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "trace",
        "nozzle": "932 F",
    },
    "5.5 1/4 none 500C": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "none",
        "nozzle": "500 C",
    },
    "5.5 ft/min 1/4 in 6 mm": {"speed": "5.5 ft/min", "readings": ["1/4 in", "6 mm"]},
    "1.7m/min 1/4 80F ambient 96F sheet": {
        "speed": "1.7m/min",
        "readings": ["1/4 in"],
        "ambient": "80 F",
        "sheet_temp": "96 F",
    },
    "6 1/4 ambient 80 sheet 96 wind 5 humidity 60 volts 118": {
        "speed": "6",
        "readings": ["1/4 in"],
        "ambient": "80 F",
        "sheet_temp": "96 F",
        "wind": "5 mph",
        "humidity": "60 %",
        "line_voltage": "118 V",
    },
    "6 1/4 5mph 60% 118V": {
        "speed": "6",
        "readings": ["1/4 in"],
        "wind": "5 mph",
        "humidity": "60 %",
        "line_voltage": "118 V",
    },
    "5.5 1/4 none pull good": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "none",
        "bond": "good",
    },
    "5.5 1/4 none peel bad": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "none",
        "bond": "cold",
    },
    "5.5 1/4 none good": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "none",
        "bond": "good",
    },
    "5.5 0 none": {"speed": "5.5", "readings": ["0 in"], "bubbling": "none"},
    "5.5 1/4 none red 2": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "none",
        "machine": "red 2",
    },
    "5.5 1/4 base damp granules smoke": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "sheet": "base",
        "damp": True,
        "lap": "granules",
        "smoke": True,
    },
    "5½ ¼ 3/16 heavy": {"speed": "5½", "readings": ["1/4 in", "3/16 in"], "bubbling": "heavy"},
    "5.5 1/4 none note sun came out": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "none",
        "note": "sun came out",
    },
    "velocidad 5.5 sangrado 1/4 3/16 burbujas ninguna boquilla 932 tirón buena": {
        "speed": "5.5",
        "readings": ["1/4 in", "3/16 in"],
        "bubbling": "none",
        "nozzle": "932 F",
        "bond": "good",
    },
    "5.5 rebose 1/4 burbujeo leve adherencia no probado tensión 118V": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "trace",
        "bond": "not tried",
        "line_voltage": "118 V",
    },
    "5.5 1/4 leve fría aire 80F lámina 96F seca": {
        "speed": "5.5",
        "readings": ["1/4 in"],
        "bubbling": "trace",
        "bond": "cold",
        "ambient": "80 F",
        "sheet_temp": "96 F",
        "damp": False,
    },
}


@pytest.mark.parametrize("line", STRIPS)
def test_a_strips_line_says_what_stands_in_it(line: str) -> None:
    """English, Spanish, units beside or apart, in any order."""
    assert strip(line) == STRIPS[line]


def test_a_bare_number_of_a_metric_job_is_millimetres() -> None:
    """1.7 m/min on the dial, readings in mm, the nozzle in °C, from 100 on."""
    assert strip("1.7 6 7 6.5mm none 500", "si") == {
        "speed": "1.7",
        "readings": ["6 mm", "7 mm", "13/2 mm"],
        "bubbling": "none",
        "nozzle": "500 C",
    }
    assert strip("1.7 99 100", "si") == {"speed": "1.7", "readings": ["99 mm"], "nozzle": "100 C"}


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("5.5 1/4 bubbly", "bubbly"),
        ("5.5 1/4 80F", "ambient 80F, sheet 80F or nozzle 80F"),
        ("5 1/2 1/4", "5.5"),
        ("5.5 1/4 bad", "bubbling bad, or bond bad"),
        ("5,5 1/4 none", "5.5, or 5 5"),
        ("5.5 1/4 none heavy", "none is there already"),
        ("5.5 8", "8"),
        ("5.5 1/4 nozzle", "nozzle"),
        ("5.5 1/4 nozzle 9320", "9320"),
        ("5.5 1/4 --yse", "--yse"),
        ("5.5x 1/4", "5.5x"),
        ("5.5 1/4 pull perhaps", "good, cold, not tried"),
        ("5.5 readings none", "none"),
        ("5.5 1/0", "1/0"),
    ],
)
def test_a_strips_line_that_cannot_be_is_refused_by_the_very_word(line: str, named: str) -> None:
    """And says what to type instead."""
    with pytest.raises(WeldcalError) as refused:
        strip(line)
    assert named in str(refused.value)


def test_a_bare_number_that_mends_a_line_needs_its_label() -> None:
    """6 alone could be the speed or a reading; 900 is a nozzle's."""
    with pytest.raises(WeldcalError, match="speed 6, or readings 6"):
        read_strip(["6"], "us", NAMES, mending=True)
    assert read_strip(["900"], "us", NAMES, mending=True).nozzle == Quantity(
        "900", Fraction(900), "F"
    )


def probe(line: str, units: str = "us") -> dict[str, Any]:
    found = read_probe(line.split(), units)
    said: dict[str, Any] = {}
    if found.sound:
        said["sound"] = [f"{plain(a) or 0} .. {plain(b)}" for a, b in found.sound]
    if found.found:
        said["found"] = [
            " ".join(
                str(plain(v)) for v in (f.kind, f.at, f.end, f.length, f.depth) if v is not None
            )
            for f in found.found
        ]
    said |= {n: v for n in ("started", "ended", "note") if (v := getattr(found, n))}
    return said | ({"whole": True} if found.whole else {})


DEEP = "void 29/2 ft 3 in 1/2 in"
PROBES = {
    "": {},
    "sound": {"whole": True},
    "33": {"sound": ["0 .. 33 ft"]},
    "sound to 33": {"sound": ["0 .. 33 ft"]},
    "sound 3 to 33": {"sound": ["3 ft .. 33 ft"]},
    "sound 3-33": {"sound": ["3 ft .. 33 ft"]},
    "from 3 to 33ft": {"sound": ["3 ft .. 33 ft"]},
    "33 to 0": {"sound": ["33 ft .. 0 ft"]},
    "sound 0 to 10m": {"sound": ["0 m .. 10 m"]},
    "sound to 33, void 14.5 3in x 1/2in": {"sound": ["0 .. 33 ft"], "found": [DEEP]},
    "sound to 33 void at 14.5 ft, 3 in long, 1/2 in deep": {
        "sound": ["0 .. 33 ft"],
        "found": [DEEP],
    },
    "void 14.5+3inx1/2in": {"found": [DEEP]},
    "void 14.5 x 1/2in": {"found": ["void 29/2 ft 1/2 in"]},
    "void 14.5 1/2in deep": {"found": ["void 29/2 ft 1/2 in"]},
    "void 14.5": {"found": ["void 29/2 ft"]},
    "void 14 to 15 x 1": {"found": ["void 14 ft 15 ft 1 in"]},
    "void 14-15": {"found": ["void 14 ft 15 ft"]},
    "fishmouth 3 2in, blister 9": {"found": ["fishmouth 3 ft 2 in", "blister 9 ft"]},
    "void 3'6\" 2in": {"found": ["void 7/2 ft 2 in"]},
    "void 5-1/2 2": {"found": ["void 11/2 ft 2 in"]},
    "13:10 to 13:20 sound to 33": {"sound": ["0 .. 33 ft"], "started": "13:10", "ended": "13:20"},
    "sound to 33 begun 13:10": {"sound": ["0 .. 33 ft"], "started": "13:10"},
    "sound to 33 note wet at 12": {"sound": ["0 .. 33 ft"], "note": "wet at 12"},
    "bien hasta 33, hueco 14.5 3in": {"sound": ["0 .. 33 ft"], "found": ["void 29/2 ft 3 in"]},
    "sano hasta 33, boca de pez 3 2in de largo 1/2in de profundidad": {
        "sound": ["0 .. 33 ft"],
        "found": ["fishmouth 3 ft 2 in 1/2 in"],
    },
    "limpio de 3 a 33, arruga en 9 2in por 1": {
        "sound": ["3 ft .. 33 ft"],
        "found": ["wrinkle 9 ft 2 in 1 in"],
    },
}


@pytest.mark.parametrize("line", PROBES)
def test_a_walks_line_says_what_stands_in_it(line: str) -> None:
    """English, Spanish, commas or none, the forms of the options too."""
    assert probe(line) == PROBES[line]


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("sound to 33, crack 4", "crack"),
        ("void", "void"),
        ("void at", "void"),
        ("sound to", "0-33"),
        ("void 3 x", "how deep"),
        ("sound to 33F", "F"),
        ("void 14,5", "14.5, or 14 5"),
        ("13:10 13:20 13:30", "13:30"),
        ("13:10 to 33", "13:25"),
        ("sample 4", "sample"),
        ("void 3 2in x 900in", "900in"),
        ("sound to x", "x"),
    ],
)
def test_a_walks_line_that_cannot_be_is_refused_by_the_very_word(line: str, named: str) -> None:
    """Kinds that are not of the record's list among them."""
    with pytest.raises(WeldcalError) as refused:
        read_probe(line.split(), "us")
    assert named in str(refused.value)


@pytest.mark.parametrize(
    ("line", "ends"),
    [
        ("sound to 12, void 12 1ft, sound 13 to 33", (0, 33)),
        ("33 to 0", (33, 0)),
        ("sound 3 to 9, void 9 2ft", (3, 11)),
        ("void 3 2in", (0, 20)),
    ],
)
def test_what_was_walked_is_what_was_sound_and_what_was_found(line: str, ends: Any) -> None:
    """A walk may run backwards; without a word of how far it is the listed length."""
    twenty = Quantity("20", Fraction(20), "ft")
    start, end = walked(read_probe(line.split(), "us"), twenty)
    assert (start.to("ft"), end.to("ft")) == ends


@pytest.mark.parametrize("line", ["sound to 12, sound 20 to 33", "sound to 12, void 15 2in"])
def test_a_gap_nobody_probed_is_asked_after(line: str) -> None:
    """What was not said to be probed is not probed."""
    with pytest.raises(WeldcalError, match="what lies between"):
        walked(read_probe(line.split(), "us"), None)


# -- the law: what is shown in full words, typed again, says the same -----------------------------


@pytest.mark.parametrize(
    ("line", "smoke"),
    [
        ("5.5 1/4 none smoke", True),
        ("5.5 1/4 none smoke no", False),
        ("5.5 1/4 none smoke none", False),
        ("5.5 1/4 none smoke yes", True),
        ("5.5 1/4 smoke trace", True),
    ],
)
def test_smoke_was_seen_or_not(line: str, smoke: bool) -> None:
    """The word alone says yes; what follows and is no yes or no means something else."""
    assert strip(line)["smoke"] is smoke


def test_a_machine_called_like_a_label_is_named_where_nothing_follows() -> None:
    """`wind` at the end is the machine; before a number it is the weather's."""
    names = ListedNames(("wind", "blue"), ("base",))

    def said(line: str) -> tuple[Any, Any]:
        found = read_strip(line.split(), "us", names)
        return found.machine, plain(found.wind)

    assert said("5.5 1/4 none wind") == ("wind", None)
    assert said("5.5 1/4 none wind 5") == (None, "5 mph")
    assert said("5.5 1/4 none blue wind 5") == ("blue", "5 mph")


@pytest.mark.parametrize("line", ["void 14 to abc def", "void abc def", "sound abc def"])
def test_the_word_that_is_no_place_is_named_alone(line: str) -> None:
    """And not what stands behind it."""
    with pytest.raises(WeldcalError, match="abc") as refused:
        read_probe(line.split(), "us")
    assert "def" not in str(refused.value)
