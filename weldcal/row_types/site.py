"""Rows of what happens on a roof besides welding: fire, plies, visits, leaks."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import SeenColumns


class HotWorkRow(SeenColumns):
    """Hot work: its permit, its end and its fire watch.

    Attributes:
        permit: its number.
        extinguisher: which, and where it stands.
        deck, facers, cavities: what they are made of.
        primer_wet: 1 where primer was still wet.
        watch_min: how long somebody has to watch; `watch_source`: who says so.
        ended_utc, ended_local: when the work last ended.
        watched_until_utc, watched_by: the last watch; `watch_found`: what was found.
    """

    permit: str
    extinguisher: str
    deck: str
    facers: str | None
    cavities: str | None
    primer_wet: int | None
    watch_min: float
    watch_source: str
    ended_utc: str | None
    ended_local: str | None
    watched_until_utc: str | None
    watched_by: str | None
    watch_found: str | None
    note: str | None


class CoverRow(SeenColumns):
    """A cover-up of seams or stretches.

    Attributes:
        area: as typed.
        seams: keys of seams hidden whole, a JSON list.
        stretches: [seam key, m, m] of seams hidden in part, a JSON list.
        unprobed: keys of those not probed clean when they were hidden, a JSON list.
    """

    area: str
    seams: str
    stretches: str
    unprobed: str


class OpeningRow(SeenColumns):
    """A covered seam that was opened up."""

    seam: str
    seam_key: str
    note: str | None


class EmbeddingRow(SeenColumns):
    """Granules embedded at a seam.

    Attributes:
        how: in words.
    """

    seam: str
    seam_key: str
    how: str | None


class RollRow(SeenColumns):
    """Rolls of one lot: how they were stored and conditioned.

    Attributes:
        lot: as printed on the wrapper.
        storage, conditioning: in words.
    """

    lot: str
    sheet: str | None
    storage: str | None
    conditioning: str | None
    note: str | None


class LotDoubtRow(SeenColumns):
    """A lot in doubt.

    Attributes:
        lot: as printed on the wrapper; `why`: in words.
    """

    lot: str
    why: str


class SubstrateRow(SeenColumns):
    """The substrate of an area before welding.

    Attributes:
        dry, primed, clean: 1 where it was, 0 where not, None where nobody looked.
    """

    area: str
    dry: int | None
    primed: int | None
    clean: int | None
    note: str | None


class PunchRow(SeenColumns):
    """An item of a visitor's punch list.

    Attributes:
        visitor: who asked for it.
        place: a seam and a distance, or an area, in words.
        what: what is to be done; `done`: what was, None while it is open.
        done_by, done_local: by whom and when.
        look: id of the yearly look it was found on.
    """

    visitor: str
    place: str
    what: str
    done: str | None
    done_by: str | None
    done_local: str | None
    look: str | None


class StartLineRow(SeenColumns):
    """A line of the job's start-up list.

    Attributes:
        line: what it asks; `source`: who asks it.
    """

    line: str
    source: str


class StartAnswerRow(SeenColumns):
    """An answer to a line of the start-up list.

    Attributes:
        line: code of one of the program's lines, or the id of an added one.
        answer: yes, no, or not needed.
    """

    line: str
    answer: str
    note: str | None


class LookRow(SeenColumns):
    """A yearly look at an area, or at the whole roof.

    Attributes:
        area: empty for all of the roof.
    """

    area: str
    note: str | None


class NorthRow(SeenColumns):
    """Where north lies on the plan.

    Attributes:
        degrees: clockwise from the plan's y.
    """

    degrees: float


class DrawRow(SeenColumns):
    """A random draw of peel samples.

    Attributes:
        seed: what the places were drawn by.
        stretches: [seam, m, m] drawn from, a JSON list.
        places: [seam, m] drawn, a JSON list.
    """

    seed: int
    stretches: str
    places: str


class LeakRow(SeenColumns):
    """A leak reported at a point of the plan.

    Attributes:
        x_m, y_m: on the plan.
        where: it was seen inside, or on the roof: inside or roof.
    """

    x_m: float
    y_m: float
    where: str
    note: str | None


class LeakStepRow(TypedDict):
    """A step in the follow-up of a leak.

    Attributes:
        of: id of the leak.
        step: found, mended or looked.
        said: what was found, done or seen, in words.
        dry: of a look after rain, 1 where it was dry.
    """

    id: str
    job: str
    of: str
    step: str
    said: str
    place: str | None
    dry: int | None
    seen_by: str
    seen_utc: str
    seen_local: str
    tick: int
    entered_by: str
    late_h: float
