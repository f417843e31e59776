"""The guided day's questions in words: what is asked, what it means, what the day stands at.

Invariant: a question says what Enter does; a question judged by eye offers no answer.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from weldcal.flow import going
from weldcal.flow.question import NAMED, Question, Said, Term
from weldcal.records.day import Day, DayLap, LastReading, Warned
from weldcal.records.draft import Draft
from weldcal.records.fields import usual_unit
from weldcal.reports import show
from weldcal.words import _, decimal_mark, mark

_AT_ONCE = 4  # names listed in a question; of more, `?` tells


def label(question: Question, units: str) -> str:
    """What is asked, without what Enter would answer."""
    return _(question.asks, **{name: _value_text(v, units) for name, v in question.values.items()})


def _value_text(value: Said, units: str) -> str:
    """A value of a question's sentence."""
    if isinstance(value, float):
        return show.age(value)
    if isinstance(value, Term):
        return _(value.word) if value.word else ""
    if isinstance(value, DayLap):
        return _place(value, units)
    if isinstance(value, Warned):
        return _warnings(value.codes)
    if isinstance(value, tuple):
        read = tuple(one for one in value if isinstance(one, LastReading))
        return read_lately(read) if read else show.listed([str(one) for one in value])
    return show.safe(value)


def prompt(question: Question, units: str) -> str:
    """The question as it is shown: with its choices and what Enter answers."""
    asked = label(question, units)
    if (len(question.choices) > 1 and question.kind == "choice") or (
        question.kind in NAMED and 1 < len(question.choices) <= _AT_ONCE
    ):
        listed = ", ".join(_listed(question))
        asked = _("{question} ({choices})", question=asked, choices=listed)
    if question.carried:
        age = show.age(question.age_h or 0.0)
        return _(
            "{question} [{value}, read {age} ago]", question=asked, value=question.default, age=age
        )
    if question.was is not None:
        values = {"value": question.was, "age": show.age(question.age_h or 0.0)}
        return _("{question} ({value} {age} ago: read it, or type same)", question=asked, **values)
    if question.at is not None:
        return _("{question} [{value}]", question=asked, value=_(question.at))
    if question.default is not None and question.kind not in ("confirm", "shown", "permit"):
        usual = _(question.default) if question.kind == "choice" else _written(question)
        return _("{question} [{value}]", question=asked, value=show.safe(usual))
    if question.optional:
        return _("{question} [leave out]", question=asked)
    return asked


def _written(question: Question) -> str:
    """What Enter answers, a number with the reader's decimal mark."""
    text = question.default or ""
    if question.kind not in ("value", "speed", "walk"):
        return text
    return re.sub(r"(?<=\d)\.(?=\d)", decimal_mark(), text)


def _listed(question: Question) -> list[str]:
    """What can be chosen; numbered, where a word is slow to tell from another."""
    if question.kind in NAMED:
        return [show.safe(name) for name in question.choices]
    words = [_(choice) for choice in question.choices]
    return [f"{n} {word}" for n, word in enumerate(words, 1)] if len(words) > 4 else words


def explained(question: Question, units: str) -> list[str]:
    """What `?` answers: what is meant, how it is typed, what else can be typed here."""
    like = str(question.values.get("like", ""))
    help_lines = [_(question.means, like=like)] if question.means else []
    if question.kind in NAMED and question.choices:
        help_lines.append(_("Known: {names}.", names=show.listed(list(question.choices))))
    if question.code == "which":
        help_lines += [f"- {_(step)}: {_(going.STEPS[step].about)}" for step in question.choices]
    if question.kind in ("value", "many") and (unit := usual_unit(question.field, units)):
        help_lines.append(
            _("Without a unit: {unit}. Another unit may follow the number.", unit=show.unit(unit))
        )
    if question.kind == "choice":
        help_lines.append(_("Type a word, its first letter or its number."))
    if question.at is not None:
        help_lines.append(
            _("Seen before now? Type when, like 7:40; at any other question: at 7:40.")
        )
    if question.carried:
        help_lines.append(
            _("Enter keeps the last reading; it is recorded as carried over, with its age.")
        )
    return [*help_lines, keys()]


def keys() -> str:
    """What can be typed at any question."""
    return _("? explains, b goes one back, l leaves this for later, q leaves; all is kept.")


def _stretch(lap: DayLap) -> str:
    return f"{lap.start}–{lap.end}" if lap.end else lap.start


def _place(lap: DayLap, units: str) -> str:
    """`0–33 ft`."""
    ends = {"a": lap.start, "b": lap.end or lap.start}
    return _("{a}–{b} ft", **ends) if units == "us" else _("{a}–{b} m", **ends)


def read_lately(read: tuple[LastReading, ...]) -> str:
    """`air 61F, sheet 74F (40 min ago)`."""
    parts = [_("{name} {value}", name=condition(r.name), value=r.text) for r in read]
    oldest = max(r.age_h for r in read)
    return _("{read} (read {age} ago)", read=", ".join(parts), age=show.age(oldest))


def condition(name: str) -> str:
    """What a condition is called in a line of several."""
    return _(_SHORT.get(name, name))


_SHORT = {
    "ambient": mark("air"),
    "sheet_temp": mark("sheet"),
    "under_temp": mark("lower face"),
    "wind": mark("wind"),
    "humidity": mark("humidity"),
    "line_voltage": mark("line"),
    "gust": mark("gusts"),
    "roll_temp": mark("roll"),
}


def heading(day: Day, draft: Draft) -> list[str]:
    """Place, person and state of the day."""
    first = _(
        "{job}, {date}. {person}, {role}.",
        job=show.safe(day.job),
        date=show.clock(day.now),
        person=show.safe(draft.person),
        role=_(draft.role or ""),
    )
    return [first, *standing(day, draft.role or "")]


def _kind(day: Day) -> list[str]:
    """Machine and sheet of the go-ahead, where the job has another too."""
    if day.standing is None:
        return []
    of = day.standing.setting
    both = ((of.machine, day.machines), (of.sheet, day.sheets))
    return [name for name, listed in both if len(listed) > 1]


def standing(day: Day, role: str) -> Iterator[str]:
    """The state of the day, in a few lines."""
    if role == "operator":
        yield from _operator(day)
        return
    if role == "foreman" and day.welding:
        yield _(
            "Still being welded: {seams}.",
            seams=show.listed([lap.seam for lap in day.welding]),
        )
    unprobed = [lap for lap in day.to_probe if not lap.mended]
    mended = [lap for lap in day.to_probe if lap.mended]
    if unprobed:
        yield _("Unprobed: {seams}.", seams=_few(unprobed))
    elif not day.hidden and not day.warm:
        yield _("Nothing welded is unprobed.")
    if day.hidden:
        shown = _some(list(day.hidden))
        yield _("Hidden by the next ply and unproven, to be opened up: {seams}.", seams=shown)
    if day.warm:
        shown = _some([f"{seam} {at}" for seam, at in day.warm])
        yield _("Still warm, to be probed from then on: {seams}.", seams=shown)
    if mended:
        yield _("Mended, to be probed again: {seams}.", seams=_few(mended))
    if day.findings:
        yield _(
            "Findings open: {names}.", names=_some([f"{f.name} {f.seam}" for f in day.findings])
        )


def _few(laps: list[DayLap]) -> str:
    return _some([f"{lap.seam} {_stretch(lap)}" for lap in laps], 4)


def _some(names: list[str], most: int = 6) -> str:
    """The first names, and how many more there are."""
    shown, left = show.listed(names[:most]), len(names) - most
    return shown if left <= 0 else _("{seams} and {n} more", seams=shown, n=left)


def _warnings(codes: tuple[str, ...]) -> str:
    from weldcal.reports import shortfalls

    return "; ".join(shortfalls.warning(code) for code in codes)


def _operator(day: Day) -> Iterator[str]:
    from weldcal.reports import standing_line  # not before the first question

    yield standing_line.line(day.standing, day.units, _kind(day))
    if day.waiting:
        yield _("To be pulled when cold: {names}.", names=show.listed(list(day.waiting)))
    if day.needs.watch:
        watch = day.needs.watch
        values = {"work": watch.name, "until": watch.until, "source": show.safe(watch.source)}
        yield _("Watch over {work} until {until}, says {source}.", **values)
    if day.welding:
        yield _("Being welded: {seams}.", seams=show.listed([lap.seam for lap in day.welding]))


def nothing_left(role: str, put_off: tuple[str, ...], day: Day) -> str:
    """The lines where nothing comes next; `put_off`: steps left for later."""
    if put_off:
        return _("Left for later: {steps}.", steps=show.listed([_(step) for step in put_off]))
    if role == "inspector" and day.warm:
        return _("Nothing else is cold enough to be probed.")
    return {
        "operator": lambda: _("Nothing is left to weld."),
        "inspector": lambda: _("Nothing is left to probe."),
        "foreman": lambda: _("The evening is done."),
    }[role]()
