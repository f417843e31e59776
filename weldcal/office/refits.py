"""Refits of every machine on every sheet, on several processes or machines by Dask.

Invariant: a group is worked out again only where its strips changed; what is done is kept at once,
so neither a lost worker nor the power takes more than the groups in hand.
"""

from __future__ import annotations

import hashlib
import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from itertools import groupby
from typing import Any

import msgspec
from msgspec import Struct

from weldcal.calibration.observation import Observation
from weldcal.calibration.refits import Refit, SeenOnJob, worked
from weldcal.errors import FileTrouble
from weldcal.long_work import Progress, no_progress
from weldcal.office.extra import needed
from weldcal.office.firm import LakeFirm, Row
from weldcal.office.lake import Lake
from weldcal.views.office import RefitRow, Refitted
from weldcal.words import _, mark

KEPT = "refits.json"
FORM = 2
_KEEP_EVERY = 50
_ANSWER_S = 10


class NoScheduler(FileTrouble):
    """Nobody answers at the address of a Dask scheduler."""

    sentence = mark(
        "{address}: no scheduler answers there. Type its address like tcp://office:8786, "
        "or leave --scheduler out: then this machine does the work."
    )


class SchedulerLost(FileTrouble):
    """The scheduler went away while it had work in hand."""

    sentence = mark(
        "{address}: the scheduler went away. What was refitted by then is kept. "
        "Type it again when it is back, or without --scheduler; the rest follows."
    )


class KeptRefit(Struct, frozen=True):
    """A refit as the lake keeps it; `mark` changes where one of its strips does."""

    machine: str
    sheet: str
    mark: str
    found: Refit | None


class _File(Struct, frozen=True):
    form: int
    groups: list[KeptRefit]


class RefitGroup(Struct, frozen=True):
    """A machine on a sheet: their names, and what the jobs saw as text."""

    machine: str
    sheet: str
    text: bytes

    @property
    def mark(self) -> str:
        """A digest of everything that its refit depends on."""
        return hashlib.sha256(b"%d " % FORM + self.text).hexdigest()


def kept(lake: Lake) -> list[KeptRefit]:
    """The refits that the lake has; none where the file cannot be read."""
    try:
        file = msgspec.json.decode(lake.get(KEPT) or b"", type=_File)
    except msgspec.MsgspecError:
        return []
    return file.groups if file.form == FORM else []


def rows(lake: Lake) -> list[RefitRow]:
    """The refits that the lake has, for a page; those whose strips say something."""
    return [
        RefitRow(
            one.machine,
            one.sheet,
            one.found.jobs,
            one.found.strips,
            (one.found.m_per_min, one.found.low, one.found.high),
        )
        for one in sorted(kept(lake), key=lambda one: (one.machine, one.sheet))
        if one.found is not None
    ]


def refit_all(
    firm: LakeFirm,
    *,
    scheduler: str | None,
    workers: int,
    on_progress: Progress = no_progress,
) -> Refitted:
    """Refit what changed, and keep it in the lake.

    Args:
        firm: the lake, opened.
        scheduler: the address of a Dask scheduler; a cluster on this machine if not given.
        workers: how many processes of this machine; one a core where 0.
        on_progress: called with how far it is.

    Raises:
        NoScheduler: nobody answers at that address.
        SchedulerLost: it went away; what was done by then is kept.
    """
    groups = list(groups_of(firm))
    by_mark = {one.mark: one for one in kept(firm.lake)}
    finished = {g.mark: by_mark[g.mark] for g in groups if g.mark in by_mark}
    todo = [group for group in groups if group.mark not in finished]
    failed: list[str] = []
    keep = partial(_keep, firm.lake, groups, finished)
    lost = 0
    try:
        if todo:
            with client_of(scheduler, workers) as client:
                there = Workers(client)
                for n, (group, answer) in enumerate(answers(client, todo), 1):
                    on_progress(_("refits"), n, len(todo))
                    if answer is None:
                        failed.append(f"{group.machine}, {group.sheet}")
                        continue
                    refit = msgspec.json.decode(answer, type=Refit | None)
                    finished[group.mark] = KeptRefit(group.machine, group.sheet, group.mark, refit)
                    if n % _KEEP_EVERY == 0:
                        keep()
                lost = there.lost()
    finally:
        keep()
    return Refitted(len(groups), len(todo) - len(failed), lost, tuple(failed))


def _keep(lake: Lake, groups: list[RefitGroup], done: dict[str, KeptRefit]) -> None:
    kept_refits = [done[group.mark] for group in groups if group.mark in done]
    lake.put(KEPT, msgspec.json.encode(_File(FORM, kept_refits)))


def groups_of(firm: LakeFirm) -> Iterator[RefitGroup]:
    """Every machine with every sheet it had strips on."""
    rows = firm.ask(f"{firm.named('observations')} ORDER BY machine_grp, sheet_grp, t.job, day, id")
    for _key, mine in groupby(rows, key=lambda row: (row["machine_grp"], row["sheet_grp"])):
        group = list(mine)
        jobs = [_on_job(list(part)) for _job, part in groupby(group, key=_names)]
        name, sheet = group[-1]["machine_name"], group[-1]["sheet_name"]
        yield RefitGroup(name, sheet, msgspec.json.encode(tuple(jobs)))


def _names(row: Row) -> tuple[str, str, str]:
    return row["job"], row["machine"], row["sheet"]


def _on_job(mine: list[Row]) -> SeenOnJob:
    first = mine[0]
    seen = tuple(msgspec.json.decode(row["body"], type=Observation) for row in mine)
    return SeenOnJob(first["job"], first["machine"], first["sheet"], first["sheet_class"], seen)


# -- Dask ----------------------------------------------------------------------------------------


@contextmanager
def client_of(scheduler: str | None, workers: int) -> Iterator[Any]:
    """A client of the scheduler at an address, or of a cluster on this machine."""
    distributed = needed("distributed")
    if scheduler:
        # What is lost is told by us, in one line.
        logging.getLogger("distributed.client").setLevel(logging.CRITICAL)
        try:
            client = distributed.Client(scheduler, timeout=_ANSWER_S)
        except (OSError, ValueError):
            raise NoScheduler(address=scheduler) from None
        with client:
            yield client
        return
    with (
        distributed.LocalCluster(
            n_workers=workers or None,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            silence_logs=logging.CRITICAL,
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


def answers(client: Any, groups: list[RefitGroup]) -> Iterator[tuple[RefitGroup, bytes | None]]:
    """Each group's answer as it comes; None where every worker that took it up was lost.

    Raises:
        SchedulerLost: it went away.
    """
    distributed = needed("distributed")
    try:
        futures = {client.submit(worked, group.text, key=group.mark): group for group in groups}
        for future in distributed.as_completed(list(futures)):
            group = futures.pop(future)
            # Its worker may be lost before the answer is fetched: then another works it out again.
            answers_now = client.gather([future], errors="skip")
            if not answers_now and future.cancelled():
                raise SchedulerLost(address=client.scheduler.address)
            yield group, answers_now[0] if answers_now else None
    except (OSError, distributed.CancelledError):
        raise SchedulerLost(address=client.scheduler.address) from None


class Workers:
    """Who works for a client, and who of them was lost since this was made.

    A scheduler hears of a killed worker when it next looks at its wire, on a busy machine after
    the last answer, so at the end each worker is asked. One that took its leave is not lost.
    """

    def __init__(self, client: Any) -> None:
        """Note who is there; a scheduler that lives on remembers who left before."""
        self._client = client
        self._before = {(at, worker) for at, worker, _expected in self._gone()}
        self._there = set(client.nthreads())

    def lost(self) -> int:
        """Workers lost on the way; Dask gave what they had in hand to others.

        Raises:
            SchedulerLost: nobody is there to ask them.
        """
        try:
            answered = set(self._client.run(os.getpid, on_error="ignore"))
        except OSError:
            raise SchedulerLost(address=self._client.scheduler.address) from None
        now = [going for going in self._gone() if going[:2] not in self._before]
        left = {worker for _at, worker, expected in now if expected}
        killed = {worker for _at, worker, expected in now if not expected}
        return len(killed | (self._there - answered - left))

    def _gone(self) -> list[tuple[float, str, bool]]:
        """When the scheduler heard that a worker went, which, and whether it took its leave."""
        return [
            (at, event["worker"], event.get("expected", False))
            for at, event in self._client.get_events("all")
            if event.get("action") == "remove-worker"
        ]
