"""Entries made one after another, with whatever devices, places and links a test wants."""

from __future__ import annotations

import hashlib
from typing import Any

from tests.keeping import forge
from weldcal.log.entry import GENESIS, Entry, Envelope, seal_entry

A, B, C = "5742a9000001", "5742a9000002", "5742a9000003"
JOB = forge.uuid(900)


class Made:
    """Entries by name, each after another."""

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}

    def add(self, name: str, device: str, seq: int, after: str = "", **more: Any) -> None:
        """One entry; its tick is its number among all, unless it is said."""
        number = len(self.entries) + 1
        says: dict[str, Any] = {
            "v": 1,
            "id": forge.uuid(number),
            "device": device,
            "seq": seq,
            "tick": number,
            "at": f"2026-06-01T07:{number:02}:00-06:00",
            "who": "Ana Ruiz",
            "kind": "note",
            "job": JOB,
            "about": forge.uuid(number),
            "payload": {"said": name},
            "prev": self.entries[after].hash if after else GENESIS,
            **more,
        }
        self.entries[name] = seal_entry(Envelope(**says))


def made_photo(n: int) -> tuple[str, bytes]:
    """A picture by number: its name, and its bytes."""
    data = forge.PNG + str(n).encode()
    return hashlib.sha256(data).hexdigest(), data
