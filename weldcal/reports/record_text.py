"""What one record of a seam says, in words: without when and by whom.

Invariant: all that was recorded is shown; a carried-over value and a correction say that they
are one.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import datetime

from weldcal.records.notes import USUAL_REASONS
from weldcal.reports import corrected, shortfalls, show
from weldcal.row_types.record import WithdrawnRow
from weldcal.views import rows, trace
from weldcal.views.trace import SeamEvent
from weldcal.words import _


def record_text(event: SeamEvent, units: str) -> str:
    """What a record says: little of each kind, then what few say, or somebody in their own words."""
    said = _SAID[type(event)](event.row, units)
    return said if isinstance(said, str) else "; ".join(said)


def _why(why: str | None) -> Iterator[str]:
    if why:
        yield _("ended because: {why}", why=show.safe(why))


def _lot(lot: str | None) -> Iterator[str]:
    if lot:
        yield _("roll lot {lot}", lot=show.safe(lot))


def _note(note: str | None) -> Iterator[str]:
    if note:
        yield _("note: {note}", note=show.safe(note))


def _finish(row: rows.MarkedFinish, units: str) -> Iterator[str]:
    yield _("finish at {at}, its start not known here", at=show.tape(row["end_m"], units))
    yield from _why(row["why"])


def _strip(row: rows.JudgedStrip, units: str) -> Iterator[str]:
    short = shortfalls.listed(row["shortfalls"], units)
    yield _(
        "go-ahead strip: {setting}, {conditions}; bleed-out {readings}, bubbling {bubbling}, pull {bond}; {verdict}",
        setting=_setting(row, units),
        conditions=_conditions(row, units),
        readings=show.safe(" ".join(row["readings"])),
        bubbling=_(row["bubbling"] or "–"),
        bond=_(row["bond"])
        + (_(" by {name}", name=show.safe(row["pulled_by"])) if row["pulled_by"] else ""),
        verdict=_("met the limits") if not short else "; ".join(short),
    )
    yield from [_("smoke")] if row["smoke"] else []
    yield from _lot(row["roll_lot"])
    yield from _note(row["note"])


def _run(row: rows.MarkedRun, units: str) -> Iterator[str]:
    to = show.tape(row["end_m"], units) if row["end_m"] is not None else _("not finished")
    how = _setting(row, units) if row["machine"] else _("by hand")
    warned = shortfalls.warned(row["warnings"])
    finisher = row["finished_by"]
    if finisher and finisher != row["seen_by"]:
        to += _(" (finished by {name})", name=show.safe(finisher))
    text = _(
        "run {start} to {end}: {how}, {conditions}",
        start=show.tape(row["start_m"], units),
        end=to,
        how=how,
        conditions=_conditions(row, units),
    )
    yield text + (f"; {_('WARNING')}: {warned}" if warned else "")
    yield from [_("the power was lost")] if row["power_lost"] else []
    yield from _why(row["why_finished"])
    yield from _lot(row["roll_lot"])
    yield from _note(row["note"])


def _lap_width(row: rows.MarkedWidth, units: str) -> Iterator[str]:
    text = _(
        "lap width at {at}: {width}",
        at=show.tape(row["at_m"], units),
        width=show.limit_width(row["overlap_mm"], units),
    )
    if row["bonded_mm"] is not None:
        text += _(", bonded {width}", width=show.limit_width(row["bonded_mm"], units))
    yield text
    yield from _note(row["note"])


def _bleed(row: rows.JudgedBleed, units: str) -> Iterator[str]:
    yield _(
        "bleed check at {at}: {readings}",
        at=show.tape(row["at_m"], units),
        readings=show.safe(" ".join(row["readings"])),
    )
    if row["bubbling"]:
        yield _("bubbling {bubbling}", bubbling=_(row["bubbling"]))
    if found := row.get("shortfalls"):
        short = shortfalls.listed(found, units)
        yield _("OUTSIDE THE LIMITS: {why}", why="; ".join(short))
    yield from _note(row["note"])


def _walk(row: rows.MarkedWalk, units: str) -> Iterator[str]:
    yield _(
        "probe walk {start} to {end}",
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
    )
    if row["started_utc"]:
        zone = datetime.fromisoformat(row["seen_local"]).tzinfo
        begun = datetime.fromisoformat(row["started_utc"]).astimezone(zone).isoformat()
        yield _("begun {at}", at=show.clock(begun, date=begun[:10] != row["seen_local"][:10]))
    yield from _note(row["note"])


def _finding(row: rows.MarkedFinding, units: str) -> Iterator[str]:
    yield _(
        "finding: {kind} from {start} to {end}, {how}",
        kind=_(row["kind"]),
        how=_(row["how"]),
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
    )
    if row["depth_mm"] is not None:
        yield _("{depth} deep", depth=show.limit_width(row["depth_mm"], units))
    yield from _note(row["note"])


def _mend(row: rows.MarkedMend, units: str) -> Iterator[str]:
    yield _(
        "mend from {start} to {end}: {method}{tool}",
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
        method=show.safe(row["method"]),
        tool=f", {show.safe(row['tool'])}" if row["tool"] else "",
    )
    if row["patch_mm"] is not None:
        yield _("patch size {size}", size=show.limit_width(row["patch_mm"], units))
    yield from _note(row["note"])


def _peel(row: rows.MarkedPeel, units: str) -> Iterator[str]:
    load = f", {show.line_load(row['n_per_mm'], units)}" if row["n_per_mm"] is not None else ""
    values = {"parted": _(row["parted"]), "load": load + _pulled_how(row, units)}
    if row["at_m"] is None:
        yield _("peel sample of the go-ahead strip: parted {parted}{load}", **values)
    else:
        at = show.tape(row["at_m"], units)
        yield _("peel sample at {at}: parted {parted}{load}", at=at, **values)
    yield from _note(row["note"])


def _pulled_how(row: rows.MarkedPeel, units: str) -> str:
    """How warm a sample was and how fast it was pulled, where somebody said."""
    parts = []
    if row["sample_c"] is not None:
        parts.append(_("sample at {temp}", temp=show.temperature(row["sample_c"], units)))
    if row["pull_mm_per_min"] is not None:
        parts.append(_("pulled at {rate}", rate=show.pull_rate(row["pull_mm_per_min"], units)))
    return "".join(f", {part}" for part in parts)


def _amend(row: rows.TracedAmendment, _units: str) -> str:
    if row["path"] == "withdrawn":
        why = _(row["why"]) if row["why"] in USUAL_REASONS else show.safe(row["why"])
        withdrawn = row["new"] == "true"
        if row["of_kind"]:
            from weldcal.reports.taken_back import kind_word

            values = {"kind": kind_word(row["of_kind"]), "why": why, "by": _by(row)}
            return (
                _("{kind} taken back: {why}; {by}", **values)
                if withdrawn
                else _("{kind} put back: {why}; {by}", **values)
            )
        if withdrawn:
            return _("taken back: {why}; {by}", why=why, by=_by(row))
        return _("put back: {why}; {by}", why=why, by=_by(row))
    clash = _(" (CONFLICT: another correction of the same value)") if row["conflict"] else ""
    return _(
        "correction of {name}, {field}: {old} became {new}; {why}; {by}{clash}",
        name=show.safe(row["name"]),
        field=corrected.field(row["path"]),
        old=corrected.value(row["path"], row["old"]),
        new=corrected.value(row["path"], row["new"]),
        why=show.safe(row["why"]),
        by=_by(row),
        clash=clash,
    )


def _by(row: rows.TracedAmendment) -> str:
    """Who, and who entered it where that is another, and how late."""
    parts = [show.safe(row["seen_by"])]
    if row["entered_by"] != row["seen_by"]:
        parts.append(_("entered by {name}", name=show.safe(row["entered_by"])))
    if row["late_h"] > 1:
        parts.append(_("late"))
    return ", ".join(parts)


def _cover(row: rows.HidingCover, units: str) -> str:
    if not row["stretches"]:
        return _("hidden by the next ply")
    where = show.stretches(tuple(row["stretches"]), units)
    return _("hidden by the next ply, {where}", where=where)


def _opening(row: rows.MarkedOpening, _units: str) -> Iterator[str]:
    yield _("opened up")
    yield from _note(row["note"])


def _embed(row: rows.MarkedEmbedding, _units: str) -> str:
    if not row["how"]:
        return _("granules embedded")
    return _("granules embedded: {how}", how=show.safe(row["how"]))


def _punch(row: rows.PlacedPunch, _units: str) -> str:
    values = {"place": show.safe(row["place"]), "what": show.safe(row["what"])}
    values["visitor"] = _(row["visitor"]) if row["look"] else show.safe(row["visitor"])
    if row["done"] is None:
        return _("item of a visit, OPEN: {what} ({place}, {visitor})", **values)
    values |= {"done": show.safe(row["done"]), "by": show.safe(row["done_by"])}
    return _("item of a visit: {what} ({place}, {visitor}); settled: {done}, {by}", **values)


def _leak_step(row: rows.PlacedLeakStep, _units: str) -> str:
    text = show.safe(row["said"])
    if row["step"] == "looked":
        if row["dry"]:
            return _("leak after rain DRY: {said}", said=text)
        return _("leak after rain WET: {said}", said=text)
    if row["place"]:
        text = _("{said} ({place})", said=text, place=show.safe(row["place"]))
    if row["step"] == "mended":
        return _("leak mended: {said}", said=text)
    return _("leak found: {said}", said=text)


def _settle(row: rows.TracedWarning, _units: str) -> str:
    return _(
        "warning ({what}) answered: {done}; {by}",
        what=shortfalls.warning(row["code"]),
        done=show.safe(row["done"]),
        by=show.safe(row["done_by"]),
    )


def _setting(row: rows.JudgedStrip | rows.MarkedRun, units: str) -> str:
    set_at = json.loads(row["setting_carried"] or "{}").get("nozzle")
    nozzle = show.temperature(row["nozzle_c"], units) + _carried(set_at, row)
    return f"{show.safe(row['machine'])}, {nozzle}, {show.speed_measured(row, units)}"


def _carried(at: str | None, row: rows.JudgedStrip | rows.MarkedRun) -> str:
    """Since when a value is carried over, with the day where that is another one."""
    if not at:
        return ""
    return _(" (carried over from {at})", at=show.clock(at, date=at[:10] != row["seen_local"][:10]))


def _conditions(row: rows.JudgedStrip | rows.MarkedRun, units: str) -> str:
    carried = json.loads(row["carried"])
    parts = []
    for label, name, text, value in (
        (_("ambient"), "ambient", show.temperature(row["ambient_c"], units), row["ambient_c"]),
        (_("sheet"), "sheet_temp", show.temperature(row["sheet_c"], units), row["sheet_c"]),
        (_("lower sheet"), "under_temp", show.temperature(row["under_c"], units), row["under_c"]),
        (_("wind"), "wind", show.wind(row["wind_m_per_s"], units), row["wind_m_per_s"]),
        (_("humidity"), "humidity", f"{row['humidity_pct'] or 0:.0f} %", row["humidity_pct"]),
        (_("line"), "line_voltage", f"{row['line_v'] or 0:.0f} V", row["line_v"]),
        (_("gusts"), "gust", show.wind(row["gust_m_per_s"], units), row["gust_m_per_s"]),
        (_("roll"), "roll_temp", show.temperature(row["roll_c"], units), row["roll_c"]),
    ):
        if value is not None:
            parts.append(f"{label} {text}{_carried(carried.get(name), row)}")
    if row["damp"]:
        parts.append(_("damp"))
    if row["sky"]:
        parts.append(_("sky {how}", how=_(row["sky"])))
    if row["supply"]:
        parts.append(_("fed by {supply}", supply=show.safe(row["supply"])))
    return ", ".join(parts) or _("conditions not read")


def _withdrawn(row: WithdrawnRow, units: str) -> str:
    from weldcal.reports import taken_back

    return taken_back.line(row, units)


_SAID: dict[type[SeamEvent], Callable[..., str | Iterator[str]]] = {
    trace.StripEvent: _strip,
    trace.RunEvent: _run,
    trace.FinishEvent: _finish,
    trace.BleedEvent: _bleed,
    trace.WidthEvent: _lap_width,
    trace.WalkEvent: _walk,
    trace.FindingEvent: _finding,
    trace.MendEvent: _mend,
    trace.PeelEvent: _peel,
    trace.CoverEvent: _cover,
    trace.OpeningEvent: _opening,
    trace.EmbedEvent: _embed,
    trace.PunchEvent: _punch,
    trace.LeakStepEvent: _leak_step,
    trace.AmendEvent: _amend,
    trace.SettleEvent: _settle,
    trace.WithdrawnEvent: _withdrawn,
}
