"""What the office's pages show."""

from __future__ import annotations

from msgspec import Struct


class Job(Struct, frozen=True):
    """A job as a pack names it; `people` are those it lists or who typed."""

    id: str
    name: str
    people: tuple[str, ...]


class Taken(Struct, frozen=True):
    """A pack taken in.

    Attributes:
        file: its name in the folder.
        book: the name of the office's book that holds it.
        new, known, photos: entries taken in, those that were here already, photos taken in.
        forks: places that two entries take.
    """

    file: str
    book: str
    new: int
    known: int
    photos: int
    forks: int


class Refused(Struct, frozen=True):
    """A file of which nothing was taken in, and why."""

    file: str
    why: str


class Stranger(Struct, frozen=True):
    """A whole pack in which nothing is known here: no job, no device, no person."""

    file: str
    jobs: tuple[Job, ...]
    people: tuple[str, ...]


class Group(Struct, frozen=True):
    """Books that share people, and share nobody with any other."""

    books: tuple[str, ...]
    jobs: tuple[str, ...]
    people: tuple[str, ...]


class CameIn(Struct, frozen=True):
    """What a folder of packs came to.

    Attributes:
        before: packs of the folder that were here already.
        missing: (device, first, last) entries that another pack must bring.
        groups: told where the office was empty before: more than one may mean two firms.
        jobs: how many the office holds now.
    """

    taken: tuple[Taken, ...]
    before: int
    refused: tuple[Refused, ...]
    strangers: tuple[Stranger, ...]
    missing: tuple[tuple[str, int, int], ...]
    groups: tuple[Group, ...]
    jobs: int


class Filled(Struct, frozen=True):
    """What filling the lake came to, in jobs.

    Attributes:
        written, unchanged: written anew, and left as they were.
        mended: of the first, those that were not whole.
        jobs: in the lake now.
    """

    written: int
    unchanged: int
    mended: int
    jobs: int
