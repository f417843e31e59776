"""Runs lines of a day in this process, in the language of the environment: one JSON row a line.

    python -m tests.language.speak BOOK [CATALOGS] < lines
    python -m tests.language.speak BOOK screen < lines

With CATALOGS, messages come from that folder and numbers wear a mark of no real locale;
with `screen`, a terminal is there to be written on.
"""

from __future__ import annotations

import contextlib
import io
import json
import shlex
import sys
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from weldcal import words

MARK = "·"


class Screen(io.StringIO):
    """What a terminal is to a program that asks."""

    def isatty(self) -> bool:
        return True


def main(book: str, catalogs: str | None = None) -> None:
    """Each line `HH:MM words`; its exit code and what it printed."""
    paper = Screen if catalogs == "screen" else io.StringIO
    if catalogs and paper is not Screen:
        words.LOCALE_DIR = Path(catalogs)
        words.decimal_mark = lambda: MARK
        words.locale = lambda: "ru"  # days in letters that are not Latin
    from weldcal.cli.main import main as weldcal

    day = datetime(2026, 6, 1, tzinfo=ZoneInfo("America/Denver"))
    for line in filter(None, map(str.strip, sys.stdin)):
        time, _, typed = line.partition(" ")
        hour, minute = map(int, time.split(":"))
        moment = day.replace(hour=hour, minute=minute).astimezone(UTC)
        out, err = paper(), paper()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = weldcal(["--book", book, *shlex.split(typed)], clock=lambda now=moment: now)
        print(
            json.dumps({"line": typed, "code": code, "out": out.getvalue(), "err": err.getvalue()})
        )


if __name__ == "__main__":
    main(*sys.argv[1:])
