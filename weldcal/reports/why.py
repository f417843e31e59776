"""Why the advice is what it is: each strip and reading, and what would be advised without it.

Invariant: only what was read or tried can be a reason.
"""

from __future__ import annotations

from weldcal.calibration.observation import AdviceReason
from weldcal.reports import show, signs
from weldcal.views.dialled import Dialled
from weldcal.words import _, plural


def lines(dialled: Dialled, units: str) -> list[str]:
    """Each reason that moves the advice by a step of the dial, a line each."""
    reasons = [
        r
        for r in dialled.advice.reasons
        if r.code in ("common_practice", "firm") or show.moves(r.effect, units)
    ]
    if not reasons:
        return [_("Why: no single strip or reading of today moves it by a step of the dial.")]
    return [_("Why:"), *(f"- {_reason(r, units)}" for r in reasons)]


def _reason(reason: AdviceReason, units: str) -> str:
    moved = show.speed_change(reason.effect, units)
    if reason.code == "firm":
        return plural(
            "no good strip yet: starts from what {n} other job taught",
            "no good strip yet: starts from what {n} other jobs taught",
            int(reason.number("jobs")),
        )
    if reason.code == "common_practice":
        return _(
            "no good strip yet: starts from common practice, {speed} at {nozzle}",
            speed=show.speed(reason.number("speed_m_per_min"), units),
            nozzle=show.temperature(reason.number("nozzle_c"), units),
        )
    if reason.code == "strip":
        return signs.reason(reason, units)
    pair = _now_and_then(reason, units)
    label = {
        "sheet_temperature": _("the sheet's temperature"),
        "nozzle": _("the nozzle temperature"),
        "wind": _("wind"),
        "voltage": _("line voltage"),
        "ambient": _("the air's temperature, the sheet not being read"),
    }.get(reason.code, reason.code.replace("_", " "))
    without = show.speed(reason.number("without_m_per_min"), units)
    if pair:
        return f"{label}{pair}: {moved}"
    return _("{label}: without it {without}, {moved}", label=label, without=without, moved=moved)


def _now_and_then(reason: AdviceReason, units: str) -> str:
    for key, form in (
        ("sheet_c", show.temperature),
        ("ambient_c", show.temperature),
        ("nozzle_c", show.temperature),
        ("wind_m_per_s", show.wind),
        ("line_v", lambda x, _u: f"{x:.0f} V"),
    ):
        at = (f"then_{key}", f"now_{key}")
        if all(reason.values.get(name) is not None for name in at):
            then, now = (reason.number(name) for name in at)
            return _(" {then} then, {now} now", then=form(then, units), now=form(now, units))
    return ""
