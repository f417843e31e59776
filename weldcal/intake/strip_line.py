"""A whole test strip in one typed line: `5.5 1/4 3/16 1/4 5/16 none`.

Grammar, in English and Spanish words, in any order but that of bare numbers:

    line     = part*
    part     = NUMBER                   the first bare one is the speed, those after it readings;
                                        one of 100 or more is the nozzle; a unit says what it is
             | LABEL VALUE              speed 5.5, nozzle 932, readings 1/4 3/16, pull good ...
             | NUMBER LABEL             80F ambient
             | WORD                     none, trace, heavy; good, cold; damp, dry; selvage, granules
             | MACHINE | SHEET          as the job lists them
             | note ANYTHING            to the end of the line

Invariant: a word that has no meaning here is refused by name; a number that can
mean two things is refused with both.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from msgspec import Struct

from weldcal.errors import WeldcalError, WordUnknown
from weldcal.intake.line import is_bare, is_number, spelled, tokens
from weldcal.quantities import Quantity, is_feet_inches, parse, sign
from weldcal.records.alike import ALIKE, DAMP
from weldcal.records.fields import CHOICES, FIELDS, choose, folded, read, read_many
from weldcal.words import _

# Label -> what people write (common practice, no source).
_LABELS = spelled(
    {
        "speed": ("dial", "velocidad"),
        "readings": ("reading", "bleed", "bleed-out", "rebose", "sangrado", "lecturas"),
        "bubbling": ("bubbles", "burbujas", "burbujeo"),
        "bond": ("pull", "pulled", "peel", "tiron", "despegue", "adherencia"),
        "nozzle": ("boquilla", "tobera"),
        "machine": ("maquina",),
        "sheet": ("lamina", "membrana"),
        "ambient": ("air", "ambiente", "aire"),
        "humidity": ("rh", "humedad"),
        "wind": ("viento",),
        "line_voltage": ("volts", "voltage", "voltaje", "voltios", "tension"),
        "lap": ("solape", "traslape"),
        "smoke": ("humo",),
        "roll_lot": ("lot", "lote"),
        "note": ("nota",),
    }
)
# Words that need no label -> the fields they can be of. One letter alone may be anybody's.
_ALONE: dict[str, dict[str, str]] = {}
for _field in ("bubbling", "bond", "lap"):
    for _said, _kind in [*((one, one) for one in CHOICES[_field][1]), *ALIKE[_field].items()]:
        if len(_said) > 1:
            _ALONE.setdefault(_said, {})[_field] = _kind
# A bare number from here on is no reading, which is at most 100 mm: it is a nozzle temperature.
_NOZZLE_FROM = 100
_PART = re.compile(r"\d+/|[¼-¾⅐-⅞]")  # 1/4 alone is a reading, never a speed
# Sheets and air are never so hot, nozzles never so cold (`records.fields`).
_NEVER_WEATHER_C = 120.0


class ListedNames(Struct, frozen=True):
    """What the job lists, as listed."""

    machines: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()


class StripLine(Struct, frozen=True, kw_only=True):
    """What a line says of a strip; None where it says nothing.

    The speed is text: only the machine's dial says what a bare number of it means.
    """

    speed: str | None = None
    readings: tuple[Quantity, ...] = ()
    bubbling: str | None = None
    bond: str | None = None
    nozzle: Quantity | None = None
    machine: str | None = None
    sheet: str | None = None
    lap: str | None = None
    ambient: Quantity | None = None
    sheet_temp: Quantity | None = None
    humidity: Quantity | None = None
    wind: Quantity | None = None
    line_voltage: Quantity | None = None
    damp: bool | None = None
    smoke: bool | None = None
    roll_lot: str | None = None
    note: str | None = None


def read_strip(
    words: Sequence[str], units: str, names: ListedNames, *, mending: bool = False
) -> StripLine:
    """Read a line.

    Args:
        words: as typed.
        units: the job's.
        names: machines and sheets that may be named alone.
        mending: the line changes an earlier one, so a bare number needs its label.

    Raises:
        WordUnknown: a word without meaning here, or with two.
        Unreadable: a value that cannot be.
    """
    sorted_ = _Sorter(tokens(words), units, names, mending).all()
    return _values(sorted_, units)


class _Sorter:
    """Says of each token which field it is of; the texts stay as typed."""

    def __init__(self, tokens: list[str], units: str, names: ListedNames, mending: bool) -> None:
        self._left = tokens
        self._units = units
        self._mending = mending
        self._names = {folded(name): ("machine", name) for name in names.machines}
        self._names |= {folded(name): ("sheet", name) for name in names.sheets}
        self._of: dict[str, list[str]] = {}
        self._speed_bare = ""

    def all(self) -> dict[str, list[str]]:
        while self._left:
            if not self._named():
                token = self._left.pop(0)
                if is_number(token):
                    self._number(token)
                else:
                    self._word(token)
        return self._of

    def _named(self) -> bool:
        """Whether the line goes on with a listed name, which may be of several words."""
        for count in range(min(6, len(self._left)), 0, -1):
            name = self._names.get(folded(" ".join(self._left[:count])))
            if name and not (count == 1 and self._is_label_here()):
                self._put(name[0], name[1])
                del self._left[:count]
                return True
        return False

    def _is_label_here(self) -> bool:
        return folded(self._left[0]) in _LABELS and len(self._left) > 1

    def _number(self, token: str) -> None:
        after = _LABELS.get(folded(self._left[0])) if self._left else None
        if is_bare(token):
            self._bare(token)
            return
        kind = _dimension(token)
        if kind == "temperature":
            self._temperature(token, after)
        elif kind == "length":
            self._put("readings", token)
        elif kind == "speed":
            self._put(
                "wind" if re.search(r"mph|mi/h|km|kph|m/s", token.lower()) else "speed", token
            )
        elif kind == "percent":
            self._put("humidity", token)
        elif kind == "voltage":
            self._put("line_voltage", token)
        else:
            raise _not_understood(token)

    def _bare(self, token: str) -> None:
        if not re.search(r"[/¼-¾⅐-⅞]", token) and float(token) >= _NOZZLE_FROM:
            self._put("nozzle", token)
        elif self._mending:
            raise WordUnknown(text=token, allowed=_("speed {n}, or readings {n}", n=token))
        elif "speed" not in self._of and "readings" not in self._of and not _PART.match(token):
            self._put("speed", token)
            self._speed_bare = token
        else:
            whole = self._speed_bare if token in ("1/2", "½") and "readings" not in self._of else ""
            if whole.isdecimal() and "speed" in self._of:
                raise WordUnknown(
                    text=f"{whole} {token}",
                    allowed=_("{n}.5, or speed {n} readings {half}", n=whole, half=token),
                )
            self._put("readings", token)

    def _temperature(self, token: str, after: str | None) -> None:
        if _hot(token):
            self._put("nozzle", token)
        elif after in ("ambient", "sheet"):
            self._left.pop(0)
            self._put("ambient" if after == "ambient" else "sheet_temp", token)
        else:
            raise WordUnknown(
                text=token, allowed=_("ambient {t}, sheet {t} or nozzle {t}", t=token)
            )

    def _word(self, token: str) -> None:
        word = folded(token)
        label = _LABELS.get(word)
        if label is None and (means := _ALONE.get(word)):
            if len(means) > 1:
                either = [_("{label} {word}", label=_label(field), word=token) for field in means]
                raise WordUnknown(
                    text=token, allowed=_("{one}, or {other}", one=either[0], other=either[1])
                )
            ((field, kind),) = means.items()
            self._put(field, kind)
        elif word in DAMP:
            self._put("damp", DAMP[word])
        elif label is not None:
            self._labelled(label, token)
        elif self._reads_as_reading(token):  # a number in words
            self._put("readings", token)
        else:
            raise _not_understood(token)

    def _reads_as_reading(self, token: str) -> bool:
        try:
            read("reading", token, self._units)
        except WeldcalError:
            return False
        return True

    def _labelled(self, label: str, token: str) -> None:
        if label == "note":
            self._put("note", " ".join(self._left))
            self._left.clear()
            return
        if label == "sheet" and self._left and is_number(self._left[0]):
            label = "sheet_temp"
        if label == "smoke":
            no = self._left and folded(self._left[0]) in ("no", "none")
            if no or (self._left and folded(self._left[0]) in ("yes", "si")):
                self._left.pop(0)
            self._put("smoke", "no" if no else "yes")
            return
        if not self._left:
            raise WordUnknown(text=token, allowed=_("{label} and its value", label=token))
        if label == "readings":
            taken = 0
            while self._left and is_number(self._left[0]):
                self._put("readings", self._left.pop(0), first=not taken)
                taken += 1
            if not taken:
                raise WordUnknown(
                    text=self._left[0], allowed=_("{label} and its value", label=token)
                )
            return
        value = self._left.pop(0)
        if label == "bond" and folded(value) in ("not", "no", "sin") and self._left:
            value = f"{value} {self._left.pop(0)}"
        self._put(label, choose(label, value) if label in ("bubbling", "bond", "lap") else value)

    def _put(self, field: str, text: str, *, first: bool = False) -> None:
        if field == "readings" and not first:
            self._of.setdefault(field, []).append(text)
        elif field in self._of and not first:
            raise WordUnknown(
                text=text,
                allowed=_(
                    "one {field} only; {text} is there already",
                    field=_label(field),
                    text=self._of[field][0],
                ),
            )
        else:
            self._of[field] = [text]


def _label(field: str) -> str:
    """What people call a field."""
    if field in CHOICES:
        return _(CHOICES[field][0])
    named = FIELDS.get("reading" if field == "readings" else field)
    return _(named.label if named else field.replace("_", " "))


def _hot(token: str) -> bool:
    try:
        return parse(token, "temperature", "C", name="").si("C") > _NEVER_WEATHER_C
    except WeldcalError:
        return False


def _dimension(token: str) -> str | None:
    """What a number with a unit measures."""
    for dimension in ("length", "temperature", "speed", "percent", "voltage"):
        try:
            parse(token, dimension, "", name="")
        except WeldcalError:
            continue
        return dimension
    return None


def _not_understood(token: str) -> WordUnknown:
    return WordUnknown(
        text=token,
        allowed=_(
            "speed, readings, bubbling (none, trace, heavy), then nozzle, pull, machine, ambient, sheet, wind, humidity, volts, damp, dry, smoke, lot or note with their values"
        ),
    )


def _values(of: dict[str, list[str]], units: str) -> StripLine:
    def one(field: str) -> Quantity | None:
        return read(field, of[field][0], units) if field in of else None

    def text(field: str) -> str | None:
        return of[field][0] if field in of else None

    if "speed" in of:  # that it is a number at all; its unit is the dial's
        read("speed" if not is_bare(of["speed"][0]) else "mark", of["speed"][0], units)
    return StripLine(
        speed=text("speed"),
        bubbling=text("bubbling"),
        bond=text("bond"),
        machine=text("machine"),
        readings=read_many("reading", ";".join(of["readings"]), units) if "readings" in of else (),
        sheet=text("sheet"),
        lap=text("lap"),
        roll_lot=text("roll_lot"),
        note=text("note"),
        damp=of["damp"][0] == "yes" if "damp" in of else None,
        smoke=of["smoke"][0] == "yes" if "smoke" in of else None,
        nozzle=one("nozzle"),
        ambient=one("ambient"),
        sheet_temp=one("sheet_temp"),
        humidity=one("humidity"),
        wind=one("wind"),
        line_voltage=one("line_voltage"),
    )


_UNIT_BESIDE = re.compile(r"([-+]?(?:\d+/\d+|\d+(?:\.\d*)?|\.\d+))\s*[^\s\d./'\"].*", re.ASCII)


def quantity_text(value: Quantity, unit: Callable[[str], str] = sign) -> str:
    """A value with its unit, the number as typed: `1/4 in`, `932 °F`; `unit` shows units otherwise."""
    if is_feet_inches(value.text):
        return value.text
    typed = _UNIT_BESIDE.fullmatch(value.text)
    number = typed[1] if typed else value.text
    if not is_bare(number) or value.unit in ("", "mark"):
        return value.text
    return f"{number} {unit(value.unit)}"


def quantities_text(values: Sequence[Quantity], unit: Callable[[str], str] = sign) -> str:
    """Values of one unit with it named once: `1/4, 3/16 in`."""
    once = {value.unit for value in values} == {"in"} and all(is_bare(v.text) for v in values)
    return ", ".join(
        v.text if once and n < len(values) else quantity_text(v, unit)
        for n, v in enumerate(values, 1)
    )
