"""What a pattern among strips may come from, and the one look or reading that tells it apart.

Invariant: a table that a roofer can correct; nothing is computed here. Within a pattern the
causes stand in the order in which they are looked at: likeliest and quickest first. That order,
and every row, is common practice, no source. Which pattern it is comes from the strips.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.words import mark

SOURCE = mark("common practice, no source")


class PossibleCause(Struct, frozen=True):
    """One cause: in words, and the look or reading that tells it from the others."""

    cause: str
    look: str


PATTERNS = {
    "too_little": mark("much less bleed-out than this setting gave before"),
    "too_much": mark("much more bleed-out than this setting gave before"),
    "bubbling_anyway": mark("it bubbles more than the heat explains"),
    "cold_anyway": mark("it parts cold although the bleed-out is there"),
    "thin_and_bubbling": mark("thin and bubbling at once: heat alone does neither with the other"),
    "wrong_order": mark("the slower strip gave clearly less than the faster one"),
    "uneven": mark("very uneven along the strip"),
}

_LIGHT_ROLLER = PossibleCause(
    mark("roller lifted or light"),
    mark("look whether the roller runs on the lap with all its load"),
)
_ANOTHER_SHEET = PossibleCause(
    mark("another lot or sheet"),
    mark("read the roll's label; weld a piece of the old roll beside it"),
)
_WATER = PossibleCause(
    mark("water in, on or under the sheet"),
    mark("press dry paper on both faces and below; weld a piece that was kept dry"),
)
_FILM = PossibleCause(
    mark("film not burned off"),
    mark("open the lap when cold: look for film left in the weld"),
)

CAUSES: dict[str, tuple[PossibleCause, ...]] = {
    "too_little": (
        PossibleCause(
            mark("nozzle partly blocked, or knocked out of place"),
            mark(
                "machine off and cold: look into the slot, and at how far it reaches into the lap"
            ),
        ),
        PossibleCause(
            mark("line voltage sagging"),
            mark("read the voltage at the machine while it heats"),
        ),
        PossibleCause(
            mark("a heater element out, or a clogged air inlet"),
            mark("measure the air at the nozzle against what is set; look at the inlet's screen"),
        ),
        PossibleCause(
            mark("the drive runs faster than the dial says"),
            mark("time it over a measured length: weldcal machine measure"),
        ),
        _LIGHT_ROLLER,
        _ANOTHER_SHEET,
    ),
    "too_much": (
        PossibleCause(
            mark("the drive runs slower than the dial says, or slips"),
            mark("time it over a measured length: weldcal machine measure"),
        ),
        PossibleCause(
            mark("the sheet is warmer than it was read"),
            mark("read the sheet's temperature now"),
        ),
        PossibleCause(
            mark("the air is hotter than set"),
            mark("measure the air at the nozzle against what is set"),
        ),
        _ANOTHER_SHEET,
    ),
    "bubbling_anyway": (
        _WATER,
        _FILM,
        PossibleCause(
            mark("air hotter than set"),
            mark("measure the air at the nozzle against what is set"),
        ),
        PossibleCause(
            mark("air trapped, roller light or late"),
            mark("look where the bubbles are: in a row behind the roller's edge?"),
        ),
    ),
    "cold_anyway": (
        PossibleCause(
            mark("pulled before it was cold"),
            mark("feel the lap; let the next one cool before it is pulled"),
        ),
        PossibleCause(
            mark("film not burned off"),
            mark("look at the parted faces: film, or compound against compound?"),
        ),
        PossibleCause(
            mark("dust or loose granules"),
            mark("wipe both faces with a white rag before the next strip"),
        ),
        PossibleCause(
            mark("damp"),
            mark("press dry paper on both faces; compare the sheet with the dew point"),
        ),
        _LIGHT_ROLLER,
    ),
    "thin_and_bubbling": (
        _WATER,
        PossibleCause(
            mark("nozzle too high or aside: it scorches the top and leaves the lap cold"),
            mark("machine off and cold: look how far the nozzle reaches into the lap"),
        ),
        _FILM,
        _LIGHT_ROLLER,
    ),
    "wrong_order": (
        PossibleCause(
            mark("two strips mixed up, or one mistyped"),
            mark("lay both strips beside the record and measure them again: weldcal amend"),
        ),
        PossibleCause(
            mark("the drive does not run at what the dial says"),
            mark("time it over a measured length: weldcal machine measure"),
        ),
        PossibleCause(
            mark("something changed between the two"),
            mark("make the first one again at its setting"),
        ),
    ),
    "uneven": (
        PossibleCause(
            mark("gusts"),
            mark("look whether thin and thick came with the wind; make one behind a screen"),
        ),
        PossibleCause(
            mark("drive or hand slipping"),
            mark("look for a rhythm along the strip; time it over a measured length"),
        ),
        PossibleCause(
            mark("wrinkles, or an uneven support"),
            mark("lay the next strip flat on a firm base"),
        ),
    ),
}
