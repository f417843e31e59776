"""What the next ply hides: whole laps and stretches of them, until they are opened up.

Invariant: a walk seen after a place was hidden says nothing of that place; next to it, everything.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, TypedDict

from msgspec import Struct

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_SEEN
from weldcal.quality.coverage import Stretch, covers, minus, ordered
from weldcal.row_types.site import CoverRow
from weldcal.rules.on_seam import Tolerances

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.seam_rows import WalkOn


class HowHidden(Struct, frozen=True):
    """How a lap is hidden.

    Attributes:
        all_since: since when all of it is, UTC; None where only stretches are.
        parts: since when a stretch is, UTC, and the stretch, m.
        unprobed: some of it was not probed clean when it was hidden.
    """

    all_since: str | None = None
    parts: tuple[tuple[str, Stretch], ...] = ()
    unprobed: bool = False

    @property
    def stretches(self) -> list[Stretch]:
        """The stretches hidden, where not all of it is."""
        return [stretch for _since, stretch in self.parts]

    def all_of(self, length: float | None, slack: Tolerances) -> bool:
        """Whether no part of a lap is left in reach.

        Args:
            length: of the lap, m; None where nobody listed it.
            slack: how near two places along a lap count as one, by when.
        """
        if self.all_since is not None:
            return True
        if length is None or not self.parts:
            return False
        last = max(since for since, _stretch in self.parts)
        return covers(self.stretches, (0.0, length), slack.at(last))

    def hides(self, place: Stretch) -> bool:
        """Whether a place of the lap is hidden.

        Args:
            place: m from its zero end.
        """
        return self.all_since is not None or covers(self.stretches, place)

    def since(self, seen_utc: str, place: Stretch | None) -> bool:
        """Whether something of the lap was seen after its place was hidden.

        Args:
            seen_utc: when it was seen, UTC.
            place: m from the lap's zero end; None where nobody said.
        """
        if self.all_since is not None and seen_utc > self.all_since:
            return True
        return place is not None and any(
            seen_utc > at and minus([place], [part]) != [place] for at, part in self.parts
        )

    def entered_since(self, walk: WalkOn) -> bool:
        """Whether a walk made before the lap was hidden was entered only afterwards.

        Args:
            walk: of this lap.
        """
        since = [self.all_since] if self.all_since is not None else []
        place = ordered(walk["start_m"], walk["end_m"])
        since += [at for at, part in self.parts if minus([place], [part]) != [place]]
        return any(walk["seen_utc"] <= at < walk["entered_utc"] for at in since)

    def counted(self, walks: Iterable[WalkOn]) -> list[WalkOn]:
        """Walks as they count: without what was hidden when they were seen, or entered.

        Nobody can look again at what was entered after its place was hidden.

        Args:
            walks: of this lap.
        """
        return [part for walk in walks for part in self._in_reach(walk)]

    def _in_reach(self, walk: WalkOn) -> Iterator[WalkOn]:
        known_at = max(walk["seen_utc"], walk["entered_utc"])
        if self.all_since is not None and known_at > self.all_since:
            return
        hidden = [part for at, part in self.parts if known_at > at]
        walked = ordered(walk["start_m"], walk["end_m"])
        left = minus([walked], hidden)
        if left == [walked]:
            yield walk
            return
        for low, high in left:
            yield {**walk, "start_m": low, "end_m": high}


class _Opened(TypedDict):
    """A lap that was opened up."""

    seam_key: str
    seen_utc: str


class _Hides(TypedDict):
    """The columns of a cover-up that say what it hides; lists are JSON."""

    seen_utc: str
    seams: str
    stretches: str
    unprobed: str


class Hiding(Service):
    """What covers hide, and when."""

    _reader: JobReader

    def covers(self) -> dict[str, HowHidden]:
        """Laps hidden now, by key. Opened ones are not."""
        opened: dict[str, str] = {}
        for opening in self._reader.part(_Opened, "openings", "ORDER BY seen_utc"):
            opened[opening["seam_key"]] = opening["seen_utc"]
        by_key: dict[str, HowHidden] = {}
        for row in self._reader.of_job(CoverRow, AS_SEEN):
            for key, was in self.hides(row).items():
                if opened.get(key, "") >= row["seen_utc"]:
                    continue
                before = by_key.get(key, HowHidden())
                by_key[key] = HowHidden(
                    was.all_since or before.all_since,
                    before.parts + was.parts,
                    before.unprobed or was.unprobed,
                )
        return by_key

    def bare_granules(self) -> frozenset[str]:
        """End laps of a next ply over granules that nobody said are embedded, by key."""
        rows = self._reader.column(
            str,
            "SELECT s.seam_key FROM seams s JOIN areas a ON a.job = s.job AND a.name = s.area "
            "WHERE s.job = ?1 AND s.kind = 'end lap' AND s.lap = 'granules' AND a.over IS NOT NULL "
            "AND s.seam_key NOT IN (SELECT seam_key FROM embeddings WHERE job = ?1)",
            (self._reader.job.id,),
        )
        return frozenset(rows)

    def hides(self, row: _Hides) -> dict[str, HowHidden]:
        """What one cover-up hides, by key.

        Args:
            row: of the cover-up.
        """
        at, unprobed = row["seen_utc"], set(json.loads(row["unprobed"]))
        by_key = {key: HowHidden(at, (), key in unprobed) for key in json.loads(row["seams"])}
        for key, low, high in json.loads(row["stretches"]):
            before = by_key.get(key, HowHidden(None, (), key in unprobed))
            by_key[key] = HowHidden(None, (*before.parts, (at, (low, high))), key in unprobed)
        return by_key

    def hidden(self, key: str, place: Stretch | None = None) -> bool:
        """Whether the next ply hides a seam, or a place of it.

        Args:
            key: of the seam.
            place: m from its zero end; all of it, where not given.
        """
        cover = self.covers().get(key)
        if cover is None:
            return False
        return cover.all_since is not None if place is None else cover.hides(place)
