"""Column names as crews write them -> what a column holds and in which unit.

Invariant: one table, `KNOWN`. A header means one field or none; where its unit
cannot measure that field, the file is refused rather than the unit guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from weldcal.errors import FileTrouble
from weldcal.numbers_said import unaccented
from weldcal.quantities import UNITS, unit_named
from weldcal.records.fields import CHOICES, FIELDS
from weldcal.words import _, mark


@dataclass(frozen=True, slots=True)
class KnownField:
    """A field a column can hold.

    Attributes:
        spelled: names, in any order of their words; "temp" stands for temperature, temperatura.
        reads: key of `records.fields.FIELDS` or `CHOICES`, None for text.
        example: a header of this kind, for messages.
        label: what people call it, where `reads` has no label.
    """

    spelled: tuple[str, ...]
    reads: str | None
    example: str
    label: str = ""


# English and Spanish, as crews' sheets show them (common practice, no source).
KNOWN: dict[str, KnownField] = {
    "date": KnownField(("date", "date time", "datetime", "timestamp", "test date", "fecha", "fecha hora", "fecha y hora", "fecha prueba"), None, "date", mark("date")),
    "time": KnownField(("time", "hour", "time day", "test time", "hora", "hora prueba"), None, "time", mark("time")),
    "machine": KnownField(("machine", "machine no", "machine name", "machine id", "maquina", "equipo"),
                     None, "machine", mark("machine")),
    "sheet": KnownField(("sheet", "membrane", "cap sheet", "sheet type", "membrana", "lamina"), None, "sheet", mark("sheet")),
    "lap": KnownField(("lap", "lap kind", "lap type", "kind lap", "solape", "traslape", "tipo solape", "tipo traslape"),
                 "lap", "lap"),
    "nozzle": KnownField(("nozzle", "nozzle temp", "nozzle set", "nozzle temp set", "nozzle setting", "air temp nozzle",
                     "hot air temp", "weld temp", "welding temp", "set temp", "temp set", "temp boquilla",
                     "boquilla", "temp tobera", "tobera", "temp soldadura", "temp aire caliente"),
                    "nozzle", "nozzle (F)"),
    "nozzle_measured": KnownField(("nozzle measured", "nozzle temp measured", "measured nozzle temp", "nozzle actual",
                              "nozzle temp actual", "boquilla medida", "temp boquilla medida",
                              "temp medida boquilla"), "nozzle", "nozzle measured (F)"),
    "speed": KnownField(("speed", "travel speed", "speed set", "speed dial", "dial", "dial speed", "dial setting",
                    "machine speed", "weld speed", "welding speed", "velocidad", "velocidad avance", "avance",
                    "velocidad maquina", "velocidad soldadura"), "speed", "speed (ft/min)"),
    "true_speed": KnownField(("true speed", "speed true", "measured speed", "speed measured", "actual speed",
                         "timed speed", "velocidad real", "velocidad medida"), "speed", "true speed (ft/min)"),
    "air_flow": KnownField(("air flow", "airflow", "air volume", "caudal aire", "caudal", "flujo aire"),
                      "air_flow", "air flow (%)"),
    "nozzle_width": KnownField(("nozzle width", "width nozzle", "ancho boquilla", "ancho tobera"),
                          "nozzle_width", "nozzle width (in)"),
    "roller_load": KnownField(("roller load", "roller force", "roller weight", "carga rodillo", "fuerza rodillo"),
                         "roller_load", "roller load (lbf)"),
    "reading": KnownField(("bleed", "bleed out", "bleedout", "bleed outs", "bleedouts", "bleed out width",
                      "bleed out reading", "bleed out readings", "bleed readings", "reading", "readings",
                      "sangrado", "sangrados", "exudado", "rebose", "lecturas rebose", "lectura rebose", "ancho rebose", "lectura", "lecturas", "lectura sangrado",
                      "lecturas sangrado", "ancho sangrado"), "reading", "bleed-out (in)"),
    "bubbling": KnownField(("bubbling", "bubbles", "bubble", "burbujas", "burbujeo"), "bubbling", "bubbling"),
    "bond": KnownField(("bond", "cold pull", "pull", "pull test", "pull apart", "peel", "peel test", "bond test",
                   "adherencia", "union", "despegue", "prueba despegue", "prueba tiron", "tiron"), "bond", "bond"),
    "parted": KnownField(("parted", "how parted", "how it parted", "parting", "failure mode", "como despego",
                     "rotura", "modo rotura", "tipo rotura"), "parted", "parted"),
    "bonded_width": KnownField(("bonded width", "bond width", "width bonded", "weld width", "ancho unido",
                           "ancho soldado", "ancho adherido", "ancho union", "ancho soldadura"), "bonded_width", "bonded width (in)"),
    "outcome": KnownField(("outcome", "result", "verdict", "resultado"), None, "outcome", mark("outcome")),
    "ambient": KnownField(("ambient", "ambient temp", "air temp", "outside temp", "outdoor temp", "ambiente",
                      "temp ambiente", "temp aire", "temp exterior"), "ambient", "ambient (F)"),
    "sheet_temp": KnownField(("sheet temp", "sheet surface temp", "surface temp", "sheet surface", "membrane temp",
                         "membrane surface temp", "roof temp", "roof surface temp", "temp lamina",
                         "temp membrana", "temp superficie", "temp superficial", "temp superficial lamina", "temp superficie lamina",
                         "temp superficie membrana"), "sheet_temp", "sheet temp (F)"),
    "under_temp": KnownField(("under temp", "lower sheet temp", "bottom sheet temp", "temp lamina inferior"),
                        "under_temp", "under temp (F)"),
    "humidity": KnownField(("humidity", "relative humidity", "rh", "% rh", "rh %", "hum", "humedad", "humedad relativa",
                       "hr", "% hr"), "humidity", "humidity (%)"),
    "wind": KnownField(("wind", "wind speed", "viento", "velocidad viento", "vel viento"), "wind", "wind (mph)"),
    "gust": KnownField(("gust", "gusts", "wind gust", "wind gusts", "rafaga", "rafagas"), "gust", "gusts (mph)"),
    "roll_temp": KnownField(("roll temp", "roll temperature", "temp rollo", "temperatura rollo"), "roll_temp",
                       "roll temp (F)"),
    "line_voltage": KnownField(("line voltage", "voltage", "volts", "line volts", "voltage under load",
                           "line voltage under load", "volts under load", "mains voltage", "voltaje",
                           "tension", "tension linea", "voltaje linea", "tension red"),
                          "line_voltage", "line voltage (V)"),
    "damp": KnownField(("damp", "wet", "sheet damp", "damp sheet", "sheet wet", "moisture", "humeda", "mojada", "humedo",
                   "mojado", "lamina humeda", "lamina mojada"), "yes_no", "damp", mark("sheet damp")),
    "by": KnownField(("by", "operator", "operator name", "who", "welded by", "tested by", "person", "operador",
                 "operario", "soldador", "quien", "hecho por"), None, "operator", mark("operator")),
    "instrument": KnownField(("instrument", "thermometer", "read with", "instrumento", "termometro"),
                        None, "instrument", mark("instrument")),
    "roll_lot": KnownField(("roll lot", "lot", "lot no", "roll", "roll no", "roll number", "lot number", "batch", "lote",
                       "rollo", "lote rollo"), None, "roll lot", mark("roll lot")),
    "smoke": KnownField(("smoke", "smoking", "fumes", "humo"), "yes_no", "smoke", mark("smoke")),
    "exposed_mat": KnownField(("exposed mat", "mat exposed", "mat showing", "exposed reinforcement",
                          "reinforcement exposed", "armadura expuesta", "armadura vista", "malla expuesta"),
                         "yes_no", "exposed mat", mark("exposed mat")),
    "note": KnownField(("note", "notes", "remark", "remarks", "comment", "comments", "nota", "notas", "observacion",
                   "observaciones", "comentario", "comentarios"), None, "note", mark("note")),
}  # fmt: skip

SEVERAL = frozenset({"reading", "note"})  # fields that may have more than one column

# Units spelled out in headers, besides the spellings people type with a value.
_UNIT_WORDS = {
    "fahrenheit": "F", "celsius": "C", "centigrade": "C", "centigrados": "C", "grados c": "C",
    "grados f": "F", "degrees c": "C", "degrees f": "F",  "pulgada": "in", "pulgadas": "in",
    "pulg": "in", "pies/min": "ft/min", "pies/minuto": "ft/min", "m/minuto": "m/min",
    "ft/minute": "ft/min", "m/minute": "m/min", "metros/minuto": "m/min", "metros/min": "m/min",
    "feet per minute": "ft/min", "metres per minute": "m/min", "meters per minute": "m/min",
    "m min": "m/min", "ft min": "ft/min", "m s": "m/s", "km h": "km/h", "voltios": "V", "marca": "mark",
    "marcas": "mark", "porcentaje": "%",
}  # fmt: skip
_FOLDED = {
    "temperature": "temp",
    "temperatura": "temp",
    "temps": "temp",
    "number": "no",
    "num": "no",
}
_FILLERS = frozenset({"of", "the", "de", "del", "la", "el", "los", "las", "y", "por"})
_PLACES = frozenset({"left", "middle", "mid", "center", "centre", "right", "start", "end", "a", "b",
                     "c", "izq", "izquierda", "medio", "centro", "der", "derecha"})  # fmt: skip
_LONGEST = 200


@dataclass(frozen=True, slots=True)
class KnownColumn:
    """A column that is known.

    Attributes:
        place: index among the cells of a row.
        header: as in the file.
        field: key of `KNOWN`.
        unit: what a bare number in it means, None where the header does not say.
        wrong_unit: text in the unit's place that is no unit of this field.
        day_first: the order of day and month its header spells, None where it spells none.
    """

    place: int
    header: str
    field: str
    unit: str | None = None
    wrong_unit: str | None = None
    day_first: bool | None = None


def label(field: str) -> str:
    """What people call a field of `KNOWN`, in the reader's language."""
    known = KNOWN[field]
    if known.label:
        return _(known.label)
    assert known.reads is not None
    return _(FIELDS[known.reads].label if known.reads in FIELDS else CHOICES[known.reads][0])


def nearest(header: str, spelled: Iterable[str]) -> str | None:
    """The known name that a header not known is a slip of: `Bubling` -> bubbling, `Bnd` -> bond.

    A slip is two signs at most, and less than a third of the name (common practice, no source).
    """
    typed = re.sub(r"[(\[].*", "", _plain(header)).strip()
    # The shorter the word, the likelier that it is another word rather than a slip.
    close = get_close_matches(typed, spelled, n=1, cutoff=0.85 if len(typed) > 4 else 0.8)
    return close[0] if close and len(typed) > 2 and True else None


def refuse_slips(file: str, unknown: Iterable[str], spelled: Iterable[str]) -> None:
    """Refuse a file with a column whose name is a slip of a known one: it would be a note only.

    Raises:
        FileTrouble: names the column and the nearest name.
    """
    names = list(spelled)
    for header in unknown:
        close = nearest(header, names)
        if close:
            why = _(
                'column "{column}" is not known; the nearest is "{nearest}". Rename it, or put '
                'the word note before it, "note {column}", to keep it as a note',
                column=header,
                nearest=close,
            )
            raise FileTrouble(file=file, why=why)


def spelled_names() -> list[str]:
    """All names a strip's column can have."""
    return [name for known in KNOWN.values() for name in known.spelled]


def how_many_known(cells: Sequence[str]) -> int:
    """How many different fields a row of header cells names."""
    return len({column.field for column in map(recognised, cells) if column})


def help_() -> str:
    """Which headers are understood, for messages."""
    examples = ", ".join(f'"{known.example}"' for known in KNOWN.values())
    return _("Column names understood are like {examples}", examples=examples)


def columns(file: str, header: Sequence[str]) -> tuple[KnownColumn, ...]:
    """The known columns of a header, in its order.

    Raises:
        FileTrouble: a unit that does not fit its column, or two columns for one value.
    """
    found: list[KnownColumn] = []
    for place, cell in enumerate(header):
        column = recognised(cell, place)
        if column is None:
            continue
        _check_unit(file, column)
        for other in found:
            if other.field == column.field and column.field not in SEVERAL:
                raise FileTrouble(file=file, why=_twice(other, column))
        found.append(column)
    return tuple(found)


def recognised(header: str, place: int = 0) -> KnownColumn | None:
    """The column a header names, or None.

    The unit may stand in brackets, "Nozzle (°F)", or last, "nozzle_temp_F".
    """
    if not header.strip() or len(header) > _LONGEST:
        return None
    plain = _plain(header)
    bracketed = re.fullmatch(r"([^(\[]+)[(\[]([^)\]]*)[)\]]?", plain)
    if bracketed and not _field(plain.translate(_NO_BRACKETS)):
        return _with_unit(header, place, bracketed[1].strip(), bracketed[2].strip())
    words = plain.translate(_NO_BRACKETS).split()
    field = _field(" ".join(words))
    if field:
        return KnownColumn(place, header, field)
    for cut in range(len(words) - 1, max(0, len(words) - 4), -1):
        tail = " ".join(words[cut:])
        if _any_unit(tail):
            column = _with_unit(header, place, " ".join(words[:cut]), tail)
            if column:
                return column
    return None


def _with_unit(header: str, place: int, base: str, unit: str) -> KnownColumn | None:
    field = _field(base)
    if field is None:
        return None
    if field == "sheet" and _unit(unit, ("temperature",)):
        field = "sheet_temp"
    dimensions = _dimensions(field)
    if not dimensions:
        # "machine (ft/min)" is no machine's name, "peel (N/mm)" no bond; "bubbling (N/T/H)" is bubbling.
        if _any_unit(unit) and field != "time":
            return None
        return KnownColumn(
            place, header, field, day_first=_order(unit) if field == "date" else None
        )
    found = _unit(unit, dimensions)
    return KnownColumn(
        place, header, field, unit=found, wrong_unit=None if found or not unit else unit
    )


def _dimensions(field: str) -> tuple[str, ...]:
    reads = KNOWN[field].reads
    if reads not in FIELDS:
        return ()
    return (FIELDS[reads].dimension, *(("mark",) if field == "speed" else ()))


def _check_unit(file: str, column: KnownColumn) -> None:
    if column.wrong_unit is not None:
        allowed = ", ".join(unit for d in _dimensions(column.field) for unit in UNITS[d])
        why = _(
            'column "{column}": {unit!r} is not a unit of {name} ({allowed}); '
            'name the column like "{example}"',
            column=column.header,
            unit=column.wrong_unit,
            name=label(column.field),
            allowed=allowed,
            example=KNOWN[column.field].example,
        )
        raise FileTrouble(file=file, why=why)


def _twice(one: KnownColumn, other: KnownColumn) -> str:
    return _(
        'columns "{one}" and "{other}" both hold the {name}; rename or remove one of them',
        one=one.header,
        other=other.header,
        name=label(one.field),
    )


_NO_BRACKETS = str.maketrans("()[]", "    ")


_TYPOGRAPHY = str.maketrans("º˚″”′", '°°""\'')


def _plain(header: str) -> str:
    """Case, accents and typography folded; units' own signs kept."""
    text = unaccented(header.translate(_TYPOGRAPHY))
    text = re.sub(r"[_\-–:#?*.,]", " ", text)
    text = re.sub(r"\s*/\s*", "/", re.sub(r"°\s*", "°", text))
    return " ".join(text.split())


def _key(text: str) -> tuple[str, ...]:
    words = (_FOLDED.get(word, word) for word in text.split())
    return tuple(sorted(word for word in words if word not in _FILLERS))


_BY_KEY = {_key(name): field for field, known in KNOWN.items() for name in known.spelled}


def _field(text: str) -> str | None:
    """The field of a name without its unit; "bleed 2" and "bleed left" are readings too."""
    key = _key(text)
    found = _BY_KEY.get(key)
    if found or not key:
        return found
    numbered = re.fullmatch(r"(.*\D)\s*\d{1,2}", text)
    words = text.split()
    shorter = numbered[1] if numbered else " ".join(words[:-1]) if words[-1] in _PLACES else ""
    return "reading" if _BY_KEY.get(_key(shorter)) == "reading" else None


def _unit(text: str, dimensions: Sequence[str]) -> str | None:
    word = _UNIT_WORDS.get(text, text)
    if not word:  # a count's unit is the empty word
        return None
    return next((unit for d in dimensions if (unit := unit_named(word, d))), None)


_ALL_DIMENSIONS = tuple(UNITS)


def _any_unit(text: str) -> bool:
    return _unit(text, _ALL_DIMENSIONS) is not None


def _order(text: str) -> bool | None:
    """What "dd/mm/yyyy" or "m/d/y" in a date's header says of its order."""
    letters = re.sub(r"[^a-z]", "", text)
    if re.fullmatch(r"d+m+[ya]*", letters):
        return True
    return False if re.fullmatch(r"m+d+[ya]*", letters) else None
