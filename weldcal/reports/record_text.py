"""What one record of a seam says, in words: without when and by whom.

Invariant: all that was recorded is shown; a carried-over value and a correction say that they
are one.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime

from weldcal.records.notes import USUAL_REASONS
from weldcal.reports import corrected, shortfalls, show
from weldcal.views import trace
from weldcal.views.rows import (
    HidingCover,
    JudgedBleed,
    JudgedStrip,
    MarkedEmbedding,
    MarkedFinding,
    MarkedFinish,
    MarkedMend,
    MarkedPeel,
    MarkedRun,
    MarkedWalk,
    MarkedWidth,
    PlacedLeakStep,
    PlacedPunch,
    TracedAmendment,
    TracedWarning,
)
from weldcal.views.trace import SeamEvent
from weldcal.words import _


def record_text(event: SeamEvent, units: str) -> str:
    """What a record says."""
    return "; ".join((_welded(event, units), *_rest(event, units)))


def _welded(event: SeamEvent, units: str) -> str:
    """What was welded, checked, walked, found, mended and cut."""
    match event:
        case trace.StripEvent(row=strip):
            return _strip(strip, units)
        case trace.RunEvent(row=run):
            return _run(run, units)
        case trace.FinishEvent(row=finish):
            return _finish(finish, units)
        case trace.BleedEvent(row=bleed):
            return _bleed(bleed, units)
        case trace.WidthEvent(row=width):
            return _lap_width(width, units)
        case trace.WalkEvent(row=walk):
            return _walk(walk, units)
        case trace.FindingEvent(row=finding):
            return _finding(finding, units)
        case trace.MendEvent(row=mend):
            return _mend(mend, units)
        case trace.PeelEvent(row=peel):
            return _peel(peel, units)
    return _about(event, units)


def _about(event: SeamEvent, units: str) -> str:
    """What was said, hidden, opened, answered, corrected and taken back since."""
    match event:
        case trace.CoverEvent(row=cover):
            return _cover(cover, units)
        case trace.OpeningEvent():
            return _("opened up")
        case trace.EmbedEvent(row=embedding):
            return _embed(embedding)
        case trace.PunchEvent(row=item):
            return _punch(item)
        case trace.LeakStepEvent(row=step):
            return _leak_step(step)
        case trace.AmendEvent(row=amendment):
            return _amend(amendment)
        case trace.SettleEvent(row=warning):
            return _settle(warning)
        case trace.WithdrawnEvent(row=gone):
            from weldcal.reports import taken_back

            return taken_back.line(gone, units)
    raise AssertionError(event.what)


def _rest(event: SeamEvent, units: str) -> Iterator[str]:
    """What few records say, or somebody said in words of their own: all of it is shown."""
    match event:
        case trace.StripEvent(row=strip):
            yield from [_("smoke")] if strip["smoke"] else []
            yield from _lot(strip["roll_lot"])
            yield from _note(strip["note"])
        case trace.RunEvent(row=run):
            yield from [_("the power was lost")] if run["power_lost"] else []
            yield from _why(run["why_finished"])
            yield from _lot(run["roll_lot"])
            yield from _note(run["note"])
        case trace.FinishEvent(row=finish):
            yield from _why(finish["why"])
        case trace.BleedEvent(row=bleed):
            yield from _checked(bleed, units)
            yield from _note(bleed["note"])
        case trace.WidthEvent(row=width):
            yield from _note(width["note"])
        case trace.WalkEvent(row=walk):
            yield from _begun(walk)
            yield from _note(walk["note"])
        case _:
            yield from _on_places(event, units)


def _on_places(event: SeamEvent, units: str) -> Iterator[str]:
    """The same of what was found, mended, cut and opened."""
    match event:
        case trace.FindingEvent(row=finding):
            if finding["depth_mm"] is not None:
                yield _("{depth} deep", depth=show.limit_width(finding["depth_mm"], units))
            yield from _note(finding["note"])
        case trace.MendEvent(row=mend):
            if mend["patch_mm"] is not None:
                yield _("patch size {size}", size=show.limit_width(mend["patch_mm"], units))
            yield from _note(mend["note"])
        case trace.PeelEvent(row=peel):
            yield from _note(peel["note"])
        case trace.OpeningEvent(row=opening):
            yield from _note(opening["note"])


def _begun(walk: MarkedWalk) -> Iterator[str]:
    if walk["started_utc"]:
        here = datetime.fromisoformat(walk["seen_local"]).tzinfo
        begun = datetime.fromisoformat(walk["started_utc"]).astimezone(here).isoformat()
        yield _("begun {at}", at=show.clock(begun, date=begun[:10] != walk["seen_local"][:10]))


def _checked(bleed: JudgedBleed, units: str) -> Iterator[str]:
    if bleed["bubbling"]:
        yield _("bubbling {bubbling}", bubbling=_(bleed["bubbling"]))
    if found := bleed.get("shortfalls"):
        short = shortfalls.listed(found, units)
        yield _("OUTSIDE THE LIMITS: {why}", why="; ".join(short))


def _why(why: str | None) -> Iterator[str]:
    if why:
        yield _("ended because: {why}", why=show.safe(why))


def _lot(lot: str | None) -> Iterator[str]:
    if lot:
        yield _("roll lot {lot}", lot=show.safe(lot))


def _note(note: str | None) -> Iterator[str]:
    if note:
        yield _("note: {note}", note=show.safe(note))


def _finish(row: MarkedFinish, units: str) -> str:
    return _("finish at {at}, its start not known here", at=show.tape(row["end_m"], units))


def _strip(row: JudgedStrip, units: str) -> str:
    short = shortfalls.listed(row["shortfalls"], units)
    return _(
        "go-ahead strip: {setting}, {conditions}; bleed-out {readings}, bubbling {bubbling}, pull {bond}; {verdict}",
        setting=_setting(row, units),
        conditions=_conditions(row, units),
        readings=show.safe(" ".join(row["readings"])),
        bubbling=_(row["bubbling"] or "–"),
        bond=_(row["bond"])
        + (_(" by {name}", name=show.safe(row["pulled_by"])) if row["pulled_by"] else ""),
        verdict=_("met the limits") if not short else "; ".join(short),
    )


def _run(row: MarkedRun, units: str) -> str:
    to = show.tape(row["end_m"], units) if row["end_m"] is not None else _("not finished")
    how = _setting(row, units) if row["machine"] else _("by hand")
    warned = [shortfalls.warning(code) for code in json.loads(row["warnings"])]
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
    return text + (f"; {_('WARNING')}: {'; '.join(warned)}" if warned else "")


def _lap_width(row: MarkedWidth, units: str) -> str:
    text = _(
        "lap width at {at}: {width}",
        at=show.tape(row["at_m"], units),
        width=show.limit_width(row["overlap_mm"], units),
    )
    if row["bonded_mm"] is None:
        return text
    return text + _(", bonded {width}", width=show.limit_width(row["bonded_mm"], units))


def _bleed(row: JudgedBleed, units: str) -> str:
    return _(
        "bleed check at {at}: {readings}",
        at=show.tape(row["at_m"], units),
        readings=show.safe(" ".join(row["readings"])),
    )


def _walk(row: MarkedWalk, units: str) -> str:
    return _(
        "probe walk {start} to {end}",
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
    )


def _finding(row: MarkedFinding, units: str) -> str:
    return _(
        "finding: {kind} from {start} to {end}, {how}",
        kind=_(row["kind"]),
        how=_(row["how"]),
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
    )


def _mend(row: MarkedMend, units: str) -> str:
    return _(
        "mend from {start} to {end}: {method}{tool}",
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
        method=show.safe(row["method"]),
        tool=f", {show.safe(row['tool'])}" if row["tool"] else "",
    )


def _peel(row: MarkedPeel, units: str) -> str:
    load = f", {show.line_load(row['n_per_mm'], units)}" if row["n_per_mm"] is not None else ""
    told = {"parted": _(row["parted"]), "load": load + _pulled_how(row, units)}
    if row["at_m"] is None:
        return _("peel sample of the go-ahead strip: parted {parted}{load}", **told)
    return _("peel sample at {at}: parted {parted}{load}", at=show.tape(row["at_m"], units), **told)


def _pulled_how(row: MarkedPeel, units: str) -> str:
    """How warm a sample was and how fast it was pulled, where somebody said."""
    parts = []
    if row["sample_c"] is not None:
        parts.append(_("sample at {temp}", temp=show.temperature(row["sample_c"], units)))
    if row["pull_mm_per_min"] is not None:
        parts.append(_("pulled at {rate}", rate=show.pull_rate(row["pull_mm_per_min"], units)))
    return "".join(f", {part}" for part in parts)


def _amend(row: TracedAmendment) -> str:
    if row["path"] == "withdrawn":
        why = _(row["why"]) if row["why"] in USUAL_REASONS else show.safe(row["why"])
        gone = row["new"] == "true"
        if row["of_kind"]:
            from weldcal.reports.taken_back import kind_word

            values = {"kind": kind_word(row["of_kind"]), "why": why, "by": _by(row)}
            return (
                _("{kind} taken back: {why}; {by}", **values)
                if gone
                else _("{kind} put back: {why}; {by}", **values)
            )
        if gone:
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


def _by(row: TracedAmendment) -> str:
    """Who, and who entered it where that is another, and how late."""
    parts = [show.safe(row["seen_by"])]
    if row["entered_by"] != row["seen_by"]:
        parts.append(_("entered by {name}", name=show.safe(row["entered_by"])))
    if row["late_h"] > 1:
        parts.append(_("late"))
    return ", ".join(parts)


def _cover(row: HidingCover, units: str) -> str:
    if not row["stretches"]:
        return _("hidden by the next ply")
    where = show.stretches(tuple(row["stretches"]), units)
    return _("hidden by the next ply, {where}", where=where)


def _embed(row: MarkedEmbedding) -> str:
    if not row["how"]:
        return _("granules embedded")
    return _("granules embedded: {how}", how=show.safe(row["how"]))


def _punch(row: PlacedPunch) -> str:
    values = {"place": show.safe(row["place"]), "what": show.safe(row["what"])}
    values["visitor"] = _(row["visitor"]) if row["look"] else show.safe(row["visitor"])
    if row["done"] is None:
        return _("item of a visit, OPEN: {what} ({place}, {visitor})", **values)
    values |= {"done": show.safe(row["done"]), "by": show.safe(row["done_by"])}
    return _("item of a visit: {what} ({place}, {visitor}); settled: {done}, {by}", **values)


def _leak_step(row: PlacedLeakStep) -> str:
    said = show.safe(row["said"])
    if row["step"] == "looked":
        if row["dry"]:
            return _("leak after rain DRY: {said}", said=said)
        return _("leak after rain WET: {said}", said=said)
    if row["place"]:
        said = _("{said} ({place})", said=said, place=show.safe(row["place"]))
    if row["step"] == "mended":
        return _("leak mended: {said}", said=said)
    return _("leak found: {said}", said=said)


def _settle(row: TracedWarning) -> str:
    return _(
        "warning ({what}) answered: {done}; {by}",
        what=shortfalls.warning(row["code"]),
        done=show.safe(row["done"]),
        by=show.safe(row["done_by"]),
    )


def _setting(row: JudgedStrip | MarkedRun, units: str) -> str:
    set_at = json.loads(row["setting_carried"] or "{}").get("nozzle")
    nozzle = show.temperature(row["nozzle_c"], units) + _carried(set_at, row)
    return f"{show.safe(row['machine'])}, {nozzle}, {show.speed_measured(row, units)}"


def _carried(at: str | None, row: JudgedStrip | MarkedRun) -> str:
    """Since when a value is carried over, with the day where that is another one."""
    if not at:
        return ""
    return _(" (carried over from {at})", at=show.clock(at, date=at[:10] != row["seen_local"][:10]))


def _conditions(row: JudgedStrip | MarkedRun, units: str) -> str:
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
