"""The usual cautions, shown before the first strip of a day.

Invariant: they never replace the sheet maker's instructions, local codes or
licensed practice, and say so. Numbers have their source beside them.
"""

from __future__ import annotations

from weldcal.words import _


def short() -> list[str]:
    """The lines shown before the first strip of a day."""
    return [
        _("BEFORE HOT AIR TODAY"),
        _(
            "- Hot air near 500 °C (932 °F) lights common roof materials from about 300 °C (570 °F): scrap over something that does not burn, extinguisher at hand, permit and fire watch as your permit and local code set."
        ),
        _(
            "- Nozzle, roller and lap burn skin. Gloves, sleeves; let a strip cool before you pull it."
        ),
        _(
            "- Edges and openings: fall protection first. Walk the machine, never back toward an edge."
        ),
        _(
            "- Power: ground-fault protection, whole cord, nothing wet, cord uncoiled. A licensed electrician decides."
        ),
        _("- Fumes and heat: stay upwind, drink, rest in shade."),
        _("- Never type while the machine travels."),
        _(
            "The sheet maker's instructions, local codes and licensed practice come before anything shown here."
        ),
    ]
