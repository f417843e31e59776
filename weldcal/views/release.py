"""What must be done before the next ply hides a place."""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.coverage import Stretch


class First(Struct, frozen=True):
    """What must be done before a place is hidden: weld, mend, probe, probe_again or doubt."""

    seam: str
    code: str
    stretch: Stretch | None
    finding: str | None = None
