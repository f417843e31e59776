"""Where things live and what the environment asks for.

Invariant: every environment variable and default path of the program is read here.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

# Where zones are, as Python's own builds for Debian and macOS have it. Unsaid, zoneinfo asks
# sysconfig for the same, a twentieth of a recording. Where nothing is found, tzdata serves.
os.environ.setdefault(
    "PYTHONTZPATH", "/usr/share/zoneinfo:/usr/lib/zoneinfo:/usr/share/lib/zoneinfo:/etc/zoneinfo"
)


def path_of(text: str) -> Path:
    """A path as typed; `~` is the user's folder where there is such a user."""
    try:
        return Path(text).expanduser()
    except RuntimeError:
        return Path(text)


def book_path(given: str | None = None) -> Path:
    """Return the book's path: `given`, else `WELDCAL_BOOK`, else the user's data folder."""
    named = given or os.environ.get("WELDCAL_BOOK")
    if named:
        return path_of(named)
    from platformdirs import user_data_path

    return user_data_path("weldcal", appauthor=False) / "book.sqlite"


def job_name() -> str | None:
    """The job asked for by `WELDCAL_JOB`."""
    return os.environ.get("WELDCAL_JOB") or None


def completing() -> bool:
    """Whether a shell asks what Tab may offer."""
    return bool(os.environ.get("_WELDCAL_COMPLETE"))


def person() -> str | None:
    """Who is typing, by `WELDCAL_BY`."""
    return os.environ.get("WELDCAL_BY") or None


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


def local_zone() -> str:
    """The machine's own time zone, by name, as Debian and macOS keep it; else UTC."""
    named = os.environ.get("TZ", "")
    if "/" in named and not named.startswith("/"):
        return named
    parts = str(Path("/etc/localtime").resolve()).split("zoneinfo/")
    return parts[1] if len(parts) == 2 else "UTC"
