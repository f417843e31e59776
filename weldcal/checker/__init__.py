"""Two checkers that stand alone, handed out with the dossier: one HTML file, one Python file.

Invariant: neither uses anything of this program; both follow `shared/exchange.md`.
"""

from __future__ import annotations

from importlib.resources import files

NAMES = ("check_record.html", "check_record.py")


def text(name: str) -> bytes:
    """A checker's file."""
    return files(__name__).joinpath(name).read_bytes()
