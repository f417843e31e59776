"""The row of each derived table: its columns, what they hold, and which may be empty.

Invariant: the tables are made from these; a column with a unit has it in its name (SI).
`list`s and objects are kept as JSON text. A module of rows is imported when one of its rows is
asked for: a recording fills a table or two, and making the rows of all takes as long as SQLite
needs to write them.
"""

from collections.abc import Iterator, Mapping
from importlib import import_module

# Table -> where its row is declared, and its name there.
_ROWS = {
    "jobs": ("listed", "JobRow"),
    "areas": ("listed", "AreaRow"),
    "sheets": ("listed", "SheetRow"),
    "machines": ("listed", "MachineRow"),
    "instruments": ("listed", "InstrumentRow"),
    "people": ("listed", "PersonRow"),
    "limits": ("listed", "LimitRow"),
    "conditions": ("strips", "ConditionsRow"),
    "strips": ("strips", "StripRow"),
    "readings": ("strips", "ReadingRow"),
    "seams": ("listed", "SeamRow"),
    "runs": ("work", "RunRow"),
    "finishes": ("work", "FinishRow"),
    "bleeds": ("work", "BleedRow"),
    "widths": ("work", "WidthRow"),
    "walks": ("work", "WalkRow"),
    "findings": ("work", "FindingRow"),
    "mends": ("work", "MendRow"),
    "peels": ("work", "PeelRow"),
    "advice": ("work", "AdviceRow"),
    "measures": ("machines", "MeasureRow"),
    "causes": ("machines", "CauseRow"),
    "repairs": ("machines", "RepairRow"),
    "hot_work": ("site", "HotWorkRow"),
    "covers": ("site", "CoverRow"),
    "rolls": ("site", "RollRow"),
    "lot_doubts": ("site", "LotDoubtRow"),
    "substrates": ("site", "SubstrateRow"),
    "punch": ("site", "PunchRow"),
    "start_lines": ("site", "StartLineRow"),
    "start_answers": ("site", "StartAnswerRow"),
    "looks": ("site", "LookRow"),
    "openings": ("site", "OpeningRow"),
    "embeddings": ("site", "EmbeddingRow"),
    "norths": ("site", "NorthRow"),
    "draws": ("site", "DrawRow"),
    "sames": ("listed", "SameRow"),
    "leaks": ("site", "LeakRow"),
    "leak_steps": ("site", "LeakStepRow"),
    "seals": ("record", "SealRow"),
    "handed": ("record", "HandedRow"),
    "warnings": ("record", "WarningRow"),
    "amendments": ("record", "AmendmentRow"),
    "withdrawn": ("record", "WithdrawnRow"),
}
_TABLE_OF = {row: table for table, (_module, row) in _ROWS.items()}


class _Rows(Mapping[str, type]):
    """Each table's row."""

    def __getitem__(self, table: str) -> type:
        module, row = _ROWS[table]
        row_class: type = getattr(import_module(f"weldcal.row_types.{module}"), row)
        return row_class

    def __iter__(self) -> Iterator[str]:
        return iter(_ROWS)

    def __len__(self) -> int:
        return len(_ROWS)


TABLES: Mapping[str, type] = _Rows()


def table_of(row: type) -> str:
    """The table of a row.

    Args:
        row: the whole row of a table.
    """
    return _TABLE_OF[row.__name__]
