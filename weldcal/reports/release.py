"""What must be welded, mended, probed or cut before the next ply hides it: on screen and paper."""

from __future__ import annotations

from collections.abc import Sequence

from weldcal import settings
from weldcal.reports import show
from weldcal.reports.forms import Form, FormColumn, subtitle
from weldcal.views.seam import First
from weldcal.words import _


def what(first: First) -> str:
    """What is to be done, in words."""
    sentences = {
        "weld": _("weld it to its end"),
        "mend": _("mend {finding}, then probe it", finding=first.finding or ""),
        "probe": _("probe it"),
        "probe_again": _("probe again, {finding} was mended", finding=first.finding or ""),
        "doubt": _("in doubt: weldcal doubt says what would clear it"),
    }
    return sentences[first.code]


def where(first: First, units: str) -> str:
    """Which stretch of its seam."""
    return show.stretches((first.stretch,), units) if first.stretch else _("all of it")


def lines(area: str, found: Sequence[First], units: str) -> list[str]:
    """The list in lines."""
    if not found:
        return [
            _(
                "{area}: nothing to be done first; it is probed with no open finding.",
                area=show.safe(area),
            )
        ]
    head = _("Before the next ply hides {area}:", area=show.safe(area))
    return [head] + [f"- {show.safe(one.seam)}, {where(one, units)}: {what(one)}" for one in found]


def form(job: str, units: str, made: str, area: str, found: Sequence[First]) -> Form:
    """The release sheet, to be ticked off and signed before the next ply."""
    columns = (
        FormColumn(_("Seam"), "seam", 1.4),
        FormColumn(_("Where"), "where", 1.8),
        FormColumn(_("To be done first"), "what", 3.4),
        FormColumn(_("Done, time"), "done", 1.2),
        FormColumn(_("By"), "by", 1.2),
    )
    rows = tuple((show.safe(one.seam), where(one, units), what(one), "", "") for one in found)
    return Form(
        title=_("Release for the next ply: {area}", area=show.safe(area)),
        subtitle=subtitle(job, units),
        language=settings.language(),
        made=made,
        columns=columns,
        rows=rows,
        blank=3,
        how=_(
            "Nothing here is hidden before its row is done, or the inspector says so in writing. Released by (inspector): ____________________  Date, time: ______________  Taken over by (foreman): ____________________  Then: weldcal cover {area}",
            area=show.safe(area),
        ),
    )
