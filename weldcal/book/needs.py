"""What a day needs besides strips and laps: rolls, hand strips, hot work, samples, covers.

Invariant: nothing is recorded or judged here; each is due by what the book holds, so that
nobody is asked for what a job does not use.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import NamedSeam, Service
from weldcal.book.job_reader import AS_SEEN
from weldcal.quality.go_ahead_rules import permits
from weldcal.quantities import tape_typed
from weldcal.records.day import Joint, Needs, Sample, Watching
from weldcal.records.fields import same_name
from weldcal.records.times import stamp, zone
from weldcal.tables.columns import utc

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.job_reader import JobReader
    from weldcal.book.site import Site
    from weldcal.book.standing import GoAheads
    from weldcal.book.upkeep import Upkeep


class _Joint(TypedDict):
    name: str
    joins: str
    joins_at_m: float


class _Welded(TypedDict):
    sheet: str | None
    day: str
    m: float | None


class _Roll(TypedDict):
    m: float | None


class Needing(Service):
    """What a day needs besides strips and laps: power, rolls, hot work, samples."""

    _reader: JobReader
    _doubting: Doubting
    _go_aheads: GoAheads
    _site: Site
    _upkeep: Upkeep

    def welding_needs(self, date: str, *, by_hand: bool) -> Needs:
        """What the operator is asked besides strips and laps.

        Args:
            date: the job's day.
            by_hand: whether the next lap is welded by hand.
        """
        lots = self._reader.column(
            str,
            "SELECT lot FROM rolls WHERE job = ?1 UNION "
            "SELECT roll_lot FROM runs WHERE job = ?1 AND roll_lot IS NOT NULL",
            (self._reader.job.id,),
        )
        return Needs(
            lots=tuple(dict.fromkeys(lots)),
            new_roll=bool(lots) and self._new_roll(date),
            hand_strip=by_hand and not self._hand_stands(),
            start_up=self._start_up(unasked=False),
            hot_work=self._hot_work_going(),
            watch=self._watch(),
        )

    def probing_needs(self) -> Needs:
        """What the inspector is asked: places drawn for samples, T-joints on the laps."""
        names = {
            row["seam_key"]: row["name"]
            for row in self._reader.select(NamedSeam, _SEAMS, (self._reader.job.id,))
        }
        units = self._reader.job.units
        return Needs(
            samples=tuple(
                Sample(names.get(key, key), tape_typed(at, units))
                for key, at in self._doubting.drawn_places()
            ),
            joints=tuple(
                Joint(row["name"], names[row["joins"]], row["joins_at_m"])
                for row in self._reader.select(_Joint, _JOINTS, (self._reader.job.id,))
                if row["joins"] in names
            ),
        )

    def evening_needs(self) -> Needs:
        """What the foreman is asked: hot work and its watch; what the next ply hid."""
        covers = self._reader.each_of(int, "1", "covers", "LIMIT 1")
        return Needs(
            covers=bool(covers),
            start_up=self._start_up(unasked=True),
            hot_work=self._hot_work_going(),
            watch=self._watch(),
        )

    def _start_up(self, *, unasked: bool) -> str | None:
        """Lines of the start-up list that are open before the first lap of a job.

        Args:
            unasked: also where nobody has answered or added a line yet: the foreman is asked
                first, an operator where the job uses the list.
        """
        if not self._upkeep.start_up_note():
            return None
        used = any(one.answer or one.added for one in self._upkeep.start_up())
        return spans(one.n for one in self._upkeep.start_up_open()) if used or unasked else None

    def by_hand_to_pull(self, date: str) -> tuple[str, ...]:
        """Strips of a day made by hand whose pull was not tried, in order.

        Args:
            date: the job's day.
        """
        names = self._reader.each_of(
            str,
            "name",
            "strips",
            f"AND day = ? AND by_hand AND bond = 'not tried' {AS_SEEN}",
            date,
        )
        return tuple(names)

    def _new_roll(self, date: str) -> bool:
        """Whether a new roll is likely begun: the day's first lap, or a roll's length welded."""
        runs = self._reader.select(
            _Welded,
            "SELECT sheet, day, abs(end_m - start_m) AS m FROM runs WHERE job = ? AND NOT by_hand "
            "ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        )
        today = [run for run in runs if run["day"] == date]
        if not today:
            return True
        sheet, last = today[-1]["sheet"], today[-1]["m"] or 0.0
        rolls = self._reader.select(
            _Roll,
            "SELECT roll_length_m AS m FROM sheets WHERE job = ? AND name = ?",
            (self._reader.job.id, sheet),
        )
        length = rolls[0]["m"] if rolls else None
        total = sum(run["m"] or 0.0 for run in runs if run["sheet"] == sheet)
        if not length:
            return False
        return total // length > (total - last) // length

    def _hand_stands(self) -> bool:
        """Whether the person typing has a hand strip that permits welding now."""
        me = same_name(self._reader.person())
        return any(
            permits(go_ahead.level)
            for go_ahead in self._go_aheads.by_hand()
            if same_name(go_ahead.strip["seen_by"]) == me
        )

    def _hot_work_going(self) -> str | None:
        """The latest hot work not ended."""
        going = [row["name"] for row in self._site.unwatched() if row["ended_utc"] is None]
        return going[-1] if going else None

    def _watch(self) -> Watching | None:
        """The latest hot work ended whose watch is not stood in full."""
        for row in reversed(self._site.unwatched()):
            if row["ended_utc"] is None:
                continue
            until = datetime.fromisoformat(row["ended_utc"]) + timedelta(minutes=row["watch_min"])
            clock = f"{until.astimezone(zone(self._reader.job.zone)):%H:%M}"
            over = utc(stamp(until)) <= utc(stamp(self._reader.now()))
            return Watching(row["name"], clock, row["watch_source"], over)
        return None


def spans(numbers: Iterable[int]) -> str:
    """Numbers as they are typed, the smallest first: 1-3,7."""
    runs: list[list[int]] = []
    for n in sorted(numbers):
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ",".join(f"{run[0]}-{run[-1]}" if run[1:] else str(run[0]) for run in runs)


_SEAMS = "SELECT seam_key, name FROM seams WHERE job = ? ORDER BY tick DESC, device DESC"


_JOINTS = (
    "SELECT name, joins, joins_at_m FROM seams WHERE job = ? AND kind = 'T-joint' "
    "AND joins IS NOT NULL AND joins_at_m IS NOT NULL ORDER BY joins_at_m"
)
