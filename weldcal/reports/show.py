"""Values as people read them, in the job's units; text made safe to print.

Invariant: nothing a person typed can move the cursor, colour the screen or turn
the line around: control signs are shown as pictures, never obeyed.
"""

# Not postponed: a TypedDict takes annotations as types, and reading them from text takes time.
import math
import re
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from fractions import Fraction
from textwrap import indent
from typing import TypedDict

import msgspec

from weldcal import settings
from weldcal.quantities import DIMENSION, convert, mixed, on_tape, says_unit, sign, sixteenths
from weldcal.records.fields import END
from weldcal.words import _, decimal_mark, number, written_out

_BIDI = {
    chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C)
}


_OBEYED = ("Cc", "Cs", "Zl", "Zp")


def safe(text: object) -> str:
    """`text` with control signs and direction overrides shown as pictures."""
    shown = str(text)
    if shown.isprintable():  # no control sign, no override, nothing undecoded
        return shown
    return "".join(_safe_sign(sign) for sign in settings.as_typed(shown))


def quoted(name: object) -> str:
    """A name as a command takes it."""
    import shlex

    return safe(shlex.quote(str(name)))


def safe_lines(text: str) -> str:
    """`text` as `safe` makes it, its own line ends and tabs left: for the last step before a screen."""
    if text.isprintable() or text.replace("\n", "").replace("\t", "").isprintable():
        return text
    return "".join(sign if sign in "\n\t" else _safe_sign(sign) for sign in text)


def _safe_sign(sign: str) -> str:
    if sign in _BIDI:
        return f"⟨U+{ord(sign):04X}⟩"
    if unicodedata.category(sign) in _OBEYED:
        return chr(0x2400 + ord(sign)) if ord(sign) < 0x20 else f"⟨U+{ord(sign):04X}⟩"
    return sign


def unit(name: str) -> str:
    """A unit as people read it: `ft/min`, `°C`."""
    return _(sign(name)) if name else ""


def typed(text: str, name: str) -> str:
    """A value as typed, with its unit once."""
    if text == END:
        return _("end")
    has_unit = not name or text.endswith(name) or (DIMENSION[name] == "length" and says_unit(text))
    return safe(text) if has_unit else f"{safe(text)} {unit(name)}"


# What a job in US units reads in another unit than the program's defaults are kept in.
_READ_IN = {"degC": "degF", "C": "F", "m/s": "mph", "mm": "in"}


def limit(text: str, name: str, adopted_by: str | None, units: str) -> str:
    """A limit: one adopted as it was typed, a default of the program in the job's units.

    `9 °F`, `7 mph`.
    """
    other = _READ_IN.get(name) if units == "us" and not adopted_by else None
    if other is None:
        return typed(text, name)
    there = float(convert(Fraction(text), name, other))
    return f"{number(round(there, 1), 'g')} {unit(other)}"


def setting(text: str) -> str:
    """A value of a setting as typed, its unit apart and its number as the reader writes it."""
    plain = safe(text)
    value = re.sub(r"[/a-zA-Z]+\Z", "", plain).rstrip()
    shown = re.sub(r"(?<=\d)\.(?=\d)", decimal_mark(), value)
    name = plain[len(value) :].strip()
    return f"{shown} {unit(name)}" if name else shown


def temperature(celsius: float | None, units: str) -> str:
    """`61 °F` or `16 °C`."""
    if celsius is None:
        return "–"
    return f"{celsius * 9 / 5 + 32:.0f} °F" if units == "us" else f"{celsius:.0f} °C"


def speed(m_per_min: float | None, units: str, digits: int = 1) -> str:
    """`5.5 ft/min` or `1.68 m/min`."""
    if m_per_min is None:
        return "–"
    if units == "us":
        return _("{x} ft/min", x=number(m_per_min / 0.3048, f".{digits}f"))
    return _("{x} m/min", x=number(m_per_min, f".{digits + 1}f"))


class Speeds(TypedDict):
    """The columns of a row that tell its travel speed."""

    by_hand: int
    speed_m_per_min: float | None
    speed_text: str | None
    true_speed_m_per_min: float | None


def speed_set(row: Speeds, units: str) -> str:
    """A strip's or run's travel speed as set: `5.5 ft/min`, `mark 5.5`, `by hand`."""
    if row["by_hand"]:
        return _("by hand")
    if row["speed_m_per_min"] is not None:
        return speed(row["speed_m_per_min"], units)
    return _("mark {mark}", mark=safe(row["speed_text"])) if row["speed_text"] else "–"


def speed_measured(row: Speeds, units: str) -> str:
    """A speed as set, and as measured where somebody measured it."""
    shown = speed_set(row, units)
    if row["true_speed_m_per_min"] is not None:
        shown += _(" (measured {true})", true=speed(row["true_speed_m_per_min"], units, 2))
    return shown


def speed_made(row: Speeds, units: str) -> str:
    """A strip's travel speed: as measured, where somebody measured it, else as set."""
    true = row["true_speed_m_per_min"]
    return speed(true, units) if true else speed_set(row, units)


def some(names: Sequence[str], most: int) -> str:
    """The first of some names, and how many more there are."""
    shown = ", ".join(map(safe, names[:most]))
    left = len(names) - most
    return _("{names} and {n} more", names=shown, n=left) if left > 0 else shown


def pull_rate(mm_per_min: float, units: str) -> str:
    """`4 in/min` or `100 mm/min`."""
    if units == "us":
        return _("{x} in/min", x=number(mm_per_min / 25.4, ".3g"))
    return _("{x} mm/min", x=number(mm_per_min, ".3g"))


def dial_mark(mark: float, unit: str) -> str:
    """`5.5 ft/min` on a dial that reads speeds, `mark 5.5` on one of bare numbers."""
    x = number(mark, "g")
    if unit == "ft/min":
        return _("{x} ft/min", x=x)
    return _("{x} m/min", x=x) if unit == "m/min" else _("mark {mark}", mark=x)


def speed_change(m_per_min: float, units: str) -> str:
    """`+0.5 ft/min`."""
    if units == "us":
        return _("{x} ft/min", x=number(m_per_min / 0.3048, "+.1f"))
    return _("{x} m/min", x=number(m_per_min, "+.2f"))


def moves(m_per_min: float, units: str) -> bool:
    """Whether a change of speed is more than none, as `speed_change` shows it."""
    return round(m_per_min / 0.3048, 1) != 0 if units == "us" else round(m_per_min, 2) != 0


def width(mm: float | None, units: str) -> str:
    """A predicted or computed width: `0.24 in` or `6.1 mm`."""
    if mm is None:
        return "–"
    if units == "us":
        return _("{x} in", x=number(mm / 25.4, ".2f"))
    return _("{x} mm", x=number(mm, ".1f"))


def limit_width(mm: float | None, units: str) -> str:
    """A limit's width, as a tape shows it: `3/8 in` or `9.5 mm`."""
    if mm is None:
        return "–"
    on_tape = abs(mm / 25.4 * 16 - round(mm / 25.4 * 16)) < 1e-6
    if units == "us" and on_tape:
        return _("{x} in", x=sixteenths(mm))
    return width(mm, units)


def distance(m: float | None, units: str) -> str:
    """`14.5 ft` or `4.42 m`."""
    if m is None:
        return "–"
    if units == "us":
        return _("{x} ft", x=_length(m / 0.3048))
    return _("{x} m", x=_length(m))


def tape(m: float | None, units: str) -> str:
    """A place or a lap as a tape is read, to 1/8 in: `26 ft 10 5/8 in` or `8.197 m`."""
    if m is None or units != "us":
        return distance(m, units)
    feet, inches = on_tape(abs(m))
    parts = [_("{x} ft", x=f"{feet}")] if feet or not inches else []
    parts += [_("{x} in", x=mixed(inches))] if inches else []
    return ("-" if m < 0 and (feet or inches) else "") + " ".join(parts)


def and_more(n: int) -> str:
    """` and 3 more` after a list cut short; nothing where it is whole."""
    return " " + _("and {n} more", n=n) if n > 0 else ""


def stretches(pairs: tuple[tuple[float, float], ...], units: str) -> str:
    """`0–14 ft, 20 ft to 26 ft 10 5/8 in`; a point as `3 ft`."""
    if any(b - a < 1e-3 for a, b in pairs):
        return ", ".join(
            tape(a, units) if b - a < 1e-3 else stretches(((a, b),), units) for a, b in pairs
        )
    if units == "us":
        return ", ".join(_feet(a, b) for a, b in pairs)
    return ", ".join(_("{a}–{b} m", a=_length(a), b=_length(b)) for a, b in pairs)


def _feet(a: float, b: float) -> str:
    (a_ft, a_in), (b_ft, b_in) = on_tape(a), on_tape(b)
    if a_in or b_in:
        return _("{a} to {b}", a=tape(a, "us") if a_in or a_ft else "0", b=tape(b, "us"))
    return _("{a}–{b} ft", a=f"{a_ft}", b=f"{b_ft}")


def _length(x: float) -> str:
    """To four figures, never in powers of ten; long ones in groups of three (SI brochure 5.4.4)."""
    if abs(x) < 9999.5:
        return number(x, ".4g")
    return f"{x:,.0f}".replace(",", "\N{NO-BREAK SPACE}")


def hundred(units: str) -> str:
    """The length fault rates are given for: `100 ft` or `100 m`."""
    return distance(30.48 if units == "us" else 100.0, units)


def per_hundred(per_100ft: float, units: str) -> float:
    """A fault rate for that length."""
    return per_100ft if units == "us" else per_100ft / 0.3048


def difference(kelvin: float, units: str) -> str:
    """`9 °F` or `5 °C`, of a difference."""
    return f"{kelvin * 9 / 5:.0f} °F" if units == "us" else f"{kelvin:.0f} °C"


def wind(m_per_s: float | None, units: str) -> str:
    """`8 mph` or `3.6 m/s`."""
    if m_per_s is None:
        return "–"
    if units == "us":
        return _("{x} mph", x=number(m_per_s / 0.44704, ".0f"))
    return _("{x} m/s", x=number(m_per_s, ".1f"))


def line_load(n_per_mm: float, units: str) -> str:
    """`22.1 lbf/in` or `190 N/50 mm`."""
    if units == "us":
        return _("{x} lbf/in", x=number(n_per_mm / 0.1751268, ".1f"))
    return _("{x} N/50 mm", x=number(n_per_mm * 50, ".0f"))


def percent(chance: float, *, down: bool = False) -> str:
    """A chance, never rounded up to certainty: `93 %`, `<1 %`, `>99 %`; `down` never rounds up."""
    if down and chance >= 0.01:
        return f"{math.floor(chance * 100)} %"
    if chance < 0.01:
        return "<1 %"
    if chance > 0.99:
        return ">99 %"
    return f"{chance * 100:.0f} %"


def clock(at: str, *, date: bool = True) -> str:
    """A recorded time on the job's clock: `2026-06-01 07:15`; what is no time, as it stands."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return safe(at)
    return moment.strftime("%Y-%m-%d %H:%M" if date else "%H:%M")


def day(iso: str) -> str:
    """A day in a heading, written out: `Monday, June 1, 2026`; tables keep `2026-06-01`."""
    return written_out(date.fromisoformat(iso))


def age(hours: float) -> str:
    """`25 min`, `3 h`."""
    if hours < 1.5:
        return minutes(hours * 60)
    return _("{x} h", x=f"{hours:.0f}")


def minutes(count: float) -> str:
    """`25 min`."""
    return _("{x} min", x=f"{count:.0f}")


def listed(texts: list[str]) -> str:
    """Texts joined, made safe; a dash where there is none."""
    return safe(", ".join(texts)) if texts else "–"


def as_json(document: object) -> str:
    """One JSON document, stable: keys in order of meaning, text as typed, records as objects."""
    import json  # a recording answers in words

    plain = msgspec.to_builtins(document, enc_hook=str)
    spell_out = not settings.knows_all(sys.stdout)  # as \\u escapes: the same text to a reader
    text = json.dumps(plain, ensure_ascii=spell_out, indent=2, allow_nan=False)
    return text if text.isascii() else "".join(map(_json_sign, text))


def json_parts(document: Iterable[tuple[str, object]]) -> Iterator[str]:
    """The text of `as_json`, part after part: what comes from an iterator is not held.

    Args:
        document: names and values, in order of meaning.
    """
    before = "{"
    for name, value in document:
        yield f"{before}\n  {as_json(name)}: "
        before = ","
        if isinstance(value, Iterator):
            yield from _json_list(value)
        else:
            yield indent(as_json(value), "  ").lstrip()
    yield "{}" if before == "{" else "\n}"


def _json_list(items: Iterator[object]) -> Iterator[str]:
    before = "["
    for item in items:
        yield f"{before}\n{indent(as_json(item), '    ')}"
        before = ","
    yield "[]" if before == "[" else "\n  ]"


def _json_sign(sign: str) -> str:
    """A sign of JSON: those a terminal obeys as escapes, which read back as the same text."""
    obeyed = sign != "\n" and (sign in _BIDI or unicodedata.category(sign) in _OBEYED)
    return f"\\u{ord(sign):04x}" if obeyed else sign
