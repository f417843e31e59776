"""Page 1: how much is proved of laps and of points, what is open, what is unproven, what was proved.

Invariant: every question is asked and answered; those with nothing found stand
together at the back. The record says what was done and found, never that a roof
is sound.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from weldcal.quality.seam import IN_WORK, NOT_STARTED, PROBED
from weldcal.quality.upkeep import CLOSED, open_answer
from weldcal.records.notes import WITHDRAWN
from weldcal.reports import show
from weldcal.reports.dossier.document import Guide, Numbers, Table, table
from weldcal.reports.dossier.lengths import in_doubt, length
from weldcal.reports.dossier.totals import Totals, share
from weldcal.reports.sentences import entries_counted
from weldcal.reports.taken_back import called
from weldcal.views.dossier import Counted, Dossier
from weldcal.words import _, plural

_MOST = 6
Line = tuple[str, str, str]


class Answers(Struct, frozen=True):
    """The questions of somebody who doubts the file, sorted by their answers."""

    open: tuple[Line, ...]
    unproven: tuple[Line, ...]
    proved: tuple[Line, ...]
    nothing: tuple[Line, ...]


def answers(d: Dossier, t: Totals, units: str) -> Answers:
    """All questions with their answers: (question, answer, where)."""
    proved = _proved(d)
    holds = tuple(line for line in proved if line[1] != _("not one")) if not d.faults else ()
    asked = _open(d, t, units)
    doubtful = [*(line for line in proved if line not in holds), *_unproven(d), *_record(d)]
    nothing = [line for line in (*asked, *doubtful) if line[1] == _("none")]
    return Answers(
        open=tuple(line for line in asked if line not in nothing),
        unproven=tuple(line for line in doubtful if line not in nothing),
        proved=holds,
        nothing=tuple(nothing),
    )


def numbers(t: Totals) -> Numbers:
    """The three numbers: laps, points, findings open."""
    laps, points = sum(t.states.values()) - t.points, t.points
    clean, met = t.states[PROBED] - t.clean_points, t.clean_points
    return Numbers(
        (
            (
                share(clean, laps),
                _("of laps alone are probed with no open finding"),
                _("{n} of {of} side laps, end laps, tie-ins and details", n=clean, of=laps),
            ),
            (
                share(met, points),
                _("of points alone are"),
                _("{n} of {of} T-joints", n=met, of=points),
            ),
            (
                str(t.open),
                plural("finding is open", "findings are open", t.open),
                _("and {n} mended, not probed again", n=t.mended),
            ),
        )
    )


def guide() -> Guide:
    """Where a manufacturer's representative finds what they look for."""
    return Guide(
        caption=_("Where to find it"),
        page=_("page"),
        items=(
            (_("Date, weather, power"), _("Day by day")),
            (_("Test strips, settings, go-aheads"), _("Day by day")),
            (_("Widths: bleed-out, and its charts"), _("Charts")),
            (_("Probing and findings, seam by seam"), _("Seams")),
            (_("Repairs, photos"), _("Seams with something to tell")),
            (_("Peel tests"), _("Peel samples")),
            (_("Who signed, seals, handed to whom"), _("The seal, and how to check it")),
            (_("Who recorded what"), _("People and their entries")),
        ),
    )


def tables(answers: Answers) -> list[Table]:
    """What is open, what is unproven, what was proved; a table with no row is left out."""
    parts = (
        (_("What is open"), answers.open),
        (_("What is unproven"), answers.unproven),
        (_("What was proved"), answers.proved),
    )
    return [_asked(caption, lines) for caption, lines in parts if lines]


def nothing_found(answers: Answers) -> Table:
    """The questions whose answer is none, at the back."""
    return _asked(_("Asked, with nothing found"), answers.nothing)


def _asked(caption: str, lines: tuple[Line, ...]) -> Table:
    headings = [_("Question"), _("Answer"), _("Where")]
    return table(caption, headings, lines, (), (2.4, 1.3, 3))


def _open(d: Dossier, t: Totals, units: str) -> list[Line]:
    """What somebody has to do yet."""
    seams = d.seams
    unfinished = [s.name for s in seams if s.state.state in (NOT_STARTED, IN_WORK)]
    unprobed = [s for s in seams if s.state.unprobed]
    where = [f"{s.name} {show.stretches(s.state.unprobed, units)}" for s in unprobed[:_MOST]]
    opened = [f"{s.name} {_some(s.state.open)}" for s in seams if s.state.open]
    mended = [f"{s.name} {_some(s.state.mended)}" for s in seams if s.state.mended]
    waiting = [w for w in d.warnings if not w["done"]]
    lap = [p["name"] for p in d.peels if p["parted"] == "at the lap"]
    failures = [one.failure for one in d.doubts.doubts if one.length_m] if d.doubts else []
    return [
        (_("Findings open"), str(t.open) if t.open else _("none"), _few(opened)),
        (_("Mended, not probed again"), str(t.mended) if t.mended else _("none"), _few(mended)),
        (
            _("Welded lap not probed"),
            _length(t.unprobed_m, t.welded_m, units),
            _few(where, len(unprobed)),
        ),
        (_("Seams not welded to their end"), _n(unfinished), _few(unfinished)),
        (
            _("Lap in doubt: welded between a failed check and the good ones around it"),
            in_doubt(d.doubts, units),
            _few(failures),
        ),
        (
            _("Warned and welded all the same, not answered"),
            _n(waiting),
            _few([f"{w['run']} ({w['seam'] or '–'})" for w in waiting]),
        ),
        (_("Samples that parted at the lap"), _n(lap), _few(lap)),
        (_("Hot work with no end, or no full fire watch, recorded"), *_hot(d, t)),
        *_waiting(d),
    ]


def _waiting(d: Dossier) -> list[Line]:
    """Items, leaks and looks that wait for somebody."""
    lines = [
        f"{one.n}"
        for one in d.start_up
        if open_answer(one.answer["answer"] if one.answer else None)
    ]
    items = [f"{row['name']} ({row['place']})" for row in d.punch if not row["done"]]
    leaks = [leak.row["name"] for leak in d.leaks if leak.stage != CLOSED]
    looks = [one.area or _("the roof") for one in d.looks_due if one.over]
    return [
        (_("Lines of the start-up list not answered, or answered no"), _n(lines), _few(lines)),
        (_("Items of visits not settled"), _n(items), _few(items)),
        (_("Leaks not mended and seen dry after rain"), _n(leaks), _few(leaks)),
        (_("Yearly look due"), _n(looks), _few(looks)),
    ]


def _unproven(d: Dossier) -> list[Line]:
    """What was done in a way that proves less."""
    seams = d.seams
    self_probed = [s.name for s in seams if "probed by its operator" in s.flags]
    unknown = [
        s.name for s in seams if {"welding not recorded", "not on the seam list"} & set(s.flags)
    ]
    covered = [s.name for s in seams if "covered unprobed" in s.flags]
    return [
        (_("Covered by the next ply without being probed clean"), _seams(covered), _few(covered)),
        _flagged(
            d, _("Recorded on a seam while the next ply hid it"), "worked on after it was covered"
        ),
        _flagged(d, _("Walks of one place that disagree"), "walks disagree"),
        (_("Probed by the one who welded it"), _seams(self_probed), _few(self_probed)),
        (
            _("Probed or found on a seam not listed, or whose welding is not recorded"),
            _seams(unknown),
            _few(unknown),
        ),
        *_weak(d),
        _welded_without(d),
    ]


def _welded_without(d: Dossier) -> Line:
    """Days welded with no hot work recorded."""
    hot_work_days = {str(row["day"]) for row in d.other["hot_work"]}
    days = [day for day, n in d.days.items() if n.get("runs") and day not in hot_work_days]
    return _("Days welded with no hot work recorded"), _n(days), _few(days)


def _hot(d: Dossier, t: Totals) -> tuple[str, str]:
    """Answer and where; a roof welded with no hot work recorded at all has no watch either."""
    if t.welded_m > 0 and not d.other["hot_work"]:
        return _("no hot work recorded"), ""
    return _n(d.unwatched), _few(d.unwatched)


def _record(d: Dossier) -> list[Line]:
    late = [m for name, m in d.marks.items() if "late" in name]
    worst = max((m.worst_h for m in late), default=0.0)
    corrections = [a for a in d.amendments if a["path"] != WITHDRAWN]  # taken back: a line above
    late_text = _count(late)
    if worst:
        late_text += ", " + _("up to {age}", age=show.age(worst))
    return [
        (_("Entered over an hour after it was seen"), late_text, _names(late)),
        _marked(d, _("Entered by another than who saw it"), "entered by another"),
        _marked(d, _("Entered with a time still to come"), "ahead of the clock"),
        _marked(d, _("Conditions carried over from an earlier reading"), "conditions carried over"),
        _marked(d, _("Read with an instrument past its check date"), "instrument past its check"),
        _marked(d, _("By a person, machine or sheet not on the job's lists"), "not listed"),
        _marked(d, _("Welded on a go-ahead that was taken back since"), "go-ahead taken back"),
        _marked(d, _("Welded on a go-ahead that fell short since"), "go-ahead fell short since"),
        (
            _("Records taken back as mistakes"),
            _n(d.withdrawn),
            _few(list(dict.fromkeys(called(w) for w in d.withdrawn))),
        ),
        (
            _("Corrections"),
            _n(corrections),
            _few(list(dict.fromkeys(a["name"] for a in corrections))),
        ),
        (
            _("Corrections that contradict each other"),
            _n([a for a in d.amendments if a["conflict"]]),
            _few(list(dict.fromkeys(a["name"] for a in d.amendments if a["conflict"]))),
        ),
    ]


def _proved(d: Dossier) -> list[Line]:
    """What was recomputed and sealed; "not one" where nobody holds a seal."""
    handed = [f"{s['name']}: {h['to']}" for s in d.seals for h in s["handed"]]
    return [
        (
            _("Hashes, links, seals, tables and photos, recomputed for this file"),
            _("all hold") if not d.faults else plural("{n} fault", "{n} faults", len(d.faults)),
            _few([f"{_(f.what)}: {_(f.found)}" for f in d.faults]) or _against(d),
        ),
        (_("Seals made"), _or_not(d.seals), _few([f"{s['name']} {s['code']}" for s in d.seals])),
        (_("Seals handed to somebody outside the crew"), _or_not(handed), _few(handed)),
    ]


def _against(d: Dossier) -> str:
    """What the record was checked against, and what no check of it can show."""
    return _(
        "{entries} of this book against each other and {seals}; not shown: that what was typed is true, nor who typed it",
        entries=entries_counted(sum(row["n"] for row in d.entries)),
        seals=plural("{n} seal", "{n} seals", len(d.seals)),
    )


def _or_not(items: Sequence[object]) -> str:
    return str(len(items)) if items else _("not one")


def _weak(d: Dossier) -> list[Line]:
    """What weakens the proof."""
    defaults = [limit for limit in d.limits if not limit["adopted_by"]]
    after = _after_last_seal(d)
    return [
        (
            _("Limits nobody adopted for this job"),
            _n(defaults),
            _("defaults stand for them; see Limits") if defaults else "",
        ),
        (_("Forks that somebody settled"), _n(d.settled), _few(d.settled)),
        (
            _("Clocks that went back or disagree"),
            _n(d.clocks),
            _few([f"{_(c.what)}, {show.clock(c.found)}" for c in d.clocks]),
        ),
        (
            _("Entries of this book under no seal"),
            str(after) if after else _("none"),
            _("a change to these would not show") if after else "",
        ),
    ]


def _after_last_seal(d: Dossier) -> int:
    """Entries of this book that no seal fixes: those of each device past its furthest sealed one."""
    import json

    sealed: dict[str, int] = {}
    for seal in d.seals:
        for device, seq, _kept in json.loads(seal["heads"]):
            sealed[device] = max(sealed.get(device, 0), seq)
    return sum(max(0, head["seq"] - sealed.get(head["device"], 0)) for head in d.heads)


def _marked(d: Dossier, question: str, mark: str) -> Line:
    counted = [m for name, m in d.marks.items() if mark in name]
    return question, _count(counted), _names(counted)


def _flagged(d: Dossier, question: str, flag: str) -> Line:
    names = [s.name for s in d.seams if flag in s.flags]
    return question, _seams(names), _few(names)


def _count(counted: list[Counted]) -> str:
    n = sum(m.n for m in counted)
    return plural("{n} record", "{n} records", n) if n else _("none")


def _names(counted: list[Counted]) -> str:
    # A reading of the weather has no name of its own: it is called by that word.
    names = [_(name) if name == "conditions" else name for m in counted for name in m.names]
    return _few(list(dict.fromkeys(names)), sum(m.n for m in counted))


def _n(items: Sequence[object]) -> str:
    return str(len(items)) if items else _("none")


def _seams(names: list[str]) -> str:
    return plural("{n} seam", "{n} seams", len(names)) if names else _("none")


def _length(m: float, of_m: float, units: str) -> str:
    if m <= 0:
        return _("none") if of_m > 0 else _("nothing welded")
    return f"{length(m, units)}, {share(m, of_m)}"


def _some(names: tuple[str, ...]) -> str:
    return " ".join(names[:3]) + ("…" if len(names) > 3 else "")


def _few(names: list[str], of: int | None = None) -> str:
    """The first of them, and how many more there are."""
    shown = ", ".join(names[:_MOST])
    more = (len(names) if of is None else of) - min(len(names), _MOST)
    return shown + show.and_more(more)
