"""Power at the machine in words: what a cord costs, and what decides beyond that.

Invariant: voltage drop alone never decides a cord, and the page says what does.
"""

from __future__ import annotations

from msgspec import to_builtins

from weldcal.json_values import JsonObject
from weldcal.physics.power import BRANCH_SHARE, SHARE_SOURCE, TOTAL_SHARE, Drop, GaugeAnswer, Supply
from weldcal.reports import show
from weldcal.words import _, mark

_POWER_CAUTIONS = {
    "ampacity": mark("ampacity: what the conductor may carry without overheating"),
    "cord_rating": mark("the cord's own rating and length"),
    "coiling": mark("a coiled cord overheats: uncoil it"),
    "ground_fault": mark("ground-fault protection"),
    "licensed_electrician": mark("a licensed electrician"),
}


def page(supply: Supply, drop: Drop | None, answer: GaugeAnswer, units: str) -> list[str]:
    """What a cord does to the voltage, and what gauge would hold a drop."""
    return [
        *([] if drop is None else _lost(supply, drop, units)),
        _thinnest(answer),
        _("What is advised: {source}.", source=_(SHARE_SOURCE)),
        _("Voltage drop alone never decides a cord. These decide:"),
        *(f"- {_(_POWER_CAUTIONS[c])}" for c in answer.cautions),
    ]


def _lost(supply: Supply, drop: Drop, units: str) -> list[str]:
    """What a cord costs."""
    lines = [
        _(
            "{cord}, {length} one way, {amps:.1f} A: {v:.1f} V lost ({share:.1f} %), {left:.0f} V at the machine.",
            cord=drop.conductor,
            length=show.distance(supply.length_m, units),
            amps=drop.current_a,
            v=drop.drop_v,
            share=100 * drop.share,
            left=drop.machine_v,
        ),
        _(
            "The heater has {share:.1f} % less power than with no cord (power goes as V²).",
            share=100 * drop.heater_lost,
        ),
    ]
    if drop.share > TOTAL_SHARE:
        total = 100 * TOTAL_SHARE
        lines.append(_("That is more than the {total:.0f} % advised in all.", total=total))
    return lines


def _thinnest(answer: GaugeAnswer) -> str:
    """The thinnest conductor that holds what may be lost."""
    best, most = answer.drop, 100 * answer.most_share
    if best is None:
        return _(
            "No conductor of the table holds {most:.0f} %: shorten the cord or feed it otherwise.",
            most=most,
        )
    return _(
        "{cord} would lose {share:.1f} % (aim {most:.0f} %).",
        cord=best.conductor,
        share=100 * best.share,
        most=most,
    )


def document(drop: Drop | None, answer: GaugeAnswer) -> JsonObject:
    """The same as JSON."""
    return {
        "drop": to_builtins(drop),
        "gauge": to_builtins(answer.drop),
        "cautions": list(answer.cautions),
        "most_share": answer.most_share,
        "branch_share": BRANCH_SHARE,
        "total_share": TOTAL_SHARE,
        "share_source": SHARE_SOURCE,
    }
