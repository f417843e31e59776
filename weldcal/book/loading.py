"""Other people's files into the book: all rows, or none unless told otherwise.

Invariant: every row is either recorded or refused with its row, column, value
and what would be accepted; a load is one transaction.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from weldcal.book.operator import Operator
from weldcal.errors import LoadRefused
from weldcal.log import chain
from weldcal.long_work import Beat, counted, silent
from weldcal.records.codec import encode
from weldcal.records.fields import same_name
from weldcal.words import _, plural

if TYPE_CHECKING:
    from weldcal.book.writing import Writer
    from weldcal.intake.probes import WalkRow
    from weldcal.intake.strips import Refusal


# What a record said -> ids of the records that said it.
Here = defaultdict[bytes, list[str]]


class LoadDone(Struct, frozen=True):
    """What a load came to: names given, refusals, columns not known, how much was here already."""

    names: tuple[str, ...]
    refused: tuple[Refusal, ...]
    ignored: tuple[str, ...]
    known: int = 0

    def as_dict(self) -> dict[str, Any]:
        """As one JSON document."""
        return {
            "recorded": list(self.names),
            "refused": [
                {"row": r.row, "column": r.column, "value": r.value, "why": r.why}
                for r in self.refused
            ],
            "columns_not_known": list(self.ignored),
            "recorded_before": self.known,
        }


class Loading(Operator):
    """The verb `load`."""

    def load_strips(
        self,
        file: Path,
        *,
        keep_good: bool = False,
        machine: str | None = None,
        sheet: str | None = None,
        lap: str = "selvage",
        day_first: bool = False,
        by: str | None = None,
        beat: Beat = silent,
    ) -> LoadDone:
        """Record the strips of a crew's CSV file; what is here already is left alone.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
            FileTrouble: the file cannot be read as a table of strips at all.
        """
        from weldcal.intake.strips import Defaults, read_strips

        typist = self.typist(self.person(by))
        dials = self.rows("SELECT name, dial FROM machines WHERE job = ?", (self.job.id,))
        defaults = Defaults(
            units=self.job.units,
            now=self.now(),
            by=self.person(by),
            machine=self._only("machines", machine),
            sheet=self._only("sheets", sheet),
            lap=lap,
            day_first=day_first,
            dial_units={same_name(row["name"]): row["dial"] for row in dials},
        )
        loaded = read_strips(file, defaults, beat)
        bad = len({refusal.row for refusal in loaded.refused})
        if loaded.refused and not keep_good:
            raise LoadRefused(
                file=file.name,
                bad=bad,
                rows=loaded.rows,
                good=len(loaded.strips),
                first=_first(loaded.refused),
            )
        names = []
        with self.writing(typist) as writer:
            here = self._as_recorded("strip")
            told = counted(loaded.strips, _("strips"), len(loaded.strips), beat)
            for _row, read in told:
                strip = replace(read, seen=replace(read.seen, by=self.person(read.seen.by)))
                said = _said(encode(strip))
                if here[said]:  # two alike in the file are two strips
                    here[said].pop()
                    continue
                named = replace(strip, name=writer.next_name("S", self.job.id))
                writer.add("strip", named, job=self.job.id)
                names.append(named.name)
        known = len(loaded.strips) - len(names)
        return LoadDone(tuple(names), loaded.refused, loaded.ignored, known)

    def _as_recorded(self, kind: str) -> Here:
        """Ids by what records of this job said when recorded, corrected since or not; none taken back."""
        rows = self.rows(
            "SELECT body, hash FROM entries WHERE job = ? AND kind = ? "
            "AND id NOT IN (SELECT id FROM withdrawn) ORDER BY tick DESC",
            (self.job.id, kind),
        )
        here: Here = defaultdict(list)
        for entry in chain.readable([(row["body"], row["hash"]) for row in rows]):
            here[_said(entry.payload)].append(entry.id)
        return here

    def load_probes(
        self,
        file: Path,
        *,
        keep_good: bool = False,
        day_first: bool = False,
        by: str | None = None,
        beat: Beat = silent,
    ) -> LoadDone:
        """Record the walks and findings of a typed-up probe sheet; what is here already is left alone.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
            FileTrouble: the file cannot be read as a probe sheet at all.
        """
        from weldcal.intake.probes import read_probes

        who = self.person(by)
        usual = day_first or self.job.units == "si"
        loaded = read_probes(file, self.job.units, self.now(), who, usual, beat)
        bad = len({refusal.row for refusal in loaded.refused})
        if loaded.refused and not keep_good:
            raise LoadRefused(
                file=file.name,
                bad=bad,
                rows=loaded.rows,
                good=len(loaded.walks),
                first=_first(loaded.refused),
            )
        names, known = [], 0
        with self.writing(self.typist(who)) as writer:
            walks, findings = self._as_recorded("walk"), self._as_recorded("finding")
            for part in counted(loaded.walks, _("walks"), len(loaded.walks), beat):
                made = self._load_walk(writer, part, walks, findings)
                names += made
                known += not made
        return LoadDone(tuple(names), loaded.refused, loaded.ignored, known)

    def _load_walk(self, writer: Writer, part: WalkRow, walks: Here, findings: Here) -> list[str]:
        """Record a walk of a sheet and what it found, but for what is here already."""
        seen = replace(part.walk.seen, by=self.person(part.walk.seen.by))
        walk = replace(part.walk, seen=seen)
        names = []
        if here := walks[_said(encode(walk))]:
            walk_id = here.pop()
        else:
            names.append(writer.next_name("W", self.job.id))
            walk_id = writer.add("walk", replace(walk, name=names[0]), job=self.job.id)
        for one in part.found:
            finding = replace(one, seen=seen, walk=walk_id)
            if there := findings[_said(encode(finding))]:
                there.pop()
                continue
            names.append(writer.next_name("F", self.job.id))
            writer.add("finding", replace(finding, name=names[-1]), job=self.job.id)
        return names

    def dial_units(self) -> set[str]:
        """What the dials of the job's machines show."""
        rows = self.rows("SELECT dial FROM machines WHERE job = ?", (self.job.id,))
        return {row["dial"] for row in rows}

    def _only(self, table: str, given: str | None) -> str | None:
        """The name given, as listed; else the only one listed; else None: rows must say."""
        names = [
            r["name"] for r in self.rows(f"SELECT name FROM {table} WHERE job = ?", (self.job.id,))
        ]
        if given is not None:
            return next((name for name in names if same_name(name) == same_name(given)), given)
        return names[0] if len(names) == 1 else None


def _said(payload: dict[str, Any]) -> bytes:
    """All a record says but its name and its place in a file."""
    kept = {key: value for key, value in payload.items() if key not in ("name", "source")}
    return msgspec.json.encode(kept, order="sorted")


def _first(refused: tuple[Refusal, ...], most: int = 20) -> str:
    """The refusals, a line each, as many as a screen holds."""
    lines = [refusal.sentence() for refusal in refused[:most]]
    more = len(refused) - most
    if more > 0:
        lines.append(plural("and {n} more", "and {n} more", more))
    return "".join(f"\n- {line}" for line in lines)
