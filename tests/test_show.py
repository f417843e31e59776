"""Values as people read them, in both systems of units; each worked out by hand (1 ft is 0.3048 m)."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from tests.dossier.scale import q
from weldcal.reports import show

FT, IN = 0.3048, 25.4

BOTH: list[tuple[Callable[[Any, str], str], Any, str, str]] = [
    (show.temperature, 20.0, "68 °F", "20 °C"),
    (show.temperature, -40.0, "-40 °F", "-40 °C"),
    (show.temperature, None, "–", "–"),
    (show.difference, 5.0, "9 °F", "5 °C"),
    (show.speed, 5.5 * FT, "5.5 ft/min", "1.68 m/min"),
    (show.speed, None, "–", "–"),
    (lambda v, u: show.speed(v, u, 2), 5.5 * FT, "5.50 ft/min", "1.676 m/min"),
    (show.speed_change, 0.5 * FT, "+0.5 ft/min", "+0.15 m/min"),
    (show.speed_change, -0.5 * FT, "-0.5 ft/min", "-0.15 m/min"),
    (show.pull_rate, 4 * IN, "4 in/min", "102 mm/min"),
    (show.width, 6.1, "0.24 in", "6.1 mm"),
    (show.width, None, "–", "–"),
    (show.limit_width, 3 / 8 * IN, "3/8 in", "9.5 mm"),
    (show.limit_width, 6.1, "0.24 in", "6.1 mm"),
    (show.limit_width, None, "–", "–"),
    (show.distance, 14.5 * FT, "14.5 ft", "4.42 m"),
    (show.distance, None, "–", "–"),
    (show.distance, 9999.4 * FT, "9999 ft", "3048 m"),
    (show.distance, 12345 * FT, "12\xa0345 ft", "3763 m"),
    (show.area, 1200 * FT**2, "1200 ft²", "111.5 m²"),
    (show.wind, 3.6, "8 mph", "3.6 m/s"),
    (show.wind, None, "–", "–"),
    (show.line_load, 3.87, "22.1 lbf/in", "194 N/50 mm"),
    (show.tape, (26 + 10.625 / 12) * FT, "26 ft 10 5/8 in", "8.195 m"),
    (show.tape, 0.0, "0 ft", "0 m"),
    (show.tape, 0.5 * FT, "6 in", "0.1524 m"),
    (show.tape, -1.5 * FT, "-1 ft 6 in", "-0.4572 m"),
    (show.tape, -0.01 * IN / 1000, "0 ft", "-2.54e-07 m"),
    (show.tape, None, "–", "–"),
    (show.stretches, ((0.0, 14 * FT),), "0–14 ft", "0–4.267 m"),
    (show.stretches, ((3 * FT, 3 * FT),), "3 ft", "0.9144 m"),
    (
        show.stretches,
        ((0.0, 6 * FT), (20 * FT, 26.5 * FT)),
        "0–6 ft, 20 ft to 26 ft 6 in",
        "0–1.829 m, 6.096–8.077 m",
    ),
    (show.stretches, ((0.0, 6.5 * FT),), "0 to 6 ft 6 in", "0–1.981 m"),
    (show.stretches, ((0.5 * FT, 6 * FT),), "6 in to 6 ft", "0.1524–1.829 m"),
    (
        show.stretches,
        ((0.0, 6 * FT), (9 * FT, 9 * FT)),
        "0–6 ft, 9 ft",
        "0–1.829 m, 2.743 m",
    ),
    (show.per_hundred, 3.048, 3.048, 10.0),  # type: ignore[list-item]
]


@pytest.mark.parametrize(("says", "value", "us", "si"), BOTH)
def test_a_value_in_feet_and_in_metres(says: Any, value: Any, us: Any, si: Any) -> None:
    """The same value, as either job reads it."""
    if isinstance(us, float):
        assert (says(value, "us"), says(value, "si")) == (pytest.approx(us), pytest.approx(si))
    elif "e-07" not in si:  # no tape shows that in metres
        assert (says(value, "us"), says(value, "si")) == (us, si)
    else:
        assert says(value, "us") == us


def test_rates_are_told_for_a_hundred() -> None:
    """Feet or metres."""
    assert (show.hundred("us"), show.hundred("si")) == ("100 ft", "100 m")


@pytest.mark.parametrize(
    ("change", "us", "si"),
    [
        (0.0, False, False),
        (0.049 * FT, False, True),
        (0.051 * FT, True, True),
        (0.0049, False, False),
        (0.0051, False, True),
        (-0.051 * FT, True, True),
    ],
)
def test_a_change_that_shows_as_none_is_none(change: float, us: bool, si: bool) -> None:
    """To a tenth of a ft/min or a hundredth of a m/min."""
    assert (show.moves(change, "us"), show.moves(change, "si")) == (us, si)


@pytest.mark.parametrize(
    ("hours", "said"),
    [(0.4, "24 min"), (1.49, "89 min"), (1.5, "2 h"), (3.2, "3 h")],
)
def test_an_age_is_minutes_up_to_an_hour_and_a_half(hours: float, said: str) -> None:
    """Then hours."""
    assert show.age(hours) == said


@pytest.mark.parametrize(
    ("chance", "said", "down"),
    [
        (0.0, "<1 %", "<1 %"),
        (0.0099, "<1 %", "<1 %"),
        (0.01, "1 %", "1 %"),
        (0.926, "93 %", "92 %"),
        (0.99, "99 %", "99 %"),
        (0.991, ">99 %", "99 %"),
    ],
)
def test_a_chance_is_never_certain(chance: float, said: str, down: str) -> None:
    """Nor rounded up where that would promise something."""
    assert (show.percent(chance), show.percent(chance, down=True)) == (said, down)


def speeds(**said: Any) -> Any:
    known: dict[str, Any] = {"by_hand": 0, "speed_m_per_min": None, "speed_text": None}
    return {**known, "true_speed_m_per_min": None, **said}


@pytest.mark.parametrize(
    ("row", "as_set", "measured", "made"),
    [
        (speeds(by_hand=1), "by hand", "by hand", "by hand"),
        (speeds(speed_m_per_min=5.5 * FT), "5.5 ft/min", "5.5 ft/min", "5.5 ft/min"),
        (speeds(speed_text="7"), "mark 7", "mark 7", "mark 7"),
        (speeds(), "–", "–", "–"),
        (
            speeds(speed_text="7", true_speed_m_per_min=5.25 * FT),
            "mark 7",
            "mark 7 (measured 5.25 ft/min)",
            "5.2 ft/min",
        ),
        (
            speeds(speed_m_per_min=5.5 * FT, true_speed_m_per_min=6.0 * FT),
            "5.5 ft/min",
            "5.5 ft/min (measured 6.00 ft/min)",
            "6.0 ft/min",
        ),
    ],
)
def test_a_speed_as_set_and_as_measured(row: Any, as_set: str, measured: str, made: str) -> None:
    """A measured speed stands behind the one set, or in its place."""
    assert show.speed_set(row, "us") == as_set
    assert show.speed_measured(row, "us") == measured
    assert show.speed_made(row, "us") == made


@pytest.mark.parametrize(
    ("unit", "said"), [("ft/min", "5.5 ft/min"), ("m/min", "5.5 m/min"), ("", "mark 5.5")]
)
def test_a_dials_mark_is_what_the_dial_reads(unit: str, said: str) -> None:
    """A speed, or a bare number."""
    assert show.dial_mark(5.5, unit) == said


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["A1"], "A1"),
        (["A1", "A2"], "A1, A2"),
        (["A1", "A2", "A3"], "A1, A2 and 1 more"),
        (["A1", "A2", "A3", "A4"], "A1, A2 and 2 more"),
        ([], ""),
    ],
)
def test_of_many_names_the_first_and_how_many_more(names: list[str], said: str) -> None:
    """Here two of them."""
    assert show.some(names, 2) == said


@pytest.mark.parametrize(
    ("value", "us", "si"),
    [
        (q(5, "degC"), "9 °F", "5 °C"),
        (q(20, "C"), "68 °F", "20 °C"),
        (q(3, "m/s"), "6.7 mph", "3 m/s"),
        (q(5, "mm"), "0.2 in", "5 mm"),
        (q(40, "%"), "40 %", "40 %"),
    ],
)
def test_a_default_is_read_in_the_jobs_units(value: Any, us: str, si: str) -> None:
    """To a tenth; what both read alike stays, and so does what somebody adopted."""
    text, unit = value.text, value.unit
    assert show.limit(text, unit, None, "us") == us
    assert show.limit(text, unit, None, "si") == si == show.limit(text, unit, "Ana Ruiz", "us")


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("end", "ft", "end"),
        ("5.5", "ft/min", "5.5 ft/min"),
        ("5.5ft/min", "ft/min", "5.5ft/min"),
        ("3 ft 2 in", "m", "3 ft 2 in"),
        ("7", "", "7"),
        ("61", "degF", "61 °F"),
    ],
)
def test_what_was_typed_has_its_unit_once(text: str, unit: str, said: str) -> None:
    """And no unit where none is known."""
    assert show.typed(text, unit) == said


@pytest.mark.parametrize(
    ("text", "said"), [("20degC", "20 °C"), ("0.95", "0.95"), ("5.5ft/min", "5.5 ft/min")]
)
def test_a_setting_has_its_unit_apart(text: str, said: str) -> None:
    """Its number as the reader writes it."""
    assert show.setting(text) == said


def test_times_are_the_jobs_own() -> None:
    """Date and time, or the time alone; what is no time, as it stands, made safe."""
    assert show.clock("2026-06-01T07:15:42-06:00") == "2026-06-01 07:15"
    assert show.clock("2026-06-01T07:15:42-06:00", date=False) == "07:15"
    assert show.clock("some day\x1b") == "some day␛"
    assert show.day("2026-06-01") == "Monday, June 1, 2026"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("A1", "A1"),
        ("a\tb", "a␉b"),
        ("\x1b[2J", "␛[2J"),
        ("\x7f", "⟨U+007F⟩"),
        ("\x9b", "⟨U+009B⟩"),
        ("a\u202eb", "a⟨U+202E⟩b"),
        ("a\u2028b", "a⟨U+2028⟩b"),
        ("a\u2067b\u061c", "a⟨U+2067⟩b⟨U+061C⟩"),
        ("é\u00a0ü", "é\u00a0ü"),
    ],
)
def test_control_signs_are_pictures(text: str, said: str) -> None:
    """In one line; of several lines the ends and tabs stay."""
    assert show.safe(text) == said
    lines = show.safe_lines(text)
    assert lines == (text if text == "a\tb" else said)
    assert show.safe_lines(f"{text}\n") == f"{lines}\n"


def test_texts_are_listed_with_a_dash_for_none() -> None:
    """Made safe."""
    assert show.listed(["a", "b\t"]) == "a, b␉"
    assert show.listed([]) == "–"


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"a": 1},
        {"a": [1, {"b": "\x1b\u202e\nü"}], "c": {}, "d": []},
        {"a": iter([1, {"b": [2]}, "x"]), "c": iter([]), "d": None},
        {"ü\u2067": iter([])},
    ],
)
def test_json_in_parts_is_the_same_document(document: dict[str, Any]) -> None:
    """Also where a value comes from an iterator; it reads back as it was, with nothing a screen obeys."""
    lists = {k: list(v) if hasattr(v, "__next__") else v for k, v in document.items()}
    parts = {k: iter(v) if isinstance(document[k], type(iter([]))) else v for k, v in lists.items()}
    text = "".join(show.json_parts(parts.items()))
    assert text == show.as_json(lists)
    assert json.loads(text) == lists
    assert all(sign.isprintable() or sign == "\n" for sign in text)
