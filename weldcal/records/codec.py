"""Records to payloads and back: what is hashed, and what it means.

Invariant: `decode(kind, encode(kind, record)) == record`. A payload holds text,
whole numbers, booleans, lists and objects; a quantity is
`{"text": "1/4", "number": "1/4", "unit": "in"}`; what is None is left out.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterable
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, Protocol, cast

import msgspec

from weldcal.errors import TextNotPlain, WeldcalError
from weldcal.json_values import Payload
from weldcal.quantities import DIMENSION
from weldcal.words import _

# Kind of entry -> the record it holds. Loaded one by one: recording a strip
# needs no other.
KINDS: dict[str, str] = {
    "job": "job.Job",
    "area": "job.Area",
    "sheet": "job.Sheet",
    "machine": "job.Machine",
    "instrument": "job.Instrument",
    "person": "job.Person",
    "limit": "limits.Limit",
    "conditions": "strip.Reading",
    "strip": "strip.Strip",
    "pull": "strip.Pull",
    "seam": "seam.Seam",
    "run": "seam.RunStart",
    "run-finish": "seam.RunFinish",
    "bleed": "seam.BleedCheck",
    "lap-width": "seam.LapWidth",
    "walk": "seam.Walk",
    "finding": "seam.Finding",
    "mend": "seam.Mend",
    "peel": "seam.Peel",
    "amend": "notes.Amend",
    "settle": "notes.Settle",
    "fork-settled": "notes.ForkSettled",
    "advice": "notes.AdviceGiven",
    "seal": "seal.Seal",
    "handed": "seal.Handed",
    "measure": "site.Measure",
    "cause": "site.Cause",
    "repair": "site.Repair",
    "hot-work": "site.HotWork",
    "hot-work-end": "site.HotWorkEnd",
    "watch": "site.Watch",
    "cover": "site.Cover",
    "leak": "site.Leak",
    "draw": "site.Draw",
    "open-up": "site.OpenUp",
    "same": "firm.Same",
    "north": "site.North",
    "embed": "site.Embed",
    "roll": "stock.Roll",
    "lot-doubt": "stock.LotDoubt",
    "substrate": "stock.Substrate",
    "punch": "stock.PunchItem",
    "punch-done": "stock.PunchDone",
    "start-line": "upkeep.StartLine",
    "start-answer": "upkeep.StartAnswer",
    "look": "upkeep.Look",
    "leak-step": "upkeep.LeakStep",
}


# Kinds whose payload holds quantities that no field of theirs says are quantities.
_LOOSE = {"amend", "advice"}


# Kinds that have a short name (S7, F3), which is printed, typed and made part of other names,
# and its letter.
SHORT_NAMED = {
    "strip": "S",
    "run": "R",
    "bleed": "B",
    "walk": "W",
    "lap-width": "T",
    "finding": "F",
    "mend": "M",
    "peel": "P",
    "seal": "L",
    "hot-work": "H",
    "cover": "C",
    "leak": "K",
    "draw": "D",
    "open-up": "O",
    "punch": "V",
    "look": "Y",
}
_SHORT_NAME = re.compile(r"[A-Z]\d{1,9}", re.ASCII)
_CODE = re.compile(r"[a-z][a-z0-9_]{0,63}", re.ASCII)


@cache
def record_class(kind: str) -> type[msgspec.Struct]:
    """The record class of an entry kind.

    Raises:
        KeyError: no such kind.
    """
    module, name = KINDS[kind].split(".")
    record: type[msgspec.Struct] = getattr(
        importlib.import_module(f"weldcal.records.{module}"), name
    )
    return record


def encode(record: object) -> Payload:
    """The payload of a record."""
    payload: Payload = _kept(msgspec.to_builtins(record, enc_hook=_encode_number))
    return payload


def decode(kind: str, payload: Payload) -> Any:
    """The record of a payload.

    Raises:
        ValueError: the payload cannot be a record of that kind; says where and why.
    """
    try:
        record = msgspec.convert(payload, record_class(kind), dec_hook=_decode_number)
    except KeyError:
        raise ValueError(f"unknown kind {kind!r}") from None
    except (msgspec.ValidationError, WeldcalError) as error:
        raise ValueError(str(error)) from None
    return _checked(kind, record)


def read(kind: str, payload: bytes | msgspec.Raw) -> Any:
    """The record of a payload as JSON: what `decode` makes of it, without the objects between.

    Raises:
        ValueError: as of `decode`.
    """
    try:
        record = _decoder(kind).decode(payload)
    except KeyError:
        raise ValueError(f"unknown kind {kind!r}") from None
    except (msgspec.MsgspecError, WeldcalError) as error:
        raise ValueError(str(error)) from None
    return _checked(kind, record)


@cache
def _decoder(kind: str) -> msgspec.json.Decoder[Any]:
    return msgspec.json.Decoder(record_class(kind), dec_hook=_decode_number)


def _checked(kind: str, record: Any) -> Any:
    """The record, with what its fields alone do not refuse refused (ValueError)."""
    if kind in _LOOSE:
        _check_units(msgspec.structs.asdict(record))
    if kind in SHORT_NAMED:
        _check_short(cast("_Named", record))
    return record


class _Named(Protocol):
    """A record that has a short name."""

    @property
    def name(self) -> str:
        """Its short name."""


def _check_short(record: _Named) -> None:
    """Refuse a short name or a code of a warning that the program cannot have given (ValueError)."""
    if not _SHORT_NAME.fullmatch(record.name):
        raise ValueError(f"not a short name: {record.name!r:.60}")
    for code in getattr(record, "warnings", ()):
        if not _CODE.fullmatch(code):
            raise ValueError(f"not a code: {code!r:.60}")


def _encode_number(value: object) -> str:
    if isinstance(value, Fraction):
        return str(value)
    raise NotImplementedError(type(value))


_NUMBER = re.compile(r"-?\d{1,64}(/[1-9]\d{0,63})?", re.ASCII)


def _decode_number(wanted: type, value: object) -> object:
    if wanted is Fraction and isinstance(value, str):
        return _fraction(value)
    raise ValueError(f"not a number: {value!r:.60}")


# A crew's numbers are few: 932, 11/2, 1/4, again and again.
@lru_cache(maxsize=4096)
def _fraction(text: str) -> Fraction:
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"not a number: {text!r:.60}")
    return Fraction(text)


_QUANTITY = {"text", "number", "unit"}


def _check_units(payload: dict[str, Any]) -> None:
    """Refuse a quantity whose unit is not one of ours."""
    todo: list[object] = [payload]
    for value in todo:  # grows as it is read
        if type(value) is dict:
            if value.keys() == _QUANTITY:
                if not isinstance(value["unit"], str) or value["unit"] not in DIMENSION:
                    raise ValueError(f"unknown unit {value['unit']!r:.60}")
                continue
            parts: Iterable[object] = value.values()
        else:
            assert isinstance(value, list)
            parts = value
        todo += [part for part in parts if type(part) is dict or type(part) is list]


_LONGEST_TEXT = 10_000


def _kept(value: object) -> Any:
    """The parts of a record that are kept: nothing that is None, and text that can be written down.

    Raises:
        TextNotPlain: a text that is no text (lone surrogates), or endless.
    """
    if isinstance(value, dict):
        return {key: _kept(part) for key, part in value.items() if part is not None}
    if isinstance(value, list | tuple):
        return [_kept(part) for part in value]
    if isinstance(value, str) and (
        len(value) > _LONGEST_TEXT or any("\ud800" <= sign <= "\udfff" for sign in value)
    ):
        raise TextNotPlain(name=_("text"), most=_LONGEST_TEXT)
    return value
