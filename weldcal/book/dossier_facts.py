"""What the dossier, the evening page and the history hold: plain values, and how rows become them.

Invariant: nothing here reads a book; lengths are metres, times ISO 8601, names
as they are or removed by `PeopleNames`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, TypedDict, TypeVar, cast

from weldcal.book.faulting import SAMPLE
from weldcal.book.seam_rows import WholeRows
from weldcal.book.seams import SeamVerdict, name_of
from weldcal.quality.coverage import ordered, total
from weldcal.quality.seam import SeamState
from weldcal.quantities import Quantity
from weldcal.row_types.listed import SeamRow
from weldcal.rules.on_plan import ends as ends_of
from weldcal.views.dossier import Counted, Mark, SeamFacts
from weldcal.words import _

if TYPE_CHECKING:
    from typing_extensions import ReadOnly

_FREE_TEXT = (
    "note",
    "said",
    "why",
    "done",
    "method",
    "tool",
    "place",
    "label",
    "how",
    "description",
    "watch_found",
    "what",
)


R = TypeVar("R", bound=Mapping[str, object])


class PeopleNames:
    """Names as they are, or "person 1", "person 2" in the order met."""

    def __init__(self, shown: bool) -> None:
        self.shown = shown
        self._known: dict[str, str] = {}

    def __call__(self, name: str) -> str:
        """A name as it is to be shown."""
        if self.shown or not name:
            return name
        if name not in self._known:
            self._known[name] = _("person {n}", n=len(self._known) + 1)
        return self._known[name]

    def all(self, rows: Iterable[R]) -> list[R]:
        """Rows without names.

        Args:
            rows: of any table.
        """
        return [self.mask(row) for row in rows]

    def mask(self, row: R) -> R:
        """A row without names; names repeated in free text are removed as well.

        Args:
            row: of any table.
        """
        if self.shown:
            return row
        masked = {
            k: self(str(v)) if v and (k.endswith("_by") or k in ("to", "who")) else v
            for k, v in row.items()
        }
        if row.get("path") == "seen.by":
            for k in ("old", "new"):
                masked[k] = json.dumps(self(json.loads(str(row[k]))), ensure_ascii=False)
        for k in _FREE_TEXT:
            if isinstance(text := row.get(k), str):
                masked[k] = self._put_out(text)
        return cast("R", masked)  # the same columns

    def _put_out(self, text: str) -> str:
        for name, put in self._known.items():
            if len(name) > 2:
                text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", put, text)
        return text


_DATED = ("late", "ahead of the clock")


def facts(key: str, seam: SeamRow | None, rows: WholeRows, judged: SeamVerdict) -> SeamFacts:
    """Sum one seam up.

    Args:
        key: the seam's.
        seam: its row; None where nobody listed it.
        rows: what is on it, marked and in the order seen.
        judged: what they were judged to be.
    """
    state, flags = judged.state, judged.flags
    findings = rows.findings
    faults = [f for f in findings if f["kind"] != SAMPLE]
    ever_warned = any(r["warnings"] != "[]" for r in rows.runs)
    odd = bool(findings) or ever_warned or bool({"amended", "conflict"} & set(flags))
    worst = (
        not state.open,
        not state.mended,
        "conflict" not in flags,
        "warned" not in flags,
        "amended" not in flags,
        -len(faults),
    )
    return SeamFacts(
        key=key,
        name=name_of(seam, rows),
        listed=seam is not None,
        kind=seam["kind"] if seam else None,
        lap=seam["lap"] if seam else None,
        length_m=seam["length_m"] if seam else None,
        place=_place(seam),
        at=seam["place"] if seam else None,
        state=state,
        flags=flags,
        disagreements=judged.disagreements,
        runs=len(rows.runs),
        walks=len(rows.walks),
        faults=len(faults),
        fault_m=total(ordered(f["start_m"], f["end_m"]) for f in faults),
        mends=len(rows.mends),
        samples=len(rows.peels),
        marks=tuple(_marks_of(state, rows)),
        urgency=tuple(map(int, worst)) if odd else (),
    )


def _place(seam: SeamRow | None) -> tuple[str | None, float, float, float, float] | None:
    ends = ends_of(seam)
    return (seam["area"], *ends[0], *ends[1]) if seam and ends else None


def _marks_of(state: SeamState, rows: WholeRows) -> Iterator[Mark]:
    for finding in rows.findings:
        name, kind = finding["name"], finding["kind"]
        what = "open" if name in state.open else "mended" if name in state.mended else "closed"
        if kind != SAMPLE or what != "closed":
            yield Mark(what, name, kind, *ordered(finding["start_m"], finding["end_m"]))
    for mend in rows.mends:
        yield Mark("mend", mend["name"], "", *ordered(mend["start_m"], mend["end_m"]))
    for peel in rows.peels:
        if peel["at_m"] is not None:
            yield Mark("sample", peel["name"], "", peel["at_m"], peel["at_m"])


class MarkedAs(TypedDict):
    """The columns of a marked row that are counted."""

    name: ReadOnly[str]
    marks: ReadOnly[list[str]]
    late_h: ReadOnly[float]


def count_marks(marks: dict[str, Counted], table: str, rows: Iterable[MarkedAs]) -> None:
    """Count the marks of rows.

    Args:
        marks: counted so far, by mark; those of the rows are added.
        table: where the rows are.
        rows: marked.
    """
    for row in rows:
        row_marks, columns = list(row["marks"]), _columns(row)
        if columns.get("carried", "{}") not in ("{}", None):
            row_marks.append("conditions carried over")
        for name in row_marks:
            counted = marks.setdefault(name, Counted(names=[]))
            counted.n += 1
            if len(counted.names) < 8:
                counted.names.append(row["name"] or str(columns.get("seam") or table))
            if name in _DATED:
                counted.worst_h = max(counted.worst_h, abs(row["late_h"] or 0.0))


def _columns(row: Mapping[str, object]) -> Mapping[str, object]:
    return row


def si_number(value: Quantity) -> float:
    """The number in mm where it is a width, else as it stands.

    Args:
        value: as typed.
    """
    return value.si("mm") if value.dimension == "length" else float(value.number)
