"""What a typed line came to, in words, before it counts.

Invariant: every number is shown with its unit, and what nobody typed says where
it was taken from and how old it is.
"""

from __future__ import annotations

from datetime import datetime

from weldcal.intake.kept import StripProposed, WalkProposed
from weldcal.intake.probe_line import ProbeFound
from weldcal.intake.strip_line import quantities_text, quantity_text
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions
from weldcal.records.fields import is_end
from weldcal.records.strip import Strip
from weldcal.reports import show
from weldcal.words import _, mark, plural


def strip(proposed: StripProposed, units: str) -> list[str]:
    """A strip as it was understood."""
    record = proposed.strip
    return [
        _("TEST STRIP, as understood:"),
        _("- speed {speed}", speed=_text(record.setting.speed)),
        *_setting(proposed),
        *_seen(record),
        *_weather(record.conditions, record.seen.at, units),
        *([_("- note: {note}", note=show.safe(record.note))] if record.note else []),
    ]


# What stands on a line of the setting: as typed, and as taken over from the strip before.
_SETTING = {
    "nozzle": (mark("- nozzle {value}"), mark("- nozzle {value}, as on {strip} ({age} ago)")),
    "air_flow": (mark("- air flow {value}"), mark("- air flow {value}, as on {strip}")),
    "nozzle_width": (mark("- nozzle width {value}"), mark("- nozzle width {value}, as on {strip}")),
    "roller_load": (mark("- roller load {value}"), mark("- roller load {value}, as on {strip}")),
}
_LAP = (mark("- {lap} lap"), mark("- {lap} lap, as on {strip}"))
_ON = (
    mark("- machine {machine}, sheet {sheet}"),
    mark("- machine {machine}, sheet {sheet}, as on {strip}"),
)


def _setting(proposed: StripProposed) -> list[str]:
    s, taken = proposed.strip.setting, set(proposed.taken)
    on = {"strip": proposed.as_on, "age": show.age(proposed.age_h)}
    lines = [
        _(said[name in taken], value=_text(getattr(s, name)), **on)
        for name, said in _SETTING.items()
        if getattr(s, name) is not None
    ]
    machine, sheet = show.safe(s.machine), show.safe(s.sheet)
    return [
        *lines,
        _(_LAP["lap" in taken], lap=_(s.lap), **on),
        _(_ON[bool({"machine", "sheet"} & taken)], machine=machine, sheet=sheet, **on),
    ]


def _seen(record: Strip) -> list[str]:
    readings = quantities_text(record.readings, show.unit)
    lines = (
        [_("- readings {readings}", readings=show.safe(readings))]
        if readings
        else [_("- no readings")]
    )
    if record.bubbling is None:
        lines.append(_("- bubbling: nobody looked"))
    else:
        lines.append(_("- bubbling {bubbling}", bubbling=_(record.bubbling)))
    lines.append(_("- pull {bond}", bond=_(record.bond)))
    if record.smoke is not None:
        lines.append(_("- smoke") if record.smoke else _("- no smoke"))
    if record.roll_lot:
        lines.append(_("- roll lot {lot}", lot=show.safe(record.roll_lot)))
    return lines


def _weather(c: Conditions, at: str, units: str) -> list[str]:
    carried = {part.name: part.read_at for part in c.carried}
    labels = {
        "ambient": _("ambient"),
        "sheet_temp": _("sheet"),
        "under_temp": _("lower sheet"),
        "humidity": _("humidity"),
        "wind": _("wind"),
        "line_voltage": _("volts"),
        "gust": _("gusts"),
        "roll_temp": _("roll"),
    }
    lines = []
    for name, label in labels.items():
        value = getattr(c, name)
        if value is None:
            continue
        if name in carried:
            age_h = (
                datetime.fromisoformat(at) - datetime.fromisoformat(carried[name])
            ).total_seconds() / 3600
            lines.append(
                _(
                    "- {label} {value}, read at {clock} ({age} old): carried over",
                    label=label,
                    value=_in_units(name, value, units),
                    clock=show.clock(carried[name], date=False),
                    age=show.age(age_h),
                )
            )
        else:
            lines.append(_("- {label} {value}", label=label, value=_text(value)))
    if c.damp is not None:
        lines.append(_("- sheet damp") if c.damp else _("- sheet dry"))
    return lines or [_("- conditions not read")]


def _in_units(name: str, value: Quantity, units: str) -> str:
    """A carried-over value, kept in SI, in the job's units."""
    if name in ("wind", "gust"):
        return show.wind(value.si("m/s"), units)
    if name == "humidity":
        return f"{value.si('%'):.0f} %"
    if name == "line_voltage":
        return f"{value.si('V'):.0f} V"
    return show.temperature(value.si("C"), units)


def _text(value: Quantity | None) -> str:
    return "" if value is None else show.safe(quantity_text(value, show.unit))


def _place(value: Quantity, units: str) -> str:
    if is_end(value):
        return _("its end ({length})", length=show.tape(value.si("m"), units))
    return _text(value)


def walk(proposed: WalkProposed, units: str) -> list[str]:
    """A probe walk and what it found, as understood."""
    record = proposed.walk
    seam = show.safe(record.seam)
    if proposed.by_list:  # nobody typed these; a plan may have been laid in metres
        start, end = (show.tape(q.si("m"), units) for q in (record.start, record.end))
    else:
        start, end = (_place(q, units) for q in (record.start, record.end))
    if proposed.by_list:
        head = _(
            "PROBE WALK along {seam}, {start} to {end} (its listed length):",
            seam=seam,
            start=start,
            end=end,
        )
    else:
        head = _("PROBE WALK along {seam}, {start} to {end}:", seam=seam, start=start, end=end)
    found = [_found(one) for one in proposed.line.found]
    lines = [head, *(found or [_("- sound all along: nothing found")])]
    if found:
        n = len(found)
        lines.append(plural("- {n} finding, else sound", "- {n} findings, else sound", n))
    by, clock = show.safe(record.seen.by), show.clock(record.seen.at, date=False)
    if record.started:
        began = show.clock(record.started, date=False)
        lines.append(_("- by {by}, begun {began}, ended {clock}", by=by, began=began, clock=clock))
    else:
        lines.append(_("- by {by}, ended {clock}; when it began was not said", by=by, clock=clock))
    return [*lines, *([_("- note: {note}", note=show.safe(record.note))] if record.note else [])]


def _found(one: ProbeFound) -> str:
    kind, at, depth = _(one.kind), _text(one.at), _text(one.depth)
    length, end = _text(one.length), _text(one.end)
    if length and depth:
        return _(
            "- {kind} at {at}, {length} long, {depth} deep",
            kind=kind,
            at=at,
            length=length,
            depth=depth,
        )
    if length:
        return _("- {kind} at {at}, {length} long", kind=kind, at=at, length=length)
    if end and depth:
        return _("- {kind} at {at} to {end}, {depth} deep", kind=kind, at=at, end=end, depth=depth)
    if end:
        return _("- {kind} at {at} to {end}", kind=kind, at=at, end=end)
    if depth:
        return _("- {kind} at {at}, {depth} deep", kind=kind, at=at, depth=depth)
    return _("- {kind} at {at}", kind=kind, at=at)
