"""What the dossier tells of the record itself: limits, corrections, entries, days.

Invariant: nothing is judged here; every number is a count of the tables.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from weldcal.book.dossier_facts import si_number
from weldcal.book.limits import limit_defaults
from weldcal.book.on_seams import ON_SEAMS
from weldcal.views.rows import DeviceHead, EntryCount, LimitNow

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits


def limits_now(limits: Limits) -> list[LimitNow]:
    """The limits in force, each with what it means.

    Args:
        limits: of the job.
    """
    defaults = limit_defaults()
    return [
        {
            "name": name,
            "means": defaults[name].means,
            "text": limit.value.text,
            "unit": limit.value.unit,
            "si": si_number(limit.value),
            "source": limit.source,
            "adopted_by": limit.adopted_by,
        }
        for name, limit in limits.limits().items()
    ]


def entry_counts(reader: JobReader) -> list[EntryCount]:
    """Entries by who typed them and kind.

    Args:
        reader: of the job.
    """
    return reader.select(
        EntryCount,
        "SELECT json_extract(body, '$.who') AS who, kind, count(*) AS n, "
        "min(json_extract(body, '$.at')) AS first, max(json_extract(body, '$.at')) AS last "
        "FROM entries WHERE job = ? OR id = ? GROUP BY 1, 2 ORDER BY 1, 2",
        (reader.job.id, reader.job.id),
    )


def day_counts(reader: JobReader) -> dict[str, dict[str, int]]:
    """How many records of each table were seen on each day.

    Args:
        reader: of the job.
    """
    by_day: dict[str, dict[str, int]] = {}
    for table in ("conditions", "strips", *ON_SEAMS):
        for day, n in Counter(reader.each_of(str, "day", table)).items():
            by_day.setdefault(day, {})[table] = n
    return dict(sorted(by_day.items()))


def heads(reader: JobReader) -> list[DeviceHead]:
    """The last entry of every device.

    Args:
        reader: of the book.
    """
    return reader.select(
        DeviceHead,
        "SELECT device, seq, hash FROM entries e WHERE seq = "
        "(SELECT max(seq) FROM entries WHERE device = e.device) ORDER BY device, hash",
    )
