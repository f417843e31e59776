"""Entry point of the `weldcal` command.

Invariant: `weldcal` alone asks its first question without waiting for typer.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import importlib
import io
import sys
from typing import Any

from weldcal import settings


def run() -> None:
    """Open the day where nothing was typed after `weldcal`; else run the command."""
    gc.set_threshold(100_000)  # a command lives seconds, and builds many small things
    _load_msgspec()
    atexit.register(gc.freeze)  # what goes with the process need not be searched for circles
    if len(sys.argv) > 1 or settings.completing() or settings.odd_screen():
        from weldcal.cli.main import run as command

        command()
    sys.exit(_alone())


def _load_msgspec() -> None:
    """Load msgspec without typing_extensions, which it asks first for what typing has had since 3.11.

    Where that is not found it takes typing's own, as it says. Reading it is a fortieth of a recording.
    """
    if "typing_extensions" in sys.modules:
        return
    sys.modules["typing_extensions"] = None  # type: ignore[assignment]  # found by nobody
    importlib.import_module("msgspec")
    del sys.modules["typing_extensions"]


def _alone() -> int:
    from weldcal.cli.guide import DayBook, open_day

    plain_streams()
    try:
        return open_day(DayBook(settings.book_path()))
    except Exception as error:
        from weldcal.cli.main import guarded

        refusal = error

        def again() -> int:
            raise refusal

        return guarded(again)


def plain_streams() -> None:
    """Never stop at a sign the terminal cannot show, or at bytes that are no text."""
    for stream in (sys.stdout, sys.stderr):
        _reconfigure(stream, errors="replace" if settings.knows_all(stream) else _in_ascii())
    if settings.knows_all(sys.stdin):
        _reconfigure(sys.stdin, errors="surrogateescape")
    else:  # what is typed is kept as typed, however little the locale knows
        _reconfigure(sys.stdin, encoding="utf-8", errors="surrogateescape")


def _reconfigure(stream: Any, **options: str) -> None:
    change = getattr(stream, "reconfigure", None)
    if change is not None:
        with contextlib.suppress(io.UnsupportedOperation):  # lines were read before us
            change(**options)


def _in_ascii() -> str:
    from weldcal.cli import stand_ins

    return stand_ins.NAME
