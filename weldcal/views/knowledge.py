"""What a page shows of a knowledge file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from weldcal.calibration.knowledge import Knowledge


class FirmNames(Struct, frozen=True):
    """What the jobs of a book call their machines and sheets, and the classes of its sheets.

    Attributes:
        called: for `machine` and `sheet`, the key of what a job's folded name stands for.
        classes: the classes that sheets are declared to be of.
        jobs: names of the jobs, by their ids.
    """

    called: Mapping[str, Mapping[tuple[str, str], str]]
    classes: frozenset[str]
    jobs: Mapping[str, str]

    def named(self, what: str) -> dict[str, dict[str, str]]:
        """For each folded name, the keys of all that it stands for, each with the first job that
        calls it so.

        Args:
            what: machine or sheet.
        """
        found: dict[str, dict[str, str]] = {}
        for (job, name), key in self.called.get(what, {}).items():
            found.setdefault(name, {}).setdefault(key, job)
        return found

    def shared(self, what: str) -> dict[str, list[str]]:
        """Names that stand for more than one thing, each with a job of every one of them.

        Args:
            what: machine or sheet.
        """
        return {
            name: [self.jobs[job] for job in keys.values()]
            for name, keys in self.named(what).items()
            if len(keys) > 1
        }


class MetBy(Struct, frozen=True):
    """What a file knows of this job's machines and sheets, by name.

    Attributes:
        counts: for `machines` and `sheets`, on how many of its jobs it met each.
        shared: of how many things each is the name, where the name leads to none for that
            reason.
        by_name: those that it knows by the name alone: no job of this book was among its jobs.
        own: this job is one of those that taught it.
    """

    counts: dict[str, dict[str, int]]
    shared: dict[str, dict[str, int]]
    by_name: dict[str, list[str]]
    own: bool


@dataclass(frozen=True, slots=True)
class KnowledgeFile:
    """A knowledge file: its text, what it holds, and who signed it (hex, or "").

    Attributes:
        names: for machine, sheet and class: the hash of a name -> the keys of all it stands for.
        called: for machine and sheet: the hash of a job's name for one -> its key.
    """

    text: str
    form: int
    knowledge: Knowledge
    made: str
    program: str
    digest: str
    signed_by: str
    salt: str
    names: Mapping[str, Mapping[str, tuple[str, ...]]]
    called: Mapping[str, Mapping[str, str]]
