"""What the doubts read of a job: columns of the tables, by query."""

from __future__ import annotations

from typing import TypedDict


class CutAt(TypedDict):
    """Where on a seam a sample was cut."""

    seam_key: str
    at_m: float


class Found(TypedDict):
    """A finding; `peel` is the id of the sample whose cut it is."""

    id: str
    name: str
    peel: str | None
    seam_key: str


class Typed(TypedDict):
    """A seam as somebody typed it."""

    seam_key: str
    seam: str


class Run(TypedDict):
    """A run: where, when and how it was welded, and when it was finished."""

    id: str
    machine: str | None
    sheet: str | None
    go_ahead: str | None
    by_hand: int
    seam_key: str
    start_m: float
    end_m: float | None
    seen_local: str
    seen_utc: str
    tick: int
    finished_utc: str | None


class Looked(TypedDict):
    """Something that looked at a seam, and when."""

    id: str
    name: str
    seam_key: str
    seen_local: str
    seen_utc: str
    entered_utc: str


class FoundAt(Looked):
    """A finding of the probe, and where."""

    kind: str
    start_m: float
    end_m: float


class Pulled(Looked):
    """A sample, where it was cut and where it parted."""

    at_m: float
    parted: str


class Walked(Looked):
    """A walk, and where and when it began and ended."""

    tick: int
    started_utc: str | None
    start_m: float
    end_m: float


class Bled(Looked):
    """A bleed check, where it was read and what it is judged by."""

    tick: int
    at_m: float
    width_min_mm: float | None
    width_max_mm: float | None
    bubbling: str | None
