"""Refits without a cluster: what is worked out anew, what is kept and when."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import msgspec
import pytest

from weldcal.calibration.refits import Refit
from weldcal.office import refits
from weldcal.office.firm import LakeFirm, opened
from weldcal.office.lake import JobFiles, Lake, form


class _Dask:
    """Answers as a cluster would, without one."""

    def __init__(self, gone: int = 0) -> None:
        self.gone = gone

    def get_events(self, _of: str) -> list[tuple[int, dict[str, str]]]:
        """One worker came; nobody heard of the others yet."""
        return [(0, {"action": "add-worker", "worker": "w0"})]

    def nthreads(self) -> dict[str, int]:
        """Who was there at the start, each with its threads."""
        return {f"w{n}": 1 for n in range(self.gone + 1)}

    def run(self, _asked: object, **_how: str) -> dict[str, int]:
        """Who answers at the end: all but those that were lost."""
        return {"w0": 7}


@pytest.fixture
def firm(tmp_path: Path) -> Iterator[LakeFirm]:
    """A lake with one job, of which nothing is told."""
    for library in ("pyarrow", "fsspec", "duckdb"):
        pytest.importorskip(library, reason="needs the extra: pip install 'weldcal[office]'")
    lake = Lake(str(tmp_path / "lake"))
    lake.write_job(JobFiles(form(), "a", "Mill roof", "m", "", 1, "d1", ()), [])
    with opened(lake) as firm:
        yield firm


def test_what_is_refitted_is_kept_as_it_comes(
    firm: LakeFirm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After every fifty and at the end; a group whose workers were lost is named and tried again."""
    groups = [
        refits.RefitGroup(f"m{n:02}", "base", f"text {n}".encode()) for n in reversed(range(52))
    ]
    found = Refit(1, 8, 1.5, 1.2, 1.9, 0.1, 0.1)
    kept_after: list[int] = []
    asked: list[list[str]] = []

    def answers(_client: object, todo: list[refits.RefitGroup]) -> Iterator[Any]:
        asked.append([group.machine for group in todo])
        for group in todo:
            answer = msgspec.json.encode(found if group.machine != "m07" else None)
            yield group, None if group.machine == "m03" and len(asked) == 1 else answer
            kept_after.append(len(refits.kept(firm.lake)))

    monkeypatch.setattr(refits, "groups_of", lambda _firm: iter(groups))
    monkeypatch.setattr(refits, "client_of", lambda *_asked: nullcontext(_Dask(2)))
    monkeypatch.setattr(refits, "answers", answers)
    heard: list[tuple[str, int, int]] = []
    assert refits.rows(firm.lake) == refits.kept(firm.lake) == []
    done = refits.refit_all(
        firm, scheduler=None, workers=0, on_progress=lambda *told: heard.append(told)
    )
    assert (done.groups, done.done, done.lost, done.failed) == (52, 51, 2, ("m03, base",))
    assert kept_after == [0] * 49 + [49] * 3  # of the first fifty one failed
    assert [told[1:] for told in heard] == [(n, 52) for n in range(1, 53)]
    assert len(refits.kept(firm.lake)) == 51
    rows = refits.rows(firm.lake)
    assert len(rows) == 50  # of m07 the strips say nothing
    assert [row.machine for row in rows] == sorted(row.machine for row in rows)
    assert (rows[0].jobs, rows[0].strips, rows[0].m_per_min) == (1, 8, (1.5, 1.2, 1.9))
    again = refits.refit_all(firm, scheduler=None, workers=0)
    assert asked[1] == ["m03"]
    assert (again.groups, again.done, again.failed) == (52, 1, ())
    assert (refits.refit_all(firm, scheduler=None, workers=0).done, len(asked)) == (0, 2)
    assert len(refits.kept(firm.lake)) == 52


@pytest.mark.parametrize(
    ("data", "count"),
    [(b'{"form":2,"groups":[]}', 0), (b'{"form":2', 0), (b'{"form":1,"groups":[GROUP]}', 0),
     (b'{"form":2,"groups":[GROUP]}', 1)],
)  # fmt: skip
def test_refits_kept_by_another_form_are_none(firm: LakeFirm, data: bytes, count: int) -> None:
    """This program's is 2."""
    lake = firm.lake
    group = b'{"machine":"blue","sheet":"base","mark":"0","found":null}'
    lake.put("refits.json", data.replace(b"GROUP", group))
    assert len(refits.kept(lake)) == count
    assert refits.rows(lake) == []


def test_a_mark_changes_with_what_was_seen() -> None:
    """And with nothing else."""
    marks = {
        refits.RefitGroup(name, name, text).mark for name in "ab" for text in (b"1", b"2", b"11")
    }
    assert len(marks) == 3


def test_workers_are_processes_of_one_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    """So many as asked, else one a core; an address is waited on for ten seconds (ours)."""
    from types import SimpleNamespace

    asked: list[Any] = []

    def cluster(**options: Any) -> Any:
        asked.append(options)
        return nullcontext("cluster")

    def client(to: str, **options: Any) -> Any:
        asked.append((to, options))
        return nullcontext("client")

    library = SimpleNamespace(LocalCluster=cluster, Client=client)
    monkeypatch.setattr(refits, "needed", lambda _name: library)
    for workers, wanted in ((0, None), (3, 3)):
        asked.clear()
        with refits.client_of(None, workers) as found:
            assert found == "client"
        (options, (to, _none)) = asked
        assert (options["n_workers"], options["threads_per_worker"]) == (wanted, 1)
        assert (options["processes"], options["dashboard_address"], to) == (True, None, "cluster")
    asked.clear()
    with refits.client_of("tcp://there", 0):
        assert asked == [("tcp://there", {"timeout": 10})]
