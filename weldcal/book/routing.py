"""Where the inspector walks next: all that waits for a probe or a cut, as one way round the roof.

Invariant: nothing hidden, and nothing still warm, is on the way; what is warm is said with the
time from which it is cold.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.book.seams import SeamFound, in_reach
from weldcal.quality.coverage import Stretch, minus, ordered
from weldcal.quality.leak import point_on
from weldcal.quality.route import Leg, Point, Route, Task, length, way
from weldcal.records.fields import same_name
from weldcal.records.times import zone
from weldcal.rules import on_plan
from weldcal.tables.columns import utc

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.job_reader import JobReader
    from weldcal.book.roof import SeamStates
    from weldcal.book.seam_rows import RunOn


class Routing(Service):
    """Where the inspector walks next."""

    _reader: JobReader
    _doubting: Doubting
    _roof: SeamStates

    def route(self, begin: Point = (0.0, 0.0)) -> Route:
        """What is cold and unprobed, mended, in doubt, drawn or to be cut, in walking order.

        Args:
            begin: where the walk begins, m on the plan.
        """
        with self._reader.snapshot():
            roof = self._roof.view()
            tasks, warm = self._tasks(roof)
        legs = [
            _leg(seam, tasks[same_name(seam["name"])])
            for seam in roof
            if same_name(seam["name"]) in tasks
        ]
        order = way(legs, begin)
        return Route(order, length(order, begin), tuple(sorted(warm.items())), begin)

    def _tasks(self, roof: list[SeamFound]) -> tuple[dict[str, list[Task]], dict[str, str]]:
        """Tasks by seam, and what is still warm."""
        now = utc(self._reader.now().isoformat())
        tasks: dict[str, list[Task]] = {}
        warm: dict[str, str] = {}
        for seam in roof:
            mine, cold_at = _of_seam(seam, now)
            if mine:
                tasks[same_name(seam["name"])] = mine
            joint = seam["seam"] and seam["seam"]["joins"] and not seam["state"].again
            if cold_at and not joint:  # a joint is as warm as its laps, which are named
                local = datetime.fromisoformat(cold_at).astimezone(zone(self._reader.job.zone))
                warm[seam["name"]] = f"{local:%H:%M}"
        hidden = {same_name(seam["name"]): seam["hidden"] for seam in roof}
        for key, task in self._of_doubts_and_draws():
            if minus([ordered(task.from_m, task.to_m)], hidden.get(key, [])):
                tasks.setdefault(key, []).append(task)
        # A T-joint is probed with the side lap it lies on, where that is on the way.
        for seam in roof:
            row, key = seam["seam"], same_name(seam["name"])
            if row and row["joins"] and key in tasks and row["joins"] in tasks:
                at = row["joins_at_m"] or 0.0
                tasks[row["joins"]].append(Task("t_joint", at, at, seam["name"]))
                del tasks[key]
        return tasks, warm

    def _of_doubts_and_draws(self) -> list[tuple[str, Task]]:
        tasks = []
        for doubt in self._doubting.doubt().doubts:
            for clear in doubt.clears:
                if clear.code == "probe_again":
                    place = clear.place
                    span = (place.start_m, place.end_m)
                    tasks.append((place.seam, Task("doubt", *span, doubt.failure)))
        cuts = self._doubting.cuts()
        for cut in cuts:
            at = cut.place.start_m
            tasks.append((cut.place.seam, Task("cut", at, at, ", ".join(cut.clears))))
        taken = {(cut.place.seam, cut.place.start_m) for cut in cuts}
        tasks += [
            (key, Task("draw", at, at))
            for key, at in self._doubting.drawn_places()
            if (key, at) not in taken
        ]
        return tasks


def _of_seam(seam: SeamFound, now: str) -> tuple[list[Task], str | None]:
    """The stretches of a seam to be probed now, and from when the rest is cold."""
    tasks, later = [], []
    for low, high in in_reach(seam):
        cold = _cold(seam["welds"], (low, high))
        if cold <= now:
            tasks.append(Task("probe", low, high))
        else:
            later.append(cold)
    mends = seam["rows"].mends
    ids = {row["name"]: row["id"] for row in seam["rows"].findings}
    for again in seam["state"].again:
        cold = max(
            (m["cold_utc"] or "" for m in mends if m["finding"] == ids[again.finding]), default=""
        )
        for low, high in minus(again.stretches, seam["hidden"]):
            if cold <= now:
                tasks.append(Task("probe_again", low, high, again.finding))
            else:
                later.append(cold)
    return tasks, max(later, default=None)


def _cold(runs: Sequence[RunOn], place: Stretch) -> str:
    """From when a stretch is cold: the last of its runs."""
    return max(
        (
            run["cold_utc"] or ""
            for run in runs
            if run["end_m"] is not None
            and minus([place], [ordered(run["start_m"], run["end_m"])]) != [place]
        ),
        default="",
    )


def _leg(seam_found: SeamFound, tasks: list[Task]) -> Leg:
    """A lap with its tasks, from the first of them to the last."""
    in_order = tuple(sorted(tasks, key=lambda task: (task.from_m, task.to_m, task.code)))
    seam = seam_found["seam"]
    ends = on_plan.ends(seam)
    if seam is None or ends is None:
        return Leg(seam_found["name"], in_order)
    low, high = in_order[0].from_m, max(task.to_m for task in in_order)
    start, end = (point_on(*ends, seam["length_m"], at) for at in (low, high))
    return Leg(seam_found["name"], in_order, start, end)
