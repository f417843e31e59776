"""Where things live and what the environment asks for.

Invariant: every environment variable and default path of the program is read here.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

# Where zones are, as Python's own builds for Debian and macOS have it. Unsaid, zoneinfo asks
# sysconfig for the same, a twentieth of a recording. Where nothing is found, tzdata serves.
os.environ.setdefault(
    "PYTHONTZPATH", "/usr/share/zoneinfo:/usr/lib/zoneinfo:/usr/share/lib/zoneinfo:/etc/zoneinfo"
)


def as_typed(text: str) -> str:
    """`text` from the command line or the environment; UTF-8 where the locale knew only ASCII."""
    if text.isascii():
        return text
    try:
        return os.fsencode(text).decode("utf-8")
    except UnicodeError:  # typed in some other coding, or no bytes to begin with
        return text


def knows_all(stream: Any) -> bool:
    """Whether a stream can carry every sign."""
    return str(getattr(stream, "encoding", None) or "utf-8").lower().startswith("utf")


def _asked(name: str) -> str | None:
    """What the environment says under a name, if anything."""
    value = os.environ.get(name)
    return as_typed(value) if value else None


def path_of(text: str) -> Path:
    """A path as typed; `~` is the user's folder where there is such a user."""
    try:
        os.fsencode(text)
    except UnicodeError:  # a locale that knows only ASCII: the same bytes all the same
        text = os.fsdecode(text.encode("utf-8", "surrogateescape"))
    try:
        return Path(text).expanduser()
    except RuntimeError:
        return Path(text)


def book_path(given: str | None = None) -> Path:
    """Return the book's path: `given`, else `WELDCAL_BOOK`, else the user's data folder."""
    named = given or _asked("WELDCAL_BOOK")
    if named:
        return path_of(named)
    return _data_folder() / "book.sqlite"


def office_path(given: str | None = None) -> Path:
    """Return the office's folder: `given`, else `WELDCAL_OFFICE`, else in the user's data folder."""
    named = given or _asked("WELDCAL_OFFICE")
    return path_of(named) if named else _data_folder() / "office"


def lake_url(given: str | None = None) -> str:
    """Where the office's tables are: `given`, else `WELDCAL_LAKE`, else beside its books.

    A folder, or any path that fsspec knows, like s3://bucket/lake.
    """
    named = given or _asked("WELDCAL_LAKE")
    if not named:
        return str(office_path() / "lake")
    return named if "://" in named else str(path_of(named))


def _data_folder() -> Path:
    from platformdirs import user_data_path

    return user_data_path("weldcal")


def state_folder() -> Path:
    """The user's folder for what is kept of earlier runs."""
    from platformdirs import user_state_path

    return user_state_path("weldcal")


def job_name() -> str | None:
    """The job asked for by `WELDCAL_JOB`."""
    return _asked("WELDCAL_JOB")


def completing() -> str:
    """Which shell asks what Tab may offer, like complete_bash; "" where none does."""
    return os.environ.get("_WELDCAL_COMPLETE", "")


def person() -> str | None:
    """Who is typing, by `WELDCAL_BY`."""
    return _asked("WELDCAL_BY")


def reader() -> str:
    """Language and region from `WELDCAL_LANG`, else the environment's locale: `es_US`, `es`, `en`."""
    for name in ("WELDCAL_LANG", "LC_ALL", "LC_MESSAGES", "LANG"):
        value = os.environ.get(name)
        if value:
            found = re.match(r"([A-Za-z]{2,3})(?:[_-]([A-Za-z]{2}|\d{3})\b)?", value)
            if not found or value.split(".")[0] in ("C", "POSIX"):
                return "en"
            return "_".join(part for part in (found[1].lower(), (found[2] or "").upper()) if part)
    return "en"


def language() -> str:
    """The language alone, of `reader`."""
    return reader().partition("_")[0]


# How the screen is written: as usual; without colour and grey; a sentence a line for a screen reader.
SCREENS = ("plain", "high-contrast", "linear")


def screen() -> str:
    """How the screen is written: by `--screen` or `WELDCAL_SCREEN`, else as kept on this device."""
    asked = os.environ.get("WELDCAL_SCREEN") or _kept_screen()
    return asked if asked in SCREENS else SCREENS[0]


def dumb_terminal() -> bool:
    """Whether the terminal can do no more than print."""
    return os.environ.get("TERM", "dumb") in ("dumb", "unknown", "")


def linear() -> bool:
    """Whether sentences are wanted in place of tables and drawings; into a pipe, never."""
    return sys.stdout.isatty() and screen() == "linear"


def odd_screen() -> str | None:
    """What `WELDCAL_SCREEN` asks for, where there is none such."""
    asked = os.environ.get("WELDCAL_SCREEN")
    return asked if asked and asked not in SCREENS else None


def use_screen(name: str) -> None:
    """Write so until the command ends, and in commands it calls."""
    os.environ["WELDCAL_SCREEN"] = name


@contextlib.contextmanager
def screen_restored() -> Iterator[None]:
    """Whatever is asked for within, ends with it."""
    before = os.environ.get("WELDCAL_SCREEN")
    try:
        yield
    finally:
        os.environ.pop("WELDCAL_SCREEN", None)
        if before is not None:
            os.environ["WELDCAL_SCREEN"] = before


def screen_file() -> Path:
    """Where this device keeps that: with no book, so that the first run has it too."""
    return _data_folder() / "screen"


def _kept_screen() -> str | None:
    try:
        return screen_file().read_text("utf-8").strip()
    except (OSError, ValueError):
        return None


def colourless() -> bool:
    """Whether nobody wants colour: a screen without it, or the environment's word (no-color.org)."""
    return screen() != "plain" or bool(os.environ.get("NO_COLOR"))


def moving() -> bool:
    """Whether a line on the screen may be written over: not for a reader, nor on a plain terminal."""
    return screen() != "linear" and os.environ.get("TERM") != "dumb"


def screen_columns() -> int:
    """How wide the screen is."""
    return max(20, screen_size()[0])


def screen_size() -> tuple[int, int]:
    """How many columns and rows the screen has, however few.

    A terminal knows its own size, whatever LINES and COLUMNS said when the program began.
    """
    with contextlib.suppress(OSError, ValueError):
        here = os.get_terminal_size(sys.stdout.fileno())
        if here.columns and here.lines:
            return here.columns, here.lines
    size = shutil.get_terminal_size((80, 24))
    return size.columns, size.lines


def local_zone() -> str:
    """The machine's own time zone, by name, as Debian and macOS keep it; else UTC."""
    named = os.environ.get("TZ", "")
    if "/" in named and not named.startswith("/"):
        return named
    parts = str(Path("/etc/localtime").resolve()).split("zoneinfo/")
    return parts[1] if len(parts) == 2 else "UTC"
