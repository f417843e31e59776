"""A seam traced: one line for each thing recorded, in the order it was seen.

Invariant: who, when and what stand in every line; a late entry, one entered by
another, a carried-over value and a correction are said where they stand.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from msgspec import to_builtins

from weldcal.records.notes import USUAL_REASONS
from weldcal.reports import corrected, sentences, show
from weldcal.words import _


def document(found: dict[str, Any]) -> dict[str, Any]:
    """The trace as one JSON document."""
    state = found["state"]
    events = []
    for event in found["events"]:
        row = dict(event["row"])
        if "shortfalls" in row:
            row["shortfalls"] = [short.code for short in row["shortfalls"]]
        events.append({"what": event["what"], **row})
    return {
        "seam": found["name"],
        "state": state.state,
        "flags": list(found["flags"]),
        "unprobed_stretches_m": [list(s) for s in state.unprobed],
        "open": list(state.open),
        "mended_unprobed": list(state.mended),
        "probe_again": to_builtins(state.again),
        "disagreements": found["disagreements"],
        "events": events,
    }


def seam_document(found: dict[str, Any]) -> dict[str, Any]:
    """One seam of the roof as JSON: stretches and lengths in metres."""
    state, seam = found["state"], found["seam"]
    return {
        "name": found["name"],
        "state": state.state,
        "flags": found["flags"],
        "length_m": seam["length_m"] if seam else None,
        "welded_m": state.welded_m,
        "probed_m": state.probed_m,
        "welded_stretches_m": [list(s) for s in state.welded],
        "unprobed_stretches_m": [list(s) for s in state.unprobed],
        "open": list(state.open),
        "mended_unprobed": list(state.mended),
        "probe_again": to_builtins(state.again),
    }


def page(found: dict[str, Any], units: str) -> list[str]:
    """The trace in lines."""
    state, seam = found["state"], found["seam"]
    length = show.tape(seam["length_m"], units) if seam else _("not on the seam list")
    head = _(
        "Seam {name}, {length}: {state}",
        name=show.safe(found["name"]),
        length=length,
        state=_(state.state),
    )
    if found["flags"]:
        head += f" ({', '.join(_(flag) for flag in found['flags'])})"
    lines = [head]
    if state.unprobed:
        lines.append(_("Unprobed: {where}", where=show.stretches(state.unprobed, units)))
    lines += [
        _(
            "Mended, to be probed again: {name} {where}",
            name=one.finding,
            where=show.stretches(one.stretches, units),
        )
        for one in state.again
    ]
    lines += [
        _(
            "Walks disagree: {name} at {where} was found, and {by} walked over it at {at} ({walk}) and told nothing.",
            name=one["finding"],
            where=show.stretches(((one["start_m"], one["end_m"]),), units),
            by=show.safe(one["seen_by"]),
            at=show.clock(one["seen_local"]),
            walk=one["walk"],
        )
        for one in found["disagreements"]
    ]
    names = {
        e["row"].get("of", e["row"]["id"]): e["row"]["name"]
        for e in found["events"]
        if e["row"].get("name")
    }
    if seam:
        names[seam["id"]] = seam["name"]
    return lines + [_line(event, names, units) for event in found["events"]]


def _line(event: dict[str, Any], names: dict[str, str], units: str) -> str:
    """One event; `names` of the records by their ids, for what is said about one of them."""
    row, what = event["row"], event["what"]
    text = told(what, row, units)
    if what in _WHEN:
        says_itself = what == "withdrawn" or row.get("path") not in (None, "withdrawn")
        when, about = row[_WHEN[what]], None if says_itself else names.get(row["of"])
        return (
            f"- {show.clock(when)} {show.safe(about)} {text}"
            if about
            else f"- {show.clock(when)} {text}"
        )
    marks = [m for m in row["marks"] if m != "entered by another"]
    if row["seen_by"] != row["entered_by"]:
        marks.append(_("entered by {name}", name=show.safe(row["entered_by"])))
    tail = f" [{', '.join(_(m) for m in marks)}]" if marks else ""
    named = f"{row['name']} {text}" if row["name"] else text
    return f"- {show.clock(row['seen_local'])} {named}; {show.safe(row['seen_by'])}{tail}"


def _finish(row: dict[str, Any], units: str) -> str:
    return _("finish at {at}, its start not known here", at=show.tape(row["end_m"], units))


def _strip(row: dict[str, Any], units: str) -> str:
    short = [sentences.shortfall(s.code, s.values, units) for s in row["shortfalls"]]
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


def _run(row: dict[str, Any], units: str) -> str:
    to = show.tape(row["end_m"], units) if row["end_m"] is not None else _("not finished")
    how = _setting(row, units) if row["machine"] else _("by hand")
    warned = [sentences.warning(code) for code in json.loads(row["warnings"])]
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


def _lap_width(row: dict[str, Any], units: str) -> str:
    text = _(
        "lap width at {at}: {width}",
        at=show.distance(row["at_m"], units),
        width=show.limit_width(row["overlap_mm"], units),
    )
    if row["bonded_mm"] is None:
        return text
    return text + _(", bonded {width}", width=show.limit_width(row["bonded_mm"], units))


def _bleed(row: dict[str, Any], units: str) -> str:
    return _(
        "bleed check at {at}: {readings}",
        at=show.tape(row["at_m"], units),
        readings=show.safe(" ".join(row["readings"])),
    )


def _walk(row: dict[str, Any], units: str) -> str:
    return _(
        "probe walk {start} to {end}",
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
    )


def _finding(row: dict[str, Any], units: str) -> str:
    return _(
        "finding: {kind} from {start} to {end}, {how}",
        kind=_(row["kind"]),
        how=_(row["how"]),
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
    )


def _mend(row: dict[str, Any], units: str) -> str:
    return _(
        "mend from {start} to {end}: {method}{tool}",
        start=show.tape(row["start_m"], units),
        end=show.tape(row["end_m"], units),
        method=show.safe(row["method"]),
        tool=f", {show.safe(row['tool'])}" if row["tool"] else "",
    )


def _peel(row: dict[str, Any], units: str) -> str:
    load = f", {show.line_load(row['n_per_mm'], units)}" if row["n_per_mm"] is not None else ""
    return _(
        "peel sample at {at}: parted {parted}{load}",
        at=show.tape(row["at_m"], units),
        parted=_(row["parted"]),
        load=load + _pulled_how(row, units),
    )


def _pulled_how(row: dict[str, Any], units: str) -> str:
    """How warm a sample was and how fast it was pulled, where somebody said."""
    parts = []
    if row["sample_c"] is not None:
        parts.append(_("sample at {temp}", temp=show.temperature(row["sample_c"], units)))
    if row["pull_mm_per_min"] is not None:
        parts.append(_("pulled at {rate}", rate=show.pull_rate(row["pull_mm_per_min"], units)))
    return "".join(f", {part}" for part in parts)


def _amend(row: dict[str, Any], units: str) -> str:
    if row["path"] == "withdrawn":
        why = _(row["why"]) if row["why"] in USUAL_REASONS else show.safe(row["why"])
        gone = row["new"] == "true"
        if row.get("of_kind"):
            from weldcal.reports.taken_back import kind_word

            said = {"kind": kind_word(row["of_kind"]), "why": why, "by": _by(row)}
            return (
                _("{kind} taken back: {why}; {by}", **said)
                if gone
                else _("{kind} put back: {why}; {by}", **said)
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


def _by(row: dict[str, Any]) -> str:
    """Who, and who entered it where that is another, and how late."""
    parts = [show.safe(row["seen_by"])]
    if row["entered_by"] != row["seen_by"]:
        parts.append(_("entered by {name}", name=show.safe(row["entered_by"])))
    if row["late_h"] > 1:
        parts.append(_("late"))
    return ", ".join(parts)


def _cover(row: dict[str, Any], units: str) -> str:
    if not row["stretches"]:
        return _("hidden by the next ply")
    where = show.stretches(tuple(row["stretches"]), units)
    return _("hidden by the next ply, {where}", where=where)


def _opening(row: dict[str, Any], units: str) -> str:
    return _("opened up")


def _embed(row: dict[str, Any], units: str) -> str:
    if not row["how"]:
        return _("granules embedded")
    return _("granules embedded: {how}", how=show.safe(row["how"]))


def _punch(row: dict[str, Any], units: str) -> str:
    said = {"place": show.safe(row["place"]), "what": show.safe(row["what"])}
    said["visitor"] = _(row["visitor"]) if row["look"] else show.safe(row["visitor"])
    if row["done"] is None:
        return _("item of a visit, OPEN: {what} ({place}, {visitor})", **said)
    said |= {"done": show.safe(row["done"]), "by": show.safe(row["done_by"])}
    return _("item of a visit: {what} ({place}, {visitor}); settled: {done}, {by}", **said)


def _leak_step(row: dict[str, Any], units: str) -> str:
    said = {"said": show.safe(row["said"]), "place": show.safe(row["place"])}
    if row["step"] == "mended":
        return _("leak mended: {said} ({place})", **said)
    return _("leak found: {said} ({place})", **said)


def _settle(row: dict[str, Any], units: str) -> str:
    return _(
        "warning ({what}) answered: {done}; {by}",
        what=sentences.warning(row["code"]),
        done=show.safe(row["done"]),
        by=show.safe(row["done_by"]),
    )


def told(what: str, row: dict[str, Any], units: str) -> str:
    """What a row of a kind says, without when and by whom."""
    return "; ".join((_LINES[what](row, units), *_besides(what, row, units)))


def _besides(what: str, row: dict[str, Any], units: str) -> Iterator[str]:
    """What few records say, or somebody said in words of their own: all of it is told."""
    if row.get("started_utc"):
        here = datetime.fromisoformat(row["seen_local"]).tzinfo
        begun = datetime.fromisoformat(row["started_utc"]).astimezone(here).isoformat()
        yield _("begun {at}", at=show.clock(begun, date=begun[:10] != row["seen_local"][:10]))
    if row.get("depth_mm") is not None:
        yield _("{depth} deep", depth=show.limit_width(row["depth_mm"], units))
    if row.get("patch_mm") is not None:
        yield _("patch size {size}", size=show.limit_width(row["patch_mm"], units))
    if what == "bleed" and row.get("bubbling"):
        yield _("bubbling {bubbling}", bubbling=_(row["bubbling"]))
    if what == "bleed" and row.get("shortfalls"):
        short = [sentences.shortfall(s.code, s.values, units) for s in row["shortfalls"]]
        yield _("OUTSIDE THE LIMITS: {why}", why="; ".join(short))
    if row.get("power_lost"):
        yield _("the power was lost")
    if why := row.get("why_finished") or (row.get("why") if what == "finish" else None):
        yield _("ended because: {why}", why=show.safe(why))
    if row.get("smoke"):
        yield _("smoke")
    if row.get("roll_lot"):
        yield _("roll lot {lot}", lot=show.safe(row["roll_lot"]))
    if row.get("note"):
        yield _("note: {note}", note=show.safe(row["note"]))


def _setting(row: dict[str, Any], units: str) -> str:
    shown = show.speed_set(row, units)
    if row["true_speed_m_per_min"] is not None:
        shown += _(" (measured {true})", true=show.speed(row["true_speed_m_per_min"], units, 2))
    set_at = json.loads(row["setting_carried"] or "{}").get("nozzle")
    nozzle = show.temperature(row["nozzle_c"], units) + _carried(set_at, row)
    return f"{show.safe(row['machine'])}, {nozzle}, {shown}"


def _carried(at: str | None, row: dict[str, Any]) -> str:
    """Since when a value is carried over, with the day where that is another one."""
    if not at:
        return ""
    return _(" (carried over from {at})", at=show.clock(at, date=at[:10] != row["seen_local"][:10]))


def _conditions(row: dict[str, Any], units: str) -> str:
    carried = json.loads(row["carried"])
    parts = []
    for label, name, text, value in (
        (_("ambient"), "ambient", show.temperature(row["ambient_c"], units), row["ambient_c"]),
        (_("sheet"), "sheet_temp", show.temperature(row["sheet_c"], units), row["sheet_c"]),
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


def _withdrawn(row: dict[str, Any], units: str) -> str:
    from weldcal.reports import taken_back

    return taken_back.line(row, units)


# Events that have no time of being seen: the column of when they were entered.
_WHEN = {"amend": "entered_local", "settle": "done_local", "withdrawn": "withdrawn_local"}
_LINES: dict[str, Callable[[dict[str, Any], str], str]] = {
    "strip": _strip,
    "run": _run,
    "finish": _finish,
    "bleed": _bleed,
    "lap-width": _lap_width,
    "walk": _walk,
    "finding": _finding,
    "mend": _mend,
    "peel": _peel,
    "cover": _cover,
    "opening": _opening,
    "embed": _embed,
    "punch": _punch,
    "leak-step": _leak_step,
    "amend": _amend,
    "settle": _settle,
    "withdrawn": _withdrawn,
}
