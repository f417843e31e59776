"""The lake opened for questions: DuckDB in bounded memory, and which thing of one job is which.

Invariant: a question reads the lake and writes nothing; memory stays within the limit, what is
more goes to a temporary folder.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from weldcal.book.firm import TABLE
from weldcal.book.firmwide import FACTS
from weldcal.errors import NoJob, NoneYet
from weldcal.office.extra import needed
from weldcal.office.filling import fill
from weldcal.office.lake import Columns, Lake, trouble
from weldcal.records.fields import same_name
from weldcal.rules.same_thing import NamedThing, SaidSame, one_thing
from weldcal.tables.schema import TABLES
from weldcal.words import _

MEMORY = "512MB"
Row = dict[str, Any]
_SQL_TYPES = {str: "VARCHAR", int: "BIGINT", float: "DOUBLE"}
_ASKED = ("told_strips", "told_runs", "told_measures", "roofs")


class LakeFirm:
    """Every job of a lake, for questions. Open it with `opened`."""

    def __init__(self, lake: Lake, place: str) -> None:
        self.lake = lake
        duckdb = needed("duckdb")
        self._duckdb, self._trouble = duckdb.connect(":memory:"), duckdb.Error
        self.run(f"SET memory_limit = '{MEMORY}'")
        self.run("SET temp_directory = ?", [place])
        if not lake.local:
            self._duckdb.register_filesystem(lake.fs)
        with trouble(lake.url):
            self._load()

    def close(self) -> None:
        """Let go of the memory."""
        self._duckdb.close()

    def ask(self, sql: str, values: Sequence[Any] = ()) -> list[Row]:
        """Rows of a query, one dictionary each."""
        with self._plain_errors():
            found = self._duckdb.execute(sql, list(values))
            names = [column[0] for column in found.description]
            return [dict(zip(names, row, strict=True)) for row in found.fetchall()]

    def run(self, sql: str, values: Sequence[Any] = ()) -> None:
        """A statement of which nothing comes back."""
        with self._plain_errors():
            self._duckdb.execute(sql, list(values)).fetchall()

    @contextmanager
    def _plain_errors(self) -> Iterator[None]:
        """A file that cannot be read is one plain sentence.

        Raises:
            LakeBroken: a file of the lake is not what it was.
        """
        try:
            yield
        except self._trouble:
            self.lake.must_be_whole(deep=True)
            raise

    def units(self) -> str:
        """The units of most jobs."""
        rows = self.ask("SELECT units FROM roofs GROUP BY units ORDER BY count(*) DESC, units")
        return str(rows[0]["units"]) if rows else "us"

    # -- what is loaded ----------------------------------------------------------------------

    def _load(self) -> None:
        self.run("CREATE TABLE job_names (job VARCHAR, job_name VARCHAR, nth BIGINT)")
        jobs = sorted(self.lake.jobs().values(), key=lambda job: (job.tick, job.device))
        names = [[job.job, job.name, nth] for nth, job in enumerate(jobs)]
        self._put("job_names", names)
        self.run(
            'CREATE TABLE things (what VARCHAR, job VARCHAR, "key" VARCHAR, grp BIGINT, label VARCHAR)'
        )
        for what in ("machine", "sheet", "person"):
            self._put("things", self._things(what))
        for table in _ASKED:
            self.run(f"CREATE TABLE {table} AS {self.named(table)}")

    def _put(self, table: str, rows: list[list[Any]]) -> None:
        """Rows into a table, by way of Arrow: one by one they would take minutes."""
        if not rows:
            return
        pa = needed("pyarrow")
        columns = self.ask("SELECT name FROM pragma_table_info(?)", [table])
        names = [column["name"] for column in columns]
        arrays = [pa.array(column) for column in zip(*rows, strict=True)]
        self._duckdb.register("coming", pa.table(arrays, names=names))
        self.run(f"INSERT INTO {table} SELECT * FROM coming")
        self._duckdb.unregister("coming")

    def source(self, table: str) -> str:
        """A table of the lake as SQL; empty and typed where no job has rows."""
        columns: Columns = FACTS.get(table) or TABLES[table]
        files = self.lake.files(table)
        if not files:
            empty = ", ".join(
                f'CAST(NULL AS {_SQL_TYPES[kind]}) AS "{name}"' for name, kind in columns.items()
            )
            return f"(SELECT {empty} WHERE false)"
        listed = ", ".join("'" + name.replace("'", "''") + "'" for name in files)
        return f"read_parquet([{listed}], hive_partitioning = false)"

    def named(self, table: str) -> str:
        """SQL of a table with the firm's names of machines, sheets and people beside the job's."""
        if table == "roofs":
            return f"SELECT * FROM {self.source(table)}"
        person = "person_key" if "person_key" in FACTS[table] else "NULL"
        who = "t.seen_by" if "seen_by" in FACTS[table] else "NULL"
        return f"""
            SELECT t.*, j.job_name,
                coalesce(m.label, t.machine) AS machine_name,
                coalesce('m' || m.grp, t.job || ':' || t.machine_key) AS machine_grp,
                coalesce(s.label, t.sheet) AS sheet_name,
                coalesce(p.label, {who}) AS person_name,
                coalesce('s' || s.grp, t.job || ':' || t.sheet_key) AS sheet_grp
            FROM {self.source(table)} t
            LEFT JOIN job_names j ON j.job = t.job
            LEFT JOIN things m ON m.what = 'machine' AND m.job = t.job AND m."key" = t.machine_key
            LEFT JOIN things p ON p.what = 'person' AND p.job = t.job AND p."key" = {person}
            LEFT JOIN things s ON s.what = 'sheet' AND s.job = t.job AND s."key" = t.sheet_key
        """

    # -- which thing is which ----------------------------------------------------------------

    def groups(self, what: str) -> dict[tuple[str, str], int]:
        """For each (job, folded name) of a kind of thing, the number of its group over all jobs."""
        return self._grouped(what)[0]

    def _grouped(self, what: str) -> tuple[dict[tuple[str, str], int], dict[tuple[str, str], str]]:
        jobs = self.lake.jobs()
        rows = self.ask(
            f"SELECT t.job, t.name FROM {self.source(TABLE[what])} t "
            "JOIN job_names j ON j.job = t.job ORDER BY j.nth, t.tick, t.id"
        )
        keys = {(row["job"], same_name(row["name"])): row["name"] for row in rows}
        things = [NamedThing(key, jobs[key[0]].home) for key in keys]
        sames = self.ask(
            f"SELECT * FROM {self.source('sames')} WHERE what = ? ORDER BY tick, device, id", [what]
        )
        statements = [
            SaidSame((r["one_job"], r["one"]), (r["other_job"], r["other"]), bool(r["same"]))
            for r in sames
        ]
        return one_thing(things, statements), keys

    def _things(self, what: str) -> list[list[Any]]:
        """Rows of `things`: a group is called as its last job does; by job too, where two would
        have one name."""
        groups, names = self._grouped(what)
        called: dict[int, str] = {}
        first: dict[int, str] = {}
        for key, group in groups.items():
            called[group] = names[key]
            first.setdefault(group, self.lake.jobs()[key[0]].name)
        times: dict[str, int] = {}
        for name in called.values():
            times[same_name(name)] = times.get(same_name(name), 0) + 1
        labels = {
            group: f"{name} ({first[group]})" if times[same_name(name)] > 1 else name
            for group, name in called.items()
        }
        return [[what, job, key, group, labels[group]] for (job, key), group in groups.items()]


@contextmanager
def opened(lake: Lake) -> Iterator[LakeFirm]:
    """A lake opened for questions.

    Raises:
        NoneYet: there is no job in it.
        LakeBroken: a job's list in it cannot be read.
        NoExtra: the extra is not installed.
    """
    if not lake.jobs():
        what = _("job in the tables at {lake}", lake=lake.url)
        raise NoneYet(what=what, then=_("Write them: weldcal office lake"))
    lake.must_be_whole()
    with tempfile.TemporaryDirectory(prefix="weldcal-") as place:
        firm = LakeFirm(lake, place)
        try:
            yield firm
        finally:
            firm.close()


@contextmanager
def of_book(book: Path) -> Iterator[LakeFirm]:
    """One book opened for the same questions, by way of a lake of its own for as long as they take."""
    if not book.exists():
        raise NoJob
    with tempfile.TemporaryDirectory(prefix="weldcal-") as place:
        lake = Lake(place)
        fill(lake, [book], deep=False, all_or_none=True)
        with opened(lake) as firm:
            yield firm
