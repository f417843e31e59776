"""The foreman's verbs: seams listed, the roof, a seam traced, corrections, the record checked.

Invariant: state and flags are derived when asked for; a correction is an entry
of its own with its reason, and the earlier value stays readable.
"""

from __future__ import annotations

import contextlib
import copy
import json
import sqlite3
from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from weldcal.book.core import Recorded
from weldcal.book.inspector import Inspector
from weldcal.book.seams import Beside, Cover, Row, Rows, name_of
from weldcal.errors import Misplaced, NotAChoice, Taken, Unheard
from weldcal.log import chain, store
from weldcal.quality.seam import SeamState
from weldcal.records.amendable import Place, place_of, read_payload
from weldcal.records.codec import decode, encode
from weldcal.records.fields import plain_name, read, same_name
from weldcal.records.job import Area
from weldcal.records.notes import Amend, Settle
from weldcal.records.seam import Seam
from weldcal.records.times import read_time, stamp
from weldcal.tables import projector
from weldcal.tables.fold import fold
from weldcal.tables.schema import TABLES
from weldcal.words import _

_ON_SEAMS = ("runs", "finishes", "bleeds", "walks", "findings", "mends", "peels")
_WHOLE = dict.fromkeys(_ON_SEAMS, "*")
# What the state of a seam and its marks follow from.
_MARKED = "id, seam, seam_key, seen_utc, tick, seen_by, flags, instrument, day"
_STRETCH = f"{_MARKED}, start_m, end_m"
_FOR_STATE = {
    **dict.fromkeys(_ON_SEAMS, _MARKED), "runs": f"{_STRETCH}, machine, sheet",
    "walks": f"{_STRETCH}, started_utc, ended_utc", "findings": f"{_STRETCH}, name, how",
    "mends": f"{_STRETCH}, finding",
}  # fmt: skip
_KIND_OF = {
    "strips": "strip", "runs": "run", "finishes": "finish", "bleeds": "bleed", "walks": "walk", "findings": "finding",
    "mends": "mend", "peels": "peel", "seams": "seam",
}  # fmt: skip

_IDS_AT_ONCE = 500


class Foreman(Inspector):
    """Verbs of the person who reviews."""

    # -- seams ----------------------------------------------------------------------

    def add_seams(
        self, seams: Sequence[Seam], by: str | None = None, areas: Sequence[Area] = ()
    ) -> list[Recorded]:
        """List seams to be welded, and the areas they were laid out from, all or none.

        Raises:
            Taken: one of them is listed already.
        """
        known = {row["seam_key"] for row in self.seams()}
        for seam in seams:
            if same_name(seam.name) in known:
                raise Taken(what=_("seam"), text=seam.name)
            known.add(same_name(seam.name))
        with self.writing(self.unnamed(by)) as writer:
            for area in areas:
                writer.add("area", area, job=self.job.id)
            return [Recorded(writer.add("seam", s, job=self.job.id), s.name) for s in seams]

    def seams(self, keys: Sequence[str] | None = None) -> list[Row]:
        """The seams listed (those of some keys), in order."""
        only, some = "", list(keys or ())
        if keys is not None:
            only = f"AND seam_key IN ({', '.join('?' * len(some))})"
        return self.rows(
            f"SELECT * FROM seams WHERE job = ? {only} ORDER BY tick, device", (self.job.id, *some)
        )

    def roof(self) -> list[Row]:
        """Every seam, listed or only heard of, with its state, of one moment."""
        with self.snapshot():
            return self._roof(_FOR_STATE)

    def _roof(self, columns: dict[str, str], keys: Sequence[str] | None = None) -> list[Row]:
        """Seams with their state: all, or those of `keys` and what they join; rows with `columns`."""
        beside = self._beside(self.seams(keys))
        joined = [row["joins"] for row in beside.listed.values() if row["joins"]]
        on = self._on_seams(columns, None if keys is None else [*keys, *joined])
        found = []
        for key in dict.fromkeys([*beside.listed, *on]):
            if keys is not None and key not in keys:
                continue
            seam, rows = beside.listed.get(key), on.get(key, {})
            state, flags = beside.judged(key, rows, on.get(seam["joins"], {}) if seam else {})
            found.append(
                {
                    "name": name_of(seam, rows), "seam": seam, "state": state, "flags": list(flags), "rows": rows,
                }
            )  # fmt: skip
        return found

    def _beside(self, seams: list[Row]) -> Beside:
        """What bears on the seams listed beside their own rows."""
        listed: dict[str, Row] = {}
        for row in seams:
            listed.setdefault(row["seam_key"], row)
        counted = Counter(row["seam_key"] for row in seams)
        amended = self.rows(
            'SELECT seam_key, max(conflict) AS conflict FROM seams JOIN amendments ON "of" = seams.id '
            "WHERE seams.job = ? GROUP BY seam_key",
            (self.job.id,),
        )
        return Beside(
            listed=listed,
            twice=frozenset(key for key, count in counted.items() if count > 1),
            covers=self.covers(),
            warned=frozenset(warning["of"] for warning in self.warnings()),
            corrected={
                row["seam_key"]: ("amended", "conflict") if row["conflict"] else ("amended",)
                for row in amended
            },
        )

    def seam_state(self, name: str) -> tuple[Row, SeamState]:
        """One seam's rows and state.

        Raises:
            Unheard: nothing is recorded of such a seam.
        """
        with self.snapshot():
            for found in self._roof(_WHOLE, [same_name(name)]):
                return found, found["state"]
        known = ", ".join(row["name"] for row in self.seams()[:12]) or _("none yet")
        raise Unheard(what=_("seam"), text=name, known=known)

    def covers(self) -> dict[str, Cover]:
        """Seams hidden now: key -> (when they were hidden, UTC; whether unprobed). Opened ones are not."""
        opened: dict[str, str] = {}
        for row in self.rows(
            "SELECT seam_key, seen_utc FROM openings WHERE job = ? ORDER BY seen_utc",
            (self.job.id,),
        ):
            opened[row["seam_key"]] = row["seen_utc"]
        found: dict[str, Cover] = {}
        for row in self.rows(
            "SELECT * FROM covers WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        ):
            unprobed = set(json.loads(row["unprobed"]))
            for key in json.loads(row["seams"]):
                if opened.get(key, "") < row["seen_utc"]:
                    found[key] = (row["seen_utc"], key in unprobed)
        return found

    def states_of(self, keys: Sequence[str]) -> list[SeamState]:
        """The states of some seams."""
        with self.snapshot():
            return [found["state"] for found in self._roof(_FOR_STATE, keys)]

    def _on_seams(self, columns: dict[str, str], keys: Sequence[str] | None) -> dict[str, Rows]:
        """Rows on seams, by seam key and table, in the order they were seen."""
        found: dict[str, Rows] = {}
        only, some = "seam IS NOT NULL", list(keys or ())
        if keys is not None:
            only = f"seam_key IN ({', '.join('?' * len(some))})"
        for table in _ON_SEAMS:
            rows = self.rows(
                f"SELECT {columns[table]} FROM {table} WHERE job = ? AND {only} ORDER BY seen_utc, tick",
                (self.job.id, *some),
            )
            for row in self.marked(rows):
                found.setdefault(row["seam_key"], {}).setdefault(table, []).append(row)
        return found

    # -- trace ----------------------------------------------------------------------

    def trace(self, name: str) -> Row:
        """All that is recorded of a seam, in the order it was seen.

        Returns:
            {"name", "seam", "state", "events": [{"what", "row", "seen_utc", ...}]}; the
            strips its runs stand on, corrections and answered warnings are among the events.
        """
        with self.snapshot():
            found, state = self.seam_state(name)
            events = self._events(found["seam"], found["rows"])
        return {
            **{k: found[k] for k in ("name", "seam", "flags")},
            "state": state,
            "events": events,
        }

    def _events(self, seam: Row | None, rows: Rows) -> list[Row]:
        """What is recorded on a seam and of its own entry, in the order it was seen."""
        events = [
            {"what": _KIND_OF[table], "row": row, "seen_utc": row["seen_utc"], "tick": row["tick"]}
            for table in _ON_SEAMS
            for row in rows.get(table, [])
        ]
        strips = {run["go_ahead"] for run in rows.get("runs", []) if run["go_ahead"]}
        events += [
            {"what": "strip", "row": s, "seen_utc": s["seen_utc"], "tick": s["tick"]}
            for s in self.marked(self._judged(self._by_ids("strips", strips)))
        ]
        self._add_readings([e for e in events if e["what"] == "bleed"])
        about = [event["row"]["id"] for event in events] + ([seam["id"]] if seam else [])
        for at in range(0, len(about), _IDS_AT_ONCE):
            events += self._about(about[at : at + _IDS_AT_ONCE])
        return sorted(events, key=lambda event: (event["seen_utc"], event["tick"]))

    def _add_readings(self, events: list[Row]) -> None:
        readings = self._readings([event["row"] for event in events])
        for event in events:
            event["row"]["readings"] = [r["text"] for r in readings.get(event["row"]["id"], [])]

    def _about(self, ids: list[str]) -> list[Row]:
        places = ", ".join("?" * len(ids))
        amends = self.rows(f'SELECT * FROM amendments WHERE "of" IN ({places})', ids)
        settled = self.rows(
            f'SELECT * FROM warnings WHERE done_utc IS NOT NULL AND "of" IN ({places})', ids
        )
        return [
            {"what": "amend", "row": row, "seen_utc": row["entered_utc"], "tick": row["tick"]}
            for row in amends
        ] + [
            {"what": "settle", "row": row, "seen_utc": row["done_utc"], "tick": row["done_tick"]}
            for row in settled
        ]

    def _by_ids(self, table: str, ids: set[str]) -> list[Row]:
        places = ", ".join("?" * len(ids))
        return self.rows(f"SELECT * FROM {table} WHERE id IN ({places})", sorted(ids))

    # -- corrections and warnings -----------------------------------------------------

    def amend(
        self, name: str, field: str, value: str, why: str, *, by: str | None = None, at: str | None = None
    ) -> Recorded:  # fmt: skip
        """Correct one value of a record, with its reason.

        Raises:
            NotAChoice: it has no such field.
            Unreadable: the new value cannot be read, or the reason is empty.
        """
        row = self._amendable(name, field)
        place = place_of(_KIND_OF[row["table"]], field)
        reason = plain_name(_("reason (--why)"), why)
        subject = fold(chain.entries_about(self.reading(), row["id"]))
        if subject is None:
            raise Unheard(what=_("record"), text=name, known="")
        old = self._old_value(subject, place.path)
        new = self._new_value(place, value, old)
        seen = self.seen(by, at)
        record = Amend(
            of=subject.id, path=place.path, old=old, new=new, why=reason, seen=seen,
            replaces=subject.setter(place.path),
        )  # fmt: skip
        self._check_amended(subject, place.path, new)
        with self.writing(self.typist(seen.by)) as writer:
            amend_id = writer.add("amend", record, job=self.job.id, about=subject.id)
        return Recorded(amend_id, row["name"], (), {"field": field, "old": old, "new": new})

    def _amendable(self, name: str, field: str) -> Row:
        """The row meant: a seam may bear the short name of a record; the field decides."""
        seams = [s for s in self.seams() if s["seam_key"] == same_name(name)]
        if not seams:
            return self.find(name)
        try:
            place_of("seam", field)
        except NotAChoice:
            with contextlib.suppress(Unheard):
                return self.find(name)
        return {**seams[0], "table": "seams"}

    def _new_value(self, place: Place, value: str, old: Any) -> Any:
        """Read the new value as the first one was: in the dial's unit, on the record's own date."""
        if place.read_as == "time":
            return stamp(read_time(value, datetime.fromisoformat(old), _("time")))
        if place.path == "seen.by":
            return self.person(value)
        if place.read_as == "speed" and isinstance(old, dict):
            bare = not any(sign.isalpha() for sign in value)
            if bare and old["unit"] == "mark":
                return encode(read("mark", value, self.job.units))
            return read_payload(place, value, self.job.units, old["unit"] if bare else None)
        return read_payload(place, value, self.job.units)

    def _old_value(self, subject: Any, path: str) -> Any:
        stage, _colon, rest = path.partition(":")
        if not rest:
            return subject.value(path)
        for entry, payload in subject.filled:
            if entry.kind == stage:
                return payload.get(rest)
        raise Misplaced(text=path, why=_("the run is not finished; type: weldcal seam finish"))

    def _check_amended(self, subject: Any, path: str, new: Any) -> None:
        if ":" in path:
            return
        payload = copy.deepcopy(subject.payload)
        *parents, last = path.split(".")
        part = payload
        for key in parents:
            part = part.setdefault(key, {})
        part[last] = new
        decode(subject.kind, payload)

    def warnings(self, *, open_only: bool = True) -> list[Row]:
        """Warnings overridden, with the run or cover they stand with, in order."""
        where = "AND warnings.done IS NULL" if open_only else ""
        columns = "name AS run, seen_local, seen_by, tick"
        return self.rows(
            f'SELECT warnings.*, seam, {columns} FROM warnings JOIN runs ON runs.id = warnings."of" '
            f"WHERE warnings.job = ?1 {where} UNION ALL "
            f'SELECT warnings.*, area, {columns} FROM warnings JOIN covers ON covers.id = warnings."of" '
            f"WHERE warnings.job = ?1 {where} ORDER BY tick, code",
            (self.job.id,),
        )

    def settle(
        self, run: str, done: str, *, by: str | None = None, code: str | None = None
    ) -> Recorded:
        """Record what was done about the warnings of a run (all, or those of one code).

        Raises:
            Misplaced: it has none open.
        """
        row = self.find(run)
        mine = [w for w in self.warnings() if w["of"] == row["id"] and code in (None, w["code"])]
        if not mine:
            raise Misplaced(text=run, why=_("no warning of it is open; see: weldcal roof"))
        seen = self.seen(by, None)
        with self.writing(self.typist(seen.by)) as writer:
            for warning in mine:
                record = Settle(
                    of=warning["id"], done=plain_name(_("what was done"), done), seen=seen
                )
                last = writer.add("settle", record, job=self.job.id, about=row["id"])
        return Recorded(last, row["name"], (), {"settled": [w["code"] for w in mine]})

    # -- the record itself --------------------------------------------------------------

    def verify(self) -> tuple[int, list[chain.Fault]]:
        """Recompute the chain, derive the tables anew and compare; entries read and all faults."""
        connection = self.reading()
        with store.trouble(self.path):
            faults = chain.verify_chain(connection)
            faults += self._table_faults()
            count = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
        return count, faults

    def _table_faults(self) -> list[chain.Fault]:
        faults: list[chain.Fault] = []
        derived, unread = projector.derive(self.reading())
        faults += [chain.Fault(subject, "payload", "a record", why) for subject, why in unread]
        for table, columns in TABLES.items():
            try:
                faults += _compared(table, columns, derived.get(table, []), self._kept(table))
            except sqlite3.DatabaseError as error:
                faults.append(chain.Fault("-", f"table {table}", "a table", str(error)))
        return faults

    def _kept(self, table: str) -> list[Row]:
        return [dict(row) for row in self.reading().execute(f"SELECT * FROM {table}")]

    def rebuild(self) -> int:
        """Drop the derived tables and make them anew from the entries; the number of entries."""
        from weldcal.tables import schema

        connection = self._for_writing()
        with store.trouble(self.path):
            schema.rebuild(connection)
            count: int = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
        return count


def _compared(
    table: str, columns: dict[str, type], made: list[Row], kept: list[Row]
) -> list[chain.Fault]:
    """Where the rows kept differ from the rows the entries make."""
    if kept and set(kept[0]) != set(columns):
        found = ", ".join(sorted(set(kept[0]) ^ set(columns)))
        return [chain.Fault("-", f"table {table}", "its columns", found)]
    rows = {repr(row["id"]): row for row in kept}
    wanted = {repr(row["id"]): dict.fromkeys(columns) | row for row in made}
    faults = []
    for key in sorted(rows.keys() | wanted.keys()):
        if rows.get(key) != wanted.get(key):
            expected, found = _difference(wanted.get(key), rows.get(key))
            faults.append(chain.Fault(key.strip("'"), f"table {table}", expected, found))
    if len(kept) != len(rows):
        faults.append(chain.Fault("-", f"table {table}", f"{len(rows)} rows", f"{len(kept)} rows"))
    return faults


def _difference(made: dict[str, Any] | None, kept: dict[str, Any] | None) -> tuple[str, str]:
    if made is None:
        return "no row", "a row"
    if kept is None:
        return "a row", "no row"
    names = [name for name in made if made[name] != kept.get(name)]
    return _shown(made, names), _shown(kept, names)


def _shown(row: dict[str, Any], names: list[str]) -> str:
    return json.dumps({name: row.get(name) for name in names}, ensure_ascii=False, default=repr)
