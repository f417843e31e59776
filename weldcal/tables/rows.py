"""The row of each kind of record.

Invariant: what several kinds share is made in `columns`; a kind that is not in
`ROWS` makes no row.
"""

from __future__ import annotations

from weldcal.tables import listed_rows, record_rows, site_rows, work_rows
from weldcal.tables.columns import Maker

ROWS: dict[str, Maker] = {
    **listed_rows.ROWS,
    **work_rows.ROWS,
    **site_rows.ROWS,
    **record_rows.ROWS,
}
