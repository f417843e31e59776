"""Two corrections of one value, made on devices that did not know of each other."""

from __future__ import annotations

from msgspec import Struct


class Clash(Struct, frozen=True):
    """A value corrected apart and not settled since.

    Attributes:
        name: of the record: S3, or a seam's.
        path: of the value within it, as in `records.amendable`.
        said: (new value as JSON, who), in the record's order; the last one counts.
    """

    name: str
    path: str
    said: tuple[tuple[str, str], ...]
