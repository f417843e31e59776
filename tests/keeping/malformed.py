"""What nobody should type or send, in any number: bytes, near misses and mutations of true values.

Invariant: a parser answers with a value or with its documented refusal
(`WeldcalError`, or ValueError where it reads entries). Anything else is a fault.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tests.keeping import forge
from weldcal.errors import WeldcalError
from weldcal.log import pack, seal
from weldcal.log.reading import read_entry
from weldcal.records import fields
from weldcal.records.codec import KINDS, decode
from weldcal.records.times import read_time, zone

NOW = datetime(2026, 6, 1, 7, 0, tzinfo=ZoneInfo("America/Denver"))
TRUE = [
    "932F",
    "5.5ft/min",
    "1/4",
    '3/16"',
    "5 1/2in",
    "3'6\"",
    "¼",
    "1.7m/min",
    "0-33",
    "3ft-14ft6in",
    "07:15",
    "7:15 pm",
    "yesterday 16:00",
    "2026-06-01 07:15",
    "2026-06-01T07:15:00-06:00",
    "1/4,3/16,5/16",
    "6mm, 7mm",
    "40lbf",
    "20lbf/in",
    "-5C",
    "60%",
    "none",
    "DDT7-2TAX-5VYQ-G29B-GPG6-SW5N",
    "America/Denver",
    "in the compound",
    "1e3",
    "1_000",
    "٣",
    "½½",
    "0/0",
]
SIGNS = "0123456789/.,-+ '\"¼½⅛⁄−–eE_%°FCinftm:TZ\0\x1b\n\ud800\U0001f525٣²ßİ＝" + "".join(
    map(chr, range(32, 127))
)


def text(chance: random.Random) -> str:
    """Some text: noise, or a true value with a few signs changed, doubled or left out."""
    if chance.random() < 0.2:
        return "".join(chance.choices(SIGNS, k=chance.randrange(40)))
    word = list(chance.choice(TRUE))
    for _ in range(chance.randrange(4)):
        at = chance.randrange(len(word) + 1)
        word[at : at + chance.randrange(2)] = chance.choice(
            [[], [chance.choice(SIGNS)], word[at : at + 1] * chance.choice([2, 80])]
        )
    return "".join(word)


def value(chance: random.Random, depth: int = 0) -> object:
    """Any JSON value, small."""
    kind = chance.randrange(9 if depth < 3 else 6)
    if kind < 6:
        return [
            None,
            True,
            chance.randrange(-5, 5),
            chance.choice([2**53, -(2**70), 10**400]),
            text(chance),
            1.5,
        ][kind]
    if kind == 6:
        return [value(chance, depth + 1) for _ in range(chance.randrange(4))]
    return {
        chance.choice(["text", "number", "unit", "seen", "name", "path", text(chance)]): value(
            chance, depth + 1
        )
        for _ in range(3)
    }


def mutated(chance: random.Random, payload: object) -> object:
    """A true payload with one part replaced, left out or added."""
    if isinstance(payload, dict) and payload and chance.random() < 0.9:
        key = chance.choice(sorted(payload))
        changed = dict(payload)
        choice = chance.randrange(4)
        if choice == 0:
            del changed[key]
        elif choice == 1:
            changed[text(chance)] = value(chance)
        else:
            changed[key] = mutated(chance, payload[key])
        return changed
    if isinstance(payload, list) and payload and chance.random() < 0.5:
        at = chance.randrange(len(payload))
        return [*payload[:at], mutated(chance, payload[at]), *payload[at + 1 :]]
    return value(chance)


def spoiled(chance: random.Random, raw: bytes) -> bytes:
    """Bytes with a few changed, doubled or left out."""
    data = bytearray(raw)
    for _ in range(chance.randrange(1, 4)):
        at = chance.randrange(len(data) + 1)
        data[at : at + chance.randrange(3)] = bytes(
            chance.randrange(256) for _ in range(chance.randrange(3))
        )
    return bytes(data)


def one_decode(chance: random.Random, says: list[Any]) -> object:
    """A payload of its own kind, changed, or of another."""
    true = chance.choice(says)
    kind = true["kind"] if chance.random() < 0.8 else chance.choice([*KINDS, text(chance)])
    payload = mutated(chance, true["payload"])
    return decode(kind, payload if isinstance(payload, dict) else {"x": payload})


def one_entry(chance: random.Random, says: list[Any]) -> object:
    """An entry with bytes or values changed, mostly with a hash that fits."""
    true = chance.choice(says)
    if chance.random() < 0.5:
        body = spoiled(chance, forge.canonical(true).encode()).decode(errors="surrogateescape")
    else:
        changed = mutated(chance, true)
        body = json.dumps(
            changed, sort_keys=True, separators=(",", ":"), ensure_ascii=chance.random() < 0.2
        )
    fits = hashlib.sha256(body.encode(errors="replace")).hexdigest()
    return read_entry(body, fits if chance.random() < 0.9 else text(chance))


def one_line(chance: random.Random, entries: list[forge.Entry]) -> object:
    """A line of a pack with bytes changed."""
    body, kept = chance.choice(entries)
    raw = spoiled(chance, json.dumps({"line": "entry", "hash": kept, "body": body}).encode())
    try:
        line = pack._decoder.decode(raw)
    except (
        pack.msgspec.MsgspecError,
        UnicodeDecodeError,
        RecursionError,
    ):  # what `pack._lines` turns into BadPack
        return None
    if isinstance(line, pack.EntryLine):
        return pack.entry_of(Path("x"), line, 1)
    return pack.photo_of(Path("x"), line) if isinstance(line, pack.PhotoLine) else line


def attempts(entries: list[forge.Entry]) -> dict[str, Callable[[random.Random], object]]:
    """Parser -> one attempt at it with something malformed; `entries` are true ones to spoil."""
    says = [json.loads(body) for body, _kept in entries]
    names = sorted(fields.FIELDS)
    return {
        "a field": lambda c: fields.read(c.choice(names), text(c), c.choice(["us", "si"])),
        "several readings": lambda c: fields.read_many("reading", text(c), c.choice(["us", "si"])),
        "a stretch": lambda c: fields.stretch(text(c), c.choice(["us", "si"])),
        "a choice": lambda c: fields.choose(c.choice(sorted(fields.CHOICES)), text(c)),
        "a name": lambda c: fields.plain_name("name", text(c)),
        "a time": lambda c: read_time(text(c), NOW, "time"),
        "a zone": lambda c: zone(text(c)),
        "a seal's code": lambda c: seal.read_code(text(c)),
        "a payload": lambda c: one_decode(c, says),
        "an entry": lambda c: one_entry(c, says),
        "a pack's line": lambda c: one_line(c, entries),
    }


def faults(entries: list[forge.Entry], tries: int, seed: int) -> tuple[dict[str, int], list[str]]:
    """Try each parser `tries` times; how many were taken, and every answer that is not documented."""
    taken: dict[str, int] = {}
    wrong = []
    for name, attempt in attempts(entries).items():
        for number in range(tries):
            try:
                attempt(random.Random(f"{seed} {name} {number}"))
                taken[name] = taken.get(name, 0) + 1
            except (WeldcalError, ValueError) as error:
                str(error)  # its sentence can be said
            except Exception as error:
                wrong.append(
                    f"{name} (seed {seed}, number {number}): {type(error).__name__}: {error}"
                )
    return taken, wrong
