"""What a seal on paper says of the record as it stands now."""

from __future__ import annotations

from typing import TypedDict

from weldcal.views.rows import DeviceHead


class CorrectedSince(TypedDict):
    """Something sealed that was corrected or taken back since."""

    of: str
    path: str
    by: str
    at: str


class Signed(TypedDict, total=False):
    """By which key a seal is signed, and its signature; neither where nobody signed."""

    key: str | None
    signature: str | None


class Sealed(Signed):
    """A seal, and what came since.

    `ends` are device, entry and time of the last entries now; `clocks_back` counts clocks that
    went back within what was sealed.
    """

    entry: str
    at: str
    name: str
    label: str
    entries: int
    heads: list[DeviceHead]
    entries_since: int
    corrected_since: int
    corrected: list[CorrectedSince]
    ends: list[list[str | int]]
    clocks_back: int
