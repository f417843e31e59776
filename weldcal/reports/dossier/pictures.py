"""Photos of findings, mends and strips: small in the page, full size beside it under their hashes.

Invariant: a photo is shown only where a finding, a mend or a strip that counts names
it and its bytes are those the record names; the small picture is made anew, so
nothing a phone wrote beside the picture (place, owner) is in it.
"""

from __future__ import annotations

import base64
import io
import json
import re
import warnings
from collections.abc import Callable, Iterable
from pathlib import Path
from urllib.parse import quote

from msgspec import Struct

from weldcal.long_work import Progress, atomic_write, with_progress
from weldcal.reports import show
from weldcal.reports.dossier.document import PhotoBlock
from weldcal.views.rows import JudgedStrip, MarkedFinding, MarkedMend
from weldcal.views.trace import FindingEvent, MendEvent, SeamEvent
from weldcal.words import _

_WIDEST, _QUALITY = 360, 62
# Small pictures in one file; beyond, the full sizes beside it.
_MOST = 400
_ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}
_OURS = re.compile(r"[0-9a-f]{64}\.(jpg|png|webp|heic)")


class Small(Struct, frozen=True):
    """A small picture: JPEG in base64 with its size, none where it cannot be read; and the full size's name."""

    file: str
    jpeg: str
    wide: int
    high: int


class Album(Struct, frozen=True):
    """Small pictures by SHA-256, and the folder beside the page that holds the full sizes."""

    folder: str
    pictures: dict[str, Small]


def folder_of(base: Path) -> Path:
    """The folder beside the files of this name."""
    return base.with_name(f"{base.name}-photos")


def gather(
    base: Path, names: Iterable[str], read: Callable[[str], bytes | None], on_progress: Progress
) -> Album:
    """Write the full sizes beside, and make the small ones; what an earlier making left and no longer counts goes.

    Args:
        base: the files' name without ending.
        names: SHA-256 of the photos that count.
        read: a photo's bytes, None where they are not those the record names.
        on_progress: called for each.

    Raises:
        OSError: a file cannot be written.
    """
    place = folder_of(base)
    found: dict[str, Small] = {}
    for name in with_progress(names, _("photos"), 0, on_progress):
        data = read(name)
        if data is None:
            continue
        small = _small(name, data, wanted=len(found) < _MOST)
        found[name] = small
        place.mkdir(mode=0o700, exist_ok=True)
        with atomic_write(place / small.file) as file:
            file.write(data)
    kept = {small.file for small in found.values()}
    for old in place.iterdir() if place.is_dir() else ():
        if _OURS.fullmatch(old.name) and old.name not in kept:
            old.unlink()
    return Album(place.name, found)


def _small(name: str, data: bytes, *, wanted: bool) -> Small:
    """A picture made small; a kind that cannot be read here has its full size only."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=list(_ENDINGS)) as picture:
                file = f"{name}.{_ENDINGS[str(picture.format)]}"
                if not wanted:
                    return Small(file, "", 0, 0)
                picture.draft("RGB", (2 * _WIDEST, 2 * _WIDEST))
                upright = ImageOps.exif_transpose(picture).convert("RGB")
                upright.thumbnail((_WIDEST, _WIDEST))
                made = io.BytesIO()
                upright.save(made, "JPEG", quality=_QUALITY)
    except Exception:  # whatever a stranger's picture does to its reader
        return Small(f"{name}.{_ending(data)}", "", 0, 0)
    return Small(file, base64.b64encode(made.getvalue()).decode(), *upright.size)


def _ending(data: bytes) -> str:
    if data.startswith(b"\x89PNG"):
        return "png"
    return "jpg" if data.startswith(b"\xff\xd8") else "webp" if data[8:12] == b"WEBP" else "heic"


def of_events(events: Iterable[SeamEvent], album: Album, units: str) -> list[PhotoBlock]:
    """The photos of a seam's findings and mends, in the order they were seen."""
    found = []
    for event in events:
        row: MarkedFinding | MarkedMend
        match event:
            case FindingEvent(row=finding):
                row, kind = finding, _(finding["kind"])
            case MendEvent(row=mend):
                row, kind = mend, _("mend")
            case _:
                continue
        where = show.stretches(((row["start_m"], row["end_m"]),), units)
        for n, name in enumerate(json.loads(row["photos"]), 1):
            caption = _(
                "{name}, photo {n}: {kind}, {where}, {at}",
                name=row["name"],
                n=n,
                kind=kind,
                where=where,
                at=show.clock(row["seen_local"]),
            )
            found.append(_photo(caption, name, album))
    return found


def of_strips(strips: Iterable[JudgedStrip], album: Album) -> list[PhotoBlock]:
    """The photos of test strips, in the order the strips were seen."""
    return [
        _photo(
            _(
                "{name}, photo {n}: test strip, {at}",
                name=row["name"],
                n=n,
                at=show.clock(row["seen_local"]),
            ),
            name,
            album,
        )
        for row in strips
        for n, name in enumerate(json.loads(row["photos"]), 1)
    ]


def _photo(caption: str, name: str, album: Album) -> PhotoBlock:
    """A photo with its words; which of it can be shown is said."""
    small = album.pictures.get(name)
    if small is None:
        caption += "; " + _("the photo is not beside the book as it was recorded")
        return PhotoBlock(caption, name, "", "", 0, 0)
    link = quote(f"{album.folder}/{small.file}")
    if not small.jpeg:
        caption += "; " + _("full size only")
    return PhotoBlock(caption, name, link, small.jpeg, small.wide, small.high)
