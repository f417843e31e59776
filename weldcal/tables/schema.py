"""The derived tables: names, columns and what they hold, in one place.

Invariant: a column with a unit has it in its name (SI); everything here can be
dropped and rebuilt from the entries to the same content. `id` is the id of the
entry that began the subject.
"""

from __future__ import annotations

import sqlite3

from weldcal.long_work import Beat, silent
from weldcal.words import _

SCHEMA_VERSION = 5

# What every observation's row begins with.
_SEEN = {
    "id": str,
    "job": str,
    "device": str,
    "tick": int,
    "name": str,
    "seen_utc": str,
    "seen_local": str,
    "day": str,
    "hour": float,
    "seen_by": str,
    "entered_by": str,
    "entered_utc": str,
    "late_h": float,
    "instrument": str,
    "flags": str,
}
_NAMED = {"id": str, "job": str, "device": str, "tick": int, "name": str}
_SETTING = {
    "machine": str,
    "sheet": str,
    "lap": str,
    "nozzle_c": float,
    "nozzle_measured_c": float,
    "speed_m_per_min": float,
    "dial_mark": float,
    "speed_text": str,
    "speed_unit": str,
    "nozzle_text": str,
    "nozzle_unit": str,
    "true_speed_m_per_min": float,
    "air_flow_pct": float,
    "nozzle_width_mm": float,
    "roller_load_n": float,
    "setting_carried": str,
}
_CONDITIONS = {
    "ambient_c": float,
    "sheet_c": float,
    "under_c": float,
    "humidity_pct": float,
    "wind_m_per_s": float,
    "line_v": float,
    "damp": int,
    "gust_m_per_s": float,
    "roll_c": float,
    "supply": str,
    "carried": str,
}

TABLES: dict[str, dict[str, type]] = {
    "jobs": {**_NAMED, "units": str, "zone": str, "day_begins": int, "place": str},
    "areas": {
        **_NAMED,
        "length_m": float,
        "width_m": float,
        "x_m": float,
        "y_m": float,
        "slope": str,
    },
    "sheets": {
        **_NAMED,
        "description": str,
        "judged_by": str,
        "thickness_mm": float,
        "roll_width_mm": float,
        "roll_length_m": float,
        "peel_n_per_mm": float,
        "peel_source": str,
    },
    "machines": {
        **_NAMED,
        "dial": str,
        "dial_low": float,
        "dial_high": float,
        "dial_step": float,
        "nozzle_low_c": float,
        "nozzle_high_c": float,
        "rated_v": float,
        "marks": str,
    },
    "instruments": {**_NAMED, "kind": str, "checked": str, "due": str},
    "people": {**_NAMED, "initials": str, "role": str},
    "limits": {
        **_NAMED,
        "number": str,
        "unit": str,
        "text": str,
        "source": str,
        "adopted_by": str,
        "from_utc": str,
    },
    "conditions": {**_SEEN, **_CONDITIONS},
    "strips": {
        **_SEEN,
        **_SETTING,
        **_CONDITIONS,
        "by_hand": int,
        "readings_n": int,
        "width_median_mm": float,
        "width_min_mm": float,
        "width_max_mm": float,
        "bubbling": str,
        "bond": str,
        "pulled_utc": str,
        "pulled_by": str,
        "parted": str,
        "bonded_mm": float,
        "smoke": int,
        "exposed_mat": int,
        "roll_lot": str,
        "source": str,
        "note": str,
        "photos": str,
    },
    "readings": {"id": str, "job": str, "of": str, "n": int, "width_mm": float, "text": str},
    "seams": {
        **_NAMED,
        "seam_key": str,
        "kind": str,
        "lap": str,
        "length_m": float,
        "place": str,
        "area": str,
        "joins": str,
        "joins_at_m": float,
        "x0_m": float,
        "y0_m": float,
        "x1_m": float,
        "y1_m": float,
    },
    "runs": {
        **_SEEN,
        **_SETTING,
        **_CONDITIONS,
        "seam": str,
        "seam_key": str,
        "start_m": float,
        "end_m": float,
        "finished_utc": str,
        "finished_by": str,
        "why_finished": str,
        "power_lost": int,
        "by_hand": int,
        "go_ahead": str,
        "roll_lot": str,
        "warnings": str,
        "note": str,
    },
    "finishes": {**_SEEN, "seam": str, "seam_key": str, "end_m": float, "why": str},
    "bleeds": {
        **_SEEN,
        "seam": str,
        "seam_key": str,
        "at_m": float,
        "readings_n": int,
        "width_median_mm": float,
        "width_min_mm": float,
        "width_max_mm": float,
        "bubbling": str,
        "note": str,
    },
    "widths": {
        **_SEEN,
        "seam": str,
        "seam_key": str,
        "at_m": float,
        "overlap_mm": float,
        "bonded_mm": float,
        "note": str,
    },
    "walks": {
        **_SEEN,
        "seam": str,
        "seam_key": str,
        "start_m": float,
        "end_m": float,
        "started_utc": str,
        "ended_utc": str,
        "note": str,
    },
    "findings": {
        **_SEEN,
        "seam": str,
        "seam_key": str,
        "kind": str,
        "start_m": float,
        "end_m": float,
        "how": str,
        "depth_mm": float,
        "walk": str,
        "peel": str,
        "note": str,
        "photos": str,
    },
    "mends": {
        **_SEEN,
        "seam": str,
        "seam_key": str,
        "finding": str,
        "start_m": float,
        "end_m": float,
        "method": str,
        "tool": str,
        "patch_mm": float,
        "note": str,
        "photos": str,
        "nozzle_c": float,
        "go_ahead": str,
    },
    "peels": {
        **_SEEN,
        "seam": str,
        "seam_key": str,
        "at_m": float,
        "strip": str,
        "load_n": float,
        "width_mm": float,
        "n_per_mm": float,
        "parted": str,
        "note": str,
        "sample_c": float,
        "pull_mm_per_min": float,
    },
    "advice": {**_SEEN, "question": str, "answer": str, "version": str},
    "measures": {
        **_SEEN,
        "machine": str,
        "mark": float,
        "mark_unit": str,
        "distance_m": float,
        "time_s": float,
        "times_s": str,
        "speed_m_per_min": float,
        "nozzle_set_c": float,
        "nozzle_measured_c": float,
        "note": str,
    },
    "causes": {**_SEEN, "machine": str, "what": str, "note": str},
    "hot_work": {
        **_SEEN,
        "permit": str,
        "extinguisher": str,
        "deck": str,
        "facers": str,
        "cavities": str,
        "primer_wet": int,
        "watch_min": float,
        "watch_source": str,
        "ended_utc": str,
        "ended_local": str,
        "watched_until_utc": str,
        "watched_by": str,
        "watch_found": str,
        "note": str,
    },
    "covers": {**_SEEN, "area": str, "seams": str, "stretches": str, "unprobed": str},
    "rolls": {
        **_SEEN,
        "lot": str,
        "sheet": str,
        "storage": str,
        "conditioning": str,
        "note": str,
    },
    "lot_doubts": {**_SEEN, "lot": str, "why": str},
    "substrates": {
        **_SEEN,
        "area": str,
        "dry": int,
        "primed": int,
        "clean": int,
        "note": str,
    },
    "punch": {
        **_SEEN,
        "visitor": str,
        "place": str,
        "what": str,
        "done": str,
        "done_by": str,
        "done_local": str,
    },
    "openings": {**_SEEN, "seam": str, "seam_key": str, "note": str},
    "norths": {**_SEEN, "degrees": float},
    "draws": {**_SEEN, "seed": int, "stretches": str, "places": str},
    "sames": {
        **_SEEN,
        "what": str,
        "one_job": str,
        "one": str,
        "other_job": str,
        "other": str,
        "same": int,
        "note": str,
    },
    "leaks": {**_SEEN, "x_m": float, "y_m": float, "where": str, "note": str},
    "seals": {
        **_SEEN,
        "label": str,
        "entries": int,
        "heads": str,
        "counts": str,
        "code": str,
        "key": str,
        "signature": str,
    },
    "handed": {
        "id": str,
        "job": str,
        "of": str,
        "to": str,
        "how": str,
        "seen_by": str,
        "seen_utc": str,
        "seen_local": str,
        "tick": int,
        "entered_by": str,
        "late_h": float,
    },
    "warnings": {
        "id": str,
        "job": str,
        "of": str,
        "code": str,
        "done": str,
        "done_by": str,
        "done_utc": str,
        "done_local": str,
        "done_tick": int,
    },
    "amendments": {
        "id": str,
        "job": str,
        "of": str,
        "path": str,
        "old": str,
        "new": str,
        "why": str,
        "seen_by": str,
        "entered_by": str,
        "late_h": float,
        "entered_utc": str,
        "entered_local": str,
        "replaces": str,
        "conflict": int,
        "tick": int,
        "withdrawn": int,
    },
    "withdrawn": {
        "id": str,
        "job": str,
        "of": str,
        "kind": str,
        "was_in": str,
        "name": str,
        "device": str,
        "tick": int,
        "seam": str,
        "seam_key": str,
        "seen_utc": str,
        "seen_local": str,
        "seen_by": str,
        "entered_by": str,
        "said": str,
        "why": str,
        "by": str,
        "withdrawn_by": str,
        "withdrawn_utc": str,
        "withdrawn_local": str,
        "added_to": int,
    },
}

INDEXES: dict[str, tuple[tuple[str, ...], ...]] = {
    "strips": (("job", "day"), ("job", "name")),
    "conditions": (("job", "seen_utc"),),
    "readings": (("of",), ("job",)),
    "seams": (("job", "seam_key"),),
    **dict.fromkeys(
        ("runs", "bleeds", "widths", "walks", "findings", "mends", "peels"),
        (("job", "seam"), ("job", "name")),
    ),
    "warnings": (("of",), ("job",)),
    "amendments": (("of",), ("job",)),
    "withdrawn": (("of",), ("job",)),
    "limits": (("job", "name"),),
    "advice": (("job",),),
    "seals": (("job", "name"),),
    "measures": (("job", "machine"),),
    "causes": (("job", "machine"),),
    "handed": (("of",),),
}


def schema_version(connection: sqlite3.Connection) -> int:
    """The version of the derived tables in a book."""
    found = connection.execute("SELECT value FROM local WHERE name = 'schema'").fetchone()
    return int(found[0]) if found and str(found[0]).isdecimal() else 0


def create(connection: sqlite3.Connection) -> None:
    """Make the derived tables, empty, dropping those that are there."""
    import sqlite_utils  # imports numpy where it is installed: not on the recording path

    db = sqlite_utils.Database(connection, execute_plugins=False)
    for name, columns in TABLES.items():
        db.table(name).drop(ignore=True)
        db.table(name).create(columns, pk="id")
        for index in INDEXES.get(name, ()):
            db.table(name).create_index(index)
    connection.execute("INSERT OR REPLACE INTO local VALUES ('schema', ?)", (str(SCHEMA_VERSION),))


def rebuild(connection: sqlite3.Connection, beat: Beat = silent) -> None:
    """Drop the derived tables and fill them anew from the entries, in one transaction."""
    import sqlite_utils

    from weldcal.tables.projector import derive

    db = sqlite_utils.Database(connection, execute_plugins=False)
    with db.atomic():
        connection.execute("REINDEX")  # an index that hid an entry would hide its rows too
        create(connection)
        rows, _unread = derive(connection, beat)
        for n, (table, made) in enumerate(rows.items()):
            beat(_("writing"), n, len(rows))
            blank = dict.fromkeys(TABLES[table])
            db.table(table).insert_all(blank | row for row in made)
