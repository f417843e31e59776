"""Refits of every machine on every sheet: the same by one worker, two, or one that is killed."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

psutil = pytest.importorskip("psutil", reason="needs the extra: pip install 'weldcal[office]'")


@pytest.fixture(autouse=True)
def _extra() -> None:
    for library in ("pyarrow", "fsspec", "duckdb", "distributed"):
        pytest.importorskip(library, reason="needs the extra: pip install 'weldcal[office]'")


def refits(season: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = season.ok("office season --json").json["season"]["refits"]
    return found


def test_each_machine_on_each_sheet_is_refitted_once(season: Any) -> None:
    """Three crews' own machines; typed again, nothing is worked out again."""
    done = season.ok("office refit --workers 1 --json").json
    assert (done["groups"], done["done"], done["lost"], done["failed"]) == (3, 3, 0, [])
    rows = refits(season)
    assert [row["machine"] for row in rows] == [
        f"blue ({r} roof)" for r in ("Barn", "Dock", "Mill")
    ]
    for row in rows:
        middle, low, high = row["m_per_min"]
        assert low < middle < high
        assert (row["jobs"], row["strips"]) == (1, 8)
    assert season.ok("office refit --json").json["done"] == 0
    assert "refitted" in season.ok("office season").out


def test_checks_of_seams_are_not_counted_as_strips(season: Any, tmp_path: Path) -> None:
    """They teach the speed, and stand under no heading that says strips."""
    from tests.office.conftest import morning

    log = "08:00 bleed A1 2 1/4,1/4\n08:05 bleed A1 4 1/4,1/4\n11:00 peel A1 6 --parted compound"
    pack = morning(tmp_path, "Mill roof", "Ana Ruiz", 5, log)
    season.ok("office", "take", str(pack.parent))
    season.ok("office lake")
    season.ok("office refit --workers 1")
    assert {row["machine"]: row["strips"] for row in refits(season)} == {
        f"blue ({roof} roof)": 8 for roof in ("Barn", "Dock", "Mill")
    }


def test_a_new_day_refits_only_its_own(season: Any, tmp_path: Path) -> None:
    """And two workers come to what one does."""
    from tests.office.conftest import MORNING, morning

    season.ok("office refit --workers 1")
    before = {row["machine"]: row for row in refits(season)}
    pack = morning(tmp_path, "Mill roof", "Ana Ruiz", 5, MORNING.replace("S2", "S10"))
    season.ok("office", "take", str(pack.parent))
    season.ok("office lake")
    assert season.ok("office refit --workers 2 --json").json["done"] == 1
    after = {row["machine"]: row for row in refits(season)}
    assert [name for name in after if after[name] != before[name]] == ["blue (Mill roof)"]


def test_it_is_the_learning_of_the_job_alone(season: Any, tmp_path: Path) -> None:
    """One job, one machine, one sheet: the knowledge that `weldcal learn` takes of its strips."""
    import numpy as np

    from weldcal.book import Book
    from weldcal.calibration.refits import SeenOnJob, refit

    book = Book(tmp_path / "Mill roof.sqlite")
    knowledge, _names = book.knowing.learn()
    seen = tuple(book.observing.observations())
    found = refit((SeenOnJob(book.job.id, "blue", "base", "", seen),))
    book.close()
    assert found is not None
    level = {(lv.of, lv.at): m for lv, m in zip(knowledge.levels, knowledge.mean, strict=True)}
    whole = sum(m for (of, _at), m in level.items() if of in ("intercept", "sheet", "machine"))
    from weldcal.calibration.knowledge import _middle

    assert np.log(found.m_per_min) == pytest.approx(_middle("intercept") + whole, abs=1e-6)


def killed(pid: int) -> None:
    """SIGKILL, and back when it is dead: its sockets are closed, whoever has heard of it or not."""
    os.kill(pid, signal.SIGKILL)
    with contextlib.suppress(psutil.NoSuchProcess):
        while psutil.Process(pid).status() != psutil.STATUS_ZOMBIE:
            time.sleep(0.001)


@pytest.mark.parametrize("after", [0, 1, 3], ids=["before any", "between", "after the last"])
def test_a_killed_worker_loses_nothing_and_is_told(
    season: Any, monkeypatch: Any, after: int
) -> None:
    """One of two, after so many of the three answers came."""
    from weldcal.office import refits as module

    season.ok("office refit --workers 1")
    whole = refits(season)
    lake = Path(os.environ["WELDCAL_OFFICE"]) / "lake"
    (lake / module.KEPT).unlink()
    answers = module.answers

    def killing(client: Any, groups: Any) -> Any:
        worker = min(client.run(os.getpid).values())
        for came, answer in enumerate(answers(client, groups)):
            if came == after:
                killed(worker)
            yield answer
        if after == len(groups):
            killed(worker)

    monkeypatch.setattr(module, "answers", killing)
    said = season.ok("office refit --workers 2").out
    assert "1 worker was lost on the way" in " ".join(said.split())
    assert refits(season) == whole


def test_a_worker_that_left_before_or_took_its_leave_is_not_lost() -> None:
    """A scheduler that lives on remembers workers of earlier nights; one is sent home in between."""
    from distributed import Client, LocalCluster

    from weldcal.office.refits import Workers

    with (
        LocalCluster(
            n_workers=3, threads_per_worker=1, dashboard_address=None, silence_logs=50
        ) as cluster,
        Client(cluster) as client,
    ):
        killed(min(client.run(os.getpid).values()))
        while not any(
            told.get("action") == "remove-worker" for _at, told in client.get_events("all")
        ):
            time.sleep(0.01)
        hands = Workers(client)
        client.retire_workers([min(client.nthreads())], close_workers=True)
        assert hands.lost() == 0
        killed(min(client.run(os.getpid).values()))
        assert hands.lost() == 1


@contextlib.contextmanager
def scheduler_elsewhere() -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A scheduler and a worker in a process of its own, and its address."""
    code = "\n".join(
        (
            "from distributed import LocalCluster",
            "if __name__ == '__main__':",
            "    c = LocalCluster(n_workers=1, processes=False, dashboard_address=None)",
            "    print(c.scheduler_address, flush=True)",
            "    input()",
        )
    )
    code = code.replace("processes=False", "processes=False, protocol='tcp://'")
    child = subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert child.stdout is not None
        yield child, child.stdout.readline().strip()
    finally:
        child.kill()
        child.wait()


def test_a_scheduler_somewhere_else_gives_the_same(season: Any) -> None:
    """As the cluster of this machine."""
    season.ok("office refit --workers 1")
    whole = refits(season)
    (Path(os.environ["WELDCAL_OFFICE"]) / "lake" / "refits.json").unlink()
    with scheduler_elsewhere() as (_child, address):
        done = season.ok(f"office refit --scheduler {address} --json").json
    assert done["done"] == 3
    assert refits(season) == whole


def test_a_scheduler_that_goes_away_leaves_what_was_done(season: Any, monkeypatch: Any) -> None:
    """Killed after the first of three answers: one line; typed again, the rest follows."""
    import dask

    from weldcal.office import refits as module

    answers = module.answers
    with (
        scheduler_elsewhere() as (child, address),
        dask.config.set({"distributed.comm.timeouts.connect": "1s"}),
    ):

        def killing(client: Any, groups: Any) -> Any:
            for answer in answers(client, groups):
                yield answer
                child.kill()
                child.wait()

        monkeypatch.setattr(module, "answers", killing)
        said = season.refused(f"office refit --scheduler {address}")
    assert "the scheduler went away. What was refitted by then is kept." in said
    monkeypatch.setattr(module, "answers", answers)
    assert season.ok("office refit --workers 1 --json").json["done"] == 2


def test_where_no_scheduler_answers_is_one_plain_line(season: Any, monkeypatch: Any) -> None:
    """And how many workers cannot be."""
    from weldcal.office import refits as module

    monkeypatch.setattr(module, "_ANSWER_S", 1)
    done = season("office refit --scheduler tcp://127.0.0.1:9")
    assert done.code == 2
    (line,) = done.err.splitlines()
    assert "no scheduler answers there" in line
    assert "1 … 256" in season("office refit --workers many").err
