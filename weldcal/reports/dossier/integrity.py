"""The integrity page: how independent the proof is, counted; never a mark for quality.

Invariant: every question stands with its number, out of how many, and what it means.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.reports.dossier.document import Para, Section, table
from weldcal.views.dossier import Tell
from weldcal.words import _


def section(counts: Sequence[Tell]) -> Section:
    """The page."""
    cells = [(_question(one.code), _number(one), _names(one), _means(one.code)) for one in counts]
    return Section(
        _("How independent the proof is"),
        (
            Para(
                _(
                    "These are counts of who recorded what, and when. A high number is no proof that work is bad, nor a low one that it is good."
                )
            ),
            table(
                _("Independence, counted"),
                [_("Question"), _("Number"), _("Which, by whom"), _("What it means")],
                cells,
                (),
                (2.2, 0.9, 1.8, 2.6),
            ),
        ),
    )


def _number(one: Tell) -> str:
    if one.of is None:
        return str(one.n)
    return _("{n} of {of}", n=one.n, of=one.of)


def _names(one: Tell) -> str:
    who = {
        "welder": _("by the welder of the seam or strip"),
        "finder": _("by the one who recorded it"),
        "other": _("by another"),
    }
    by = "; ".join(f"{who[kind]}: {n}" for kind, n in sorted(one.by.items()))
    names = ", ".join(one.names) + (" …" if one.n > len(one.names) else "")
    return "; ".join(part for part in (names, by) if part)


def _question(code: str) -> str:
    return {
        "undone": _("Failures taken back: findings, samples and strips that failed"),
        "amended": _("Failures corrected into passes"),
        "late": _("Work on seams entered over an hour after it was seen"),
        "entered_after_cover": _("Seams with a walk entered after the cover-up, for before it"),
        "worked_on_after_cover": _("Seams with work recorded while the next ply hid them"),
        "too_fast": _("Walks too fast to probe, of those with both times"),
        "too_soon": _("Seams walked before the lap was cold"),
        "two_places": _("One person at two seams at one time, of all timed walks and runs"),
        "self_probed": _("Seams probed by who welded them, of all probed"),
        "no_permit": _("Days welded with no hot work recorded"),
        "no_watch": _("Hot work without its end or its whole watch"),
        "no_bleed": _("Seams welded by machine with no bleed check"),
        "alike": _("Names with invisible signs, or that look like another"),
    }[code]


def _means(code: str) -> str:
    return {
        "undone": _(
            "Each still stands in the record. One that the welder took back had no second look."
        ),
        "amended": _("The first value still stands in the record, with the reason."),
        "late": _("Entered from memory or paper; the order of events rests on the person."),
        "entered_after_cover": _("Such a walk does not count as probing: nobody can look again."),
        "worked_on_after_cover": _("It was opened up, or it was not done then."),
        "too_fast": _(
            "Over 15 m/min (site setting, no source): the lap was passed, hardly probed."
        ),
        "too_soon": _("A warm lap says nothing: such a walk does not count."),
        "two_places": _("A time was typed wrong, or a name."),
        "self_probed": _("Nobody else has looked at these laps."),
        "no_permit": _("No proof that none was held: see the permits on paper."),
        "no_watch": _("No proof that nobody watched: see the permits on paper."),
        "no_bleed": _("Their only sign of heat is the go-ahead of their strip."),
        "alike": _("Two names may be one person or seam, or one name two."),
    }[code]
