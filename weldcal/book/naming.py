"""Which machine and sheet a name means: in this book, and in a knowledge file.

Invariant: one rule answers for both (`weldcal.rules.same_thing`): what this book holds to be one
thing is one, what it holds to be two is two, and a name of two things leads to neither.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book.core import Service
from weldcal.records.fields import same_name
from weldcal.row_types.listed import JobRow, SheetRow
from weldcal.rules.same_thing import Meant, meant
from weldcal.views.knowledge import FirmNames

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.calibration.keys import Who
    from weldcal.log.knowledge import KnowledgeRead

THINGS = {"machine": "machines", "sheet": "sheets"}


class NamesThere(Struct, frozen=True):
    """This job's names in a file.

    Attributes:
        who: by the keys of the file.
        meant: for machine and sheet, which thing each name means.
    """

    who: Who
    meant: dict[str, dict[str, Meant]]

    def shared(self, what: str) -> dict[str, int]:
        """Of how many things each name is that leads to none for that reason.

        Args:
            what: machine or sheet.
        """
        return {name: one.shared for name, one in self.meant[what].items() if one.shared}


class Naming(Service):
    """Names of machines and sheets, as keys of what they stand for."""

    _reader: JobReader
    _firm: Firm

    def on_job(self, job: str) -> Who:
        """A job's machines and sheets by this book's keys.

        Args:
            job: its id.
        """
        from weldcal.calibration.keys import SheetKey, Who

        called = {what: self._called(what) for what in THINGS}
        machines = self._reader.column(str, "SELECT name FROM machines WHERE job = ?", (job,))
        return Who(
            {name: called["machine"][job, same_name(name)] for name in machines},
            {
                r["name"]: SheetKey(called["sheet"][job, same_name(r["name"])], class_of(r))
                for r in self._sheets_of(job)
            },
            other=job,
        )

    def everyones(self) -> FirmNames:
        """What every job of this book calls its machines and sheets, those that taught nothing
        among them: a name is of two things also where one of them was never used."""
        sheets = self._reader.select(SheetRow, "SELECT * FROM sheets")
        jobs = self._reader.select(JobRow, "SELECT * FROM jobs ORDER BY tick, device")
        return FirmNames(
            {what: self._called(what) for what in THINGS},
            frozenset(filter(None, map(class_of, sheets))),
            {row["id"]: row["name"] for row in jobs},
        )

    def shared(self, what: str, name: str) -> int:
        """Of how many things of this book a name is; 0 where it is of one.

        Args:
            what: machine or sheet.
            name: as this job lists it.
        """
        called = self._called(what)
        count = len({key for (_job, other), key in called.items() if other == same_name(name)})
        return count if count > 1 else 0

    def in_file(self, file: KnowledgeRead) -> NamesThere:
        """What this job's names mean in a knowledge file.

        Args:
            file: the file.
        """
        from weldcal.calibration.keys import SheetKey, Who

        sheets = {row["name"]: class_of(row) for row in self._sheets_of(self._reader.job.id)}
        machines = self._meant(file, "machine", self._reader.names_in("machines"))
        these = self._meant(file, "sheet", list(sheets))
        return NamesThere(
            Who(
                {n: m.key or file.new_key("machine", n) for n, m in machines.items()},
                {
                    n: SheetKey(m.key or file.new_key("sheet", n), _class_key(file, sheets[n]))
                    for n, m in these.items()
                },
            ),
            {"machine": machines, "sheet": these},
        )

    def _meant(self, file: KnowledgeRead, what: str, names: list[str]) -> dict[str, Meant]:
        """Which thing of a file each name of this job means."""
        groups, job = self._firm.groups(what), self._reader.job.id
        there = {key: file.key_on(what, *key) for key in groups}
        found = {}
        for name in names:
            mine = groups[job, same_name(name)]
            known_as = {at for key, at in there.items() if at and groups[key] == mine}
            others = {at for key, at in there.items() if at and groups[key] != mine}
            found[name] = meant(known_as, others, set(file.keys_of(what, name)))
        return found

    def _called(self, what: str) -> dict[tuple[str, str], str]:
        """The key of what each job's folded name stands for."""
        return {key: f"{what[0]}{group}" for key, group in self._firm.groups(what).items()}

    def _sheets_of(self, job: str) -> list[SheetRow]:
        return self._reader.select(SheetRow, "SELECT * FROM sheets WHERE job = ?", (job,))


def class_of(sheet: SheetRow) -> str:
    """The declared class of a sheet: its description and thickness; "" where nothing is.

    Args:
        sheet: its row.
    """
    thickness = sheet["thickness_mm"]
    parts = [same_name(sheet["description"] or ""), f"{thickness:.1f}" if thickness else ""]
    return "|".join(parts) if any(parts) else ""


def _class_key(file: KnowledgeRead, name: str) -> str:
    """The key of a class in a file; "" for none."""
    return next(iter(file.keys_of("class", name)), file.new_key("class", name))
