"""What stands beside a speed advised: what speaks first, and what is to be done with it.

Invariant: gathered by the book, put into words by the page; nothing here judges.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.standing import Trigger


class Stands(Struct, frozen=True):
    """A go-ahead of the kind asked about.

    Attributes:
        level: good, look, strip_again or wait.
        speed, nozzle: its setting as typed.
        mark: its speed as the dial shows it; None where the dial shows another thing.
        until: the time by which somebody has to look again, ISO 8601; None where nothing says.
        only_old: an old reading is all that calls for a look.
    """

    name: str
    level: str
    speed: str
    nozzle: str
    mark: float | None = None
    until: str | None = None
    only_old: bool = False


class Then(Struct, frozen=True):
    """What to do with a speed advised.

    Attributes:
        kind: machine and sheet by name, where the job has more than one of either.
        waits: stop rules broken now.
        read_at: when the sheet (else the air) was read, where that is over its limit.
        pull: the strip of this kind that waits for its pull.
        stands: the newest go-ahead of this kind today.
        was: the speed advised before, m/min.
    """

    kind: tuple[str, ...] = ()
    waits: tuple[Trigger, ...] = ()
    read_at: str | None = None
    pull: str | None = None
    stands: Stands | None = None
    was: float | None = None
