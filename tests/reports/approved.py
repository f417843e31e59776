"""Pages that a person has read and found right, kept word for word beside the tests.

A file of `pages/` holds blocks: a line `$ 16:00 roof`, then all that the program said to it at that
time on that file's book. Commands joined by `&&` are given one after the other, each block on a
copy of its own. `python -m tests.reports` writes every file anew: read what changed before it is
committed, for from then on it is what is right. A new page is one more line with `$`.

Masked are what differs from run to run: hashes, keys and the version.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

HERE = Path(__file__).parent / "pages"
WRITING = "APPROVE_PAGES" in os.environ
_ID = re.compile(r"\b[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\b|\b[0-9a-f]{12,64}\b")
_CODE = re.compile(r"\b[0-9A-Z]{4}(-[0-9A-Z]{4}){2,}\b")  # of a seal or a hash, to be read out
_VERSION = re.compile(r"weldcal \d+\.\d+\S*")


def masked(text: str) -> str:
    """Text without what differs from run to run, and without blanks at the ends of its lines."""
    text = _VERSION.sub("weldcal VERSION", _CODE.sub("CODE", _ID.sub("ID", text)))
    return "\n".join(line.rstrip() for line in text.strip("\n").split("\n"))


def heads(name: str) -> list[str]:
    """The lines with `$` of a file, which say what is shown."""
    text = (HERE / f"{name}.txt").read_text()
    return [line[2:] for line in text.splitlines() if line.startswith("$ ")]


def held(name: str, head: str, shown: str) -> None:
    """Hold what is shown to the block of that head; or write it there."""
    blocks = re.split(r"^(?=\$ )", (HERE / f"{name}.txt").read_text(), flags=re.M)
    n = next(n for n, block in enumerate(blocks) if block.partition("\n")[0] == f"$ {head}")
    before, after = "".join(blocks[:n]), "".join(blocks[n + 1 :])
    _compare(name, f"{before}{_block(head, shown)}{after}")


def held_whole(name: str, pages: Iterable[tuple[str, str]]) -> None:
    """Hold heads with what is shown to a whole file; or write it."""
    _compare(name, "".join(_block(head, shown) for head, shown in pages))


def _block(head: str, shown: str) -> str:
    return f"$ {head}\n{masked(shown)}\n\n"


def _compare(name: str, now: str) -> None:
    path = HERE / f"{name}.txt"
    if WRITING:
        path.write_text(now)
    assert now == path.read_text(), "read what changed; if it is right: python -m tests.reports"
