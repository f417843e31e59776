"""A go-ahead and how it stands, as every page shows it."""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.go_ahead_rules import permits
from weldcal.quality.standing import Trigger
from weldcal.views.rows import TriedStrip


class GoAhead(Struct, frozen=True):
    """A go-ahead and how it stands.

    Attributes:
        strip: the strip that met the limits.
        level: good, look, strip_again or wait.
        triggers: every rule broken since, those that are over included; stop rules last.
        seams: run id -> seam, of the runs welded on it.
    """

    strip: TriedStrip
    level: str
    triggers: tuple[Trigger, ...]
    seams: dict[str, str]

    @property
    def permits(self) -> bool:
        """Whether a lap may be welded on it now."""
        return permits(self.level)

    @property
    def only_old(self) -> bool:
        """Whether an old reading is all that is against it: a bleed check would not end that."""
        return self._holding == {"reading_age"}

    @property
    def also_old(self) -> bool:
        """Whether an old reading is among what is against it."""
        return "reading_age" in self._holding

    @property
    def _holding(self) -> set[str]:
        return {t.code for t in self.triggers if t.until_s is None}
