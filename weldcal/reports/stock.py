"""Lots with their laps, and visitors' punch lists, in lines."""

from __future__ import annotations

from weldcal.reports import show
from weldcal.row_types.site import PunchRow
from weldcal.views.rows import Lot
from weldcal.words import _


def lots(found: list[Lot], units: str) -> list[str]:
    """Every lot with the laps it went into."""
    if not found:
        return [_("No roll is recorded. Record one: weldcal roll add LOT")]
    lines = []
    for lot in found:
        lap_texts = [
            _("{what}: {text}", what=what, text=show.safe(text))
            for row in lot.rolls
            for what, text in ((_("kept"), row["storage"]), (_("conditioned"), row["conditioning"]))
            if text
        ]
        lines.append("; ".join([_("Lot {lot}", lot=show.safe(lot.lot)), *lap_texts]))
        lines += [
            _("IN DOUBT: {why}; {by}", why=show.safe(row["why"]), by=show.safe(row["seen_by"]))
            for row in lot.doubts
        ]
        for seam, start, end in lot.laps:
            where = _("not finished") if end is None else show.stretches(((start, end),), units)
            lines.append(f"- {show.safe(seam)}, {where}")
        if not lot.laps:
            lines.append(_("- no run names it"))
    return lines


def punch(items: list[PunchRow]) -> list[str]:
    """Items, the open ones first."""
    return [item(row) for row in sorted(items, key=lambda row: row["done"] is not None)]


def item(row: PunchRow) -> str:
    """One item, and what was done about it."""
    values = {
        "name": row["name"],
        "place": show.safe(row["place"]),
        "what": show.safe(row["what"]),
        "visitor": _(row["visitor"]) if row["look"] else show.safe(row["visitor"]),
    }
    if row["done"] is None:
        return _("{name} OPEN, {place}: {what}; {visitor}", **values)
    return _(
        "{name}, {place}: {what}; {visitor}; settled: {done}, {by}",
        **values,
        done=show.safe(row["done"]),
        by=show.safe(row["done_by"]),
    )
