"""What lies beside the dossier: every finding and every seam, as CSV with SI units in the names.

Invariant: a row here says what the table of the book says, and no cell is a
formula to a spreadsheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO

from weldcal.csv_file import write_csv
from weldcal.long_work import atomic_write
from weldcal.row_types.work import FindingRow
from weldcal.views.dossier import Dossier

FINDINGS = (
    "name",
    "seam",
    "kind",
    "start_m",
    "end_m",
    "how",
    "depth_mm",
    "seen_local",
    "seen_by",
    "entered_by",
    "entered_utc",
    "late_h",
    "instrument",
    "flags",
    "note",
    "photos",
    "id",
    "device",
)
SEAMS = (
    "name",
    "kind",
    "lap",
    "length_m",
    "state",
    "flags",
    "welded_m",
    "probed_m",
    "unprobed",
    "faults",
    "fault_m",
    "open",
    "mended_unprobed",
    "mends",
    "samples",
    "runs",
    "walks",
)


def names(base: Path) -> tuple[Path, Path]:
    """The files of findings and of seams."""
    return base.with_name(f"{base.name}-findings.csv"), base.with_name(f"{base.name}-seams.csv")


def write(
    base: Path, d: Dossier, findings: Iterable[FindingRow], opened: Callable[[Path], BinaryIO]
) -> list[Path]:
    """Write both files.

    Args:
        opened: makes a file of a name.

    Raises:
        OSError: a file cannot be written.
    """
    findings_file, seams = names(base)
    write_csv(opened(findings_file), FINDINGS, findings)
    write_csv(opened(seams), SEAMS, _seams(d))
    return [findings_file, seams]


def write_tables(base: Path, tables: Mapping[str, Sequence[Mapping[str, object]]]) -> list[Path]:
    """Write each table with rows as BASE-NAME.csv.

    Raises:
        OSError: a file cannot be written.
    """
    written = []
    for name, rows in tables.items():
        path = base.with_name(f"{base.name}-{name}.csv")
        with atomic_write(path) as file:
            write_csv(file, list(rows[0]) if rows else [], rows)
        written.append(path)
    return written


def _seams(d: Dossier) -> Iterator[dict[str, object]]:
    for s in d.seams:
        yield {
            "name": s.name,
            "kind": s.kind,
            "lap": s.lap,
            "length_m": s.length_m,
            "state": s.state.state,
            "flags": "; ".join(s.flags),
            "welded_m": s.state.welded_m,
            "probed_m": s.state.probed_m,
            "unprobed": "; ".join(f"{a:.4f}-{b:.4f}" for a, b in s.state.unprobed),
            "faults": s.faults,
            "fault_m": s.fault_m,
            "open": "; ".join(s.state.open),
            "mended_unprobed": "; ".join(s.state.mended),
            "mends": s.mends,
            "samples": s.samples,
            "runs": s.runs,
            "walks": s.walks,
        }
