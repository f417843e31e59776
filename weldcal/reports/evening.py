"""The evening page: what was welded and probed today, what is open, what comes first tomorrow.

Invariant: the terminal, HTML and PDF say the same lines. Tomorrow's speed is a
start for the first strip, never a go-ahead.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct, to_builtins

from weldcal import settings
from weldcal.json_values import JsonObject
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.quality.goahead import CLEAN, waits_for_pull
from weldcal.quality.seam import IN_WORK
from weldcal.reports import advice, corrected, faults, shortfalls, show, signs, upkeep
from weldcal.reports.dossier import plan
from weldcal.reports.dossier.document import Block, Bullets, Document, Figure, Section, Table, table
from weldcal.reports.dossier.lengths import in_doubt, length, probed, welded
from weldcal.reports.dossier.totals import share, totals
from weldcal.reports.lines import wrapped
from weldcal.reports.taken_back import called
from weldcal.reports.terminal import SHAPES, legend
from weldcal.views.dossier import Roof, SeamFacts
from weldcal.views.evening import Evening, Started
from weldcal.words import _, language, plural

_MOST = 12


class EveningPart(Struct, frozen=True):
    """A heading and its lines."""

    title: str
    lines: tuple[str, ...]


def parts(e: Evening, units: str) -> list[EveningPart]:
    """The page as headings and lines; of a past day, without a start for the next."""
    if e.gone_by:
        head = _("That day, {day}, as of its end", day=show.day(e.day))
        opened, first = _("Open that evening"), _("First the next day")
    else:
        head = _("Today, {day}", day=show.day(e.day))
        opened, first = _("Open now"), _("First tomorrow")
    day_parts = [
        EveningPart(head, (*work_lines(e, units), *_strips(e, units))),
        EveningPart(_("Go-aheads"), tuple(go_ahead_lines(e, units))),
        EveningPart(opened, tuple(open_lines(e, units))),
        EveningPart(first, tuple(_first(e))),
    ]
    if not e.gone_by:
        day_parts.append(EveningPart(_("To start with tomorrow"), tuple(_starts(e, units))))
    return day_parts


def page(e: Evening, units: str) -> list[str]:
    """The page in lines folded to the screen."""
    lines = [show.safe(e.job["name"])]
    for part in parts(e, units):
        title = part.title if settings.linear() else part.title.upper()
        lines += ["", wrapped(title)]
        lines += [wrapped(f"- {show.safe(line)}") for line in part.lines]
    counts = totals(e.seams).states
    legend_lines = [wrapped(line) for line in legend(counts)]
    return [*lines, "", *legend_lines] if legend_lines else lines


def document(e: Evening, units: str) -> Document:
    """The page as a document, the roof drawn first."""
    drawn: list[Block] = []
    if e.seams:
        drawn = [_drawn(e, units), _states(e)]
    return Document(
        title=_("{job}: evening of {day}", job=e.job["name"], day=show.day(e.day)),
        subtitle=_("Made {at}.", at=show.clock(e.made)),
        language=language(),
        made=e.made,
        compact=True,
        sections=(
            *(Section(p.title, (Bullets(p.lines),)) for p in parts(e, units)),
            *([Section(_("The roof"), tuple(drawn))] if drawn else []),
        ),
    )


def _drawn(e: Evening, units: str) -> Figure:
    """The roof in one small drawing."""
    figure = plan.at_a_glance(Roof(e.seams, e.areas, e.doubts, e.north_deg), units)
    assert figure is not None
    return figure


def as_data(e: Evening, units: str) -> JsonObject:
    """The page as JSON: lengths in metres, speeds in m/min."""
    sums = totals(e.seams)
    return {
        "day": e.day,
        "welded_m": e.welded_m,
        "welded_again_m": _again_m(e),
        "probed_m": e.probed_m,
        "probed_welded_over_m": sum(e.walked_over_m.values()),
        "welded_in_all_m": sums.welded_m,
        "probed_in_all_m": sums.probed_m,
        "findings": [f["name"] for f in e.findings],
        "mends": [m["name"] for m in e.mends],
        "taken_back": [{"name": row["name"], "kind": row["kind"]} for row in e.withdrawn],
        "strips": [{"name": s["name"], "go_ahead": not s["shortfalls"]} for s in e.strips],
        "go_aheads": [{"name": g.strip["name"], "level": g.level} for g in e.go_aheads],
        "open": [name for s in e.seams for name in s.state.open],
        "mended_unprobed": [name for s in e.seams for name in s.state.mended],
        "faults_of_record": len(e.faults),
        "conflicts": [to_builtins(one) for one in e.conflicts],
        "punch_open": [row["name"] for row in e.punch],
        "start_up_open": [one.n for one in e.start_up],
        "no_hot_work": e.no_hot_work,
        "hot_work_unwatched": [row["name"] for row in e.unwatched],
        "looks_due": [one.area for one in e.looks_due if one.over],
        "leaks_open": {leak.row["name"]: leak.stage for leak in e.leaks},
        "as_of": e.day if e.gone_by else None,
        "warnings_open": [w["run"] for w in e.warnings],
        "first_tomorrow": _todo(e),
        "ambient_c": e.ambient_c,
        "start": [
            {
                "machine": s.machine,
                "sheet": s.sheet,
                "lap": s.lap,
                "why_not": type(s.why_not).__name__ if s.why_not else None,
                "speed_m_per_min": f.speed_m_per_min if f else None,
                "nozzle_c": f.nozzle_c if f else None,
                "chance": f.chance if f else None,
                "is_go_ahead": False,
                "recorded": False,
            }
            for s, f in ((s, s.dialled and s.dialled.advice.forecast) for s in e.started)
        ],
    }


def _not_counted(e: Evening, units: str) -> str:
    """What of the walks says nothing: `; 33 ft walked warm or hidden, not counted`."""
    left_m = e.walked_m - e.probed_m
    if left_m <= SAME_PLACE_M:
        return ""
    return _("; {length} walked warm or hidden, not counted", length=length(left_m, units))


def _again_m(e: Evening) -> float:
    """How much of what the day's runs welded an earlier run had welded, m."""
    return sum(e.again_m[run["id"]] for run in e.runs)


def work_lines(e: Evening, units: str) -> list[str]:
    """What was welded, probed, found, mended, cut and cold, and taken back."""
    seams = list(dict.fromkeys(r["seam"] for r in e.runs))
    by_hand = sum(bool(r["by_hand"]) for r in e.runs)
    lines = [
        _(
            "welded: {length} in {runs}",
            length=welded(e.welded_m, _again_m(e), units),
            runs=plural("{n} run", "{n} runs", len(e.runs)),
        )
        + (_(", {n} by hand", n=by_hand) if by_hand else "")
        + (f" ({few(seams)})" if seams else ""),
        _(
            "probed: {length} in {walks}",
            length=probed(e.probed_m, sum(e.walked_over_m.values()), units),
            walks=plural("{n} walk", "{n} walks", len(e.walks)),
        )
        + _not_counted(e, units),
        _(
            "found: {what}",
            what=few([f"{f['name']} {_(f['kind'])} {f['seam']}" for f in e.findings]),
        ),
        _("mended: {what}", what=few([f"{m['name']} {m['seam']}" for m in e.mends])),
    ]
    if cold := [f"{p['name']} {p['seam'] or ''}".strip() for p in e.peels if p["parted"] == CLEAN]:
        lines.append(_("samples that parted at the lap, cold there: {what}", what=few(cold)))
    if e.withdrawn:
        withdrawn = [" ".join(filter(None, (called(row), row["seam"]))) for row in e.withdrawn]
        lines.append(_("taken back, counting for nothing: {what}", what=few(withdrawn)))
    return lines


def _strips(e: Evening, units: str) -> Iterator[str]:
    for strip in e.strips:
        short = shortfalls.listed(strip["shortfalls"], units)
        shown = show.speed_made(strip, units)
        yield _(
            "strip {name}, {speed}: {came}",
            name=strip["name"],
            speed=shown,
            came="; ".join(short) or _("go-ahead"),
        )


def go_ahead_lines(e: Evening, units: str) -> list[str]:
    """The day's go-aheads and how each stands."""
    if not e.go_aheads:
        return [_("no strip met the limits today")]
    lines = []
    for go_ahead in e.go_aheads:
        strip = go_ahead.strip
        what = _(
            "{name} ({machine}, {sheet}, {lap})",
            name=strip["name"],
            machine=strip["machine"],
            sheet=strip["sheet"],
            lap=_(strip["lap"]),
        )
        still = [t for t in go_ahead.triggers if t.until_s is None and t.level == go_ahead.level]
        why = "; ".join(shortfalls.moved(t, units) for t in still)
        if go_ahead.level == "strip_again":
            lines.append(_("{what}: void, {why}", what=what, why=why))
        elif go_ahead.level == "wait":
            lines.append(_("{what}: waiting, {why}", what=what, why=why))
        elif go_ahead.level == "look":
            lines.append(_("{what}: to be looked at, {why}", what=what, why=why))
        else:
            lines.append(_("{what}: stands until the day ends", what=what))
    return lines


def open_lines(e: Evening, units: str) -> list[str]:
    """What is open, and first of all whether the record holds."""
    sums = totals(e.seams)
    opened = [f"{s.name} {_some(s.state.open)}" for s in e.seams if s.state.open]
    mended = [f"{s.name} {_some(s.state.mended)}" for s in e.seams if s.state.mended]
    return [
        *_not_proved(e),
        _("findings open: {what}", what=few(opened)),
        _("mended, not probed again: {what}", what=few(mended)),
        _(
            "welded, not probed: {length} ({share} of {welded})",
            length=length(sums.unprobed_m, units),
            share=share(sums.unprobed_m, sums.welded_m),
            welded=length(sums.welded_m, units),
        ),
        _(
            "warnings not answered: {what}",
            what=few(
                list(dict.fromkeys(f"{w['run']} {w['seam'] or ''}".strip() for w in e.warnings))
            ),
        ),
        _("lap in doubt after a failed check: {what}", what=in_doubt(e.doubts, units)),
        *([_("items of visits: {n}", n=len(e.punch))] if e.punch else []),
        *(upkeep.item(row) for row in e.punch[:_MOST]),
        *_hot_work(e),
        *upkeep.waiting(e.start_up, e.looks_due, e.leaks),
        *(corrected.clash(one) for one in e.conflicts),
    ]


def _hot_work(e: Evening) -> Iterator[str]:
    """The day's permits and fire watches that nobody recorded."""
    if e.no_hot_work:
        yield _("hot work: none recorded, and laps were welded; its permit: weldcal hotwork start")
    if e.unwatched:
        names = few([row["name"] for row in e.unwatched])
        yield _("hot work with no end, or no full fire watch, recorded: {what}", what=names)


def _not_proved(e: Evening) -> list[str]:
    """A line where the record does not hold: all else on the page rests on it."""
    if not e.faults:
        return []
    return [_("NOT PROVED: the record does not hold."), *faults.in_short(e.faults, _("the record"))]


def _todo(e: Evening) -> dict[str, list[str]]:
    """What waits, by what is to be done about it, the most urgent first; names as recorded."""
    within, hidden = _by_reach(e)
    return {
        "mend": [name for s in within for name in s.state.open],
        "probe_again": [name for s in within for name in s.state.mended],
        "answer": [w["run"] for w in e.warnings],
        "open_up": [s.name for s in hidden if s.state.open or s.state.mended or s.state.unprobed],
        "clear": [d.failure for d in e.doubts.doubts if d.beyond] if e.doubts else [],
        "pull": [
            s["name"]
            for s in e.strips
            if waits_for_pull(s["shortfalls"], by_hand=bool(s["by_hand"]))
        ],
        "finish": [s.name for s in e.seams if s.state.state == IN_WORK],
        "probe": [s.name for s in within if s.state.unprobed],
    }


def _by_reach(e: Evening) -> tuple[list[SeamFacts], list[SeamFacts]]:
    """The seams that can be reached, and those the next ply hides."""
    hidden = [s for s in e.seams if "covered" in s.flags]
    return [s for s in e.seams if "covered" not in s.flags], hidden


def _first(e: Evening) -> list[str]:
    """What to do first, the most urgent first."""
    within, _hidden = _by_reach(e)
    opened = [f"{_some(s.state.open)} ({s.name})" for s in within if s.state.open]
    mended = [f"{_some(s.state.mended)} ({s.name})" for s in within if s.state.mended]
    warned = [
        _("{run}: {why}", run=w["run"], why=shortfalls.warning(w["code"])) for w in e.warnings
    ]
    todo = _todo(e)
    steps = {
        "mend": _("mend what is open: {what}", what=few(opened)),
        "probe_again": _("probe mends again: {what}", what=few(mended)),
        "answer": _("answer warnings: {what}", what=few(warned)),
        "open_up": _("open up what the next ply hides unproven: {what}", what=few(todo["open_up"])),
        "clear": _(
            "clear the lap that failures put in doubt: {what}; how: weldcal doubt",
            what=few(todo["clear"]),
        ),
        "pull": _("pull the strips not pulled: {what}", what=few(todo["pull"])),
        "finish": _("finish seams in work: {what}", what=few(todo["finish"])),
        "probe": _("probe what is cold: {what}", what=few(todo["probe"])),
    }
    last = _("run a test strip before the first lap: today's go-aheads end with the day")
    return [*(steps[what] for what, names in todo.items() if names), last]


def _starts(e: Evening, units: str) -> list[str]:
    if e.ambient_c is None:
        air = "55F" if units == "us" else "13C"
        return [
            _(
                "no ambient was ever read; say what to expect: weldcal evening --ambient {air}",
                air=air,
            )
        ]
    if not e.started:
        return [_("no strip yet to say which machine and sheet; ask in the morning: weldcal dial")]
    basis = _("for {ambient} expected", ambient=show.temperature(e.ambient_c, units))
    if e.ambient_from:
        basis = _(
            "for {ambient}, as first read on {day}; another: --ambient",
            ambient=show.temperature(e.ambient_c, units),
            day=e.ambient_from[:10],
        )
    return [
        basis,
        *(_start(s, units) for s in e.started),
        _(
            "a start for the first strip, not a go-ahead; ask again when the sheet's temperature is read"
        ),
    ]


def _start(s: Started, units: str) -> str:
    kind = _("{machine}, {sheet}, {lap}", machine=s.machine, sheet=s.sheet, lap=_(s.lap))
    if s.dialled is None:
        return f"{kind}: {s.why_not}"
    advised, f = s.dialled.advice, s.dialled.advice.forecast
    if f is None:
        return f"{kind}: {signs.line(advised.state)[0]}"
    sure = _("sure enough") if advised.sure else _("to be proven by a strip")
    return _(
        "{kind}: {speed}, nozzle {nozzle} ({sure}; {chance} chance of a good lap)",
        kind=kind,
        speed=advice.on_dial(s.dialled.asked, f.speed_m_per_min),
        nozzle=show.temperature(f.nozzle_c, units),
        sure=sure,
        chance=show.percent(f.chance, down=True),
    )


def _some(names: tuple[str, ...]) -> str:
    return " ".join(names[:3]) + ("…" if len(names) > 3 else "")


def few(names: list[str]) -> str:
    """The first of them, and how many more there are."""
    if not names:
        return _("none")
    more = len(names) - _MOST
    return ", ".join(names[:_MOST]) + show.and_more(more)


def _states(e: Evening) -> Table:
    """All seams by state, in one row: the drawing may show an area only."""
    counts = {state: n for state, n in totals(e.seams).states.items() if n}
    headings = [_("Seams"), *(f"{SHAPES[state]} {_(state)}" for state in counts)]
    row = [_("all areas"), *(str(n) for n in counts.values())]
    return table(_("Seams by state"), headings, [row])
