"""The board for the day in words: lines that fit any screen, the answer among them in every size.

Invariant: each question is answered by the page that answers it elsewhere. On a short screen whole
lines are left out, what presses least first; the answer never is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

from msgspec import Struct

from weldcal.json_values import JsonObject
from weldcal.records.day import LastReading
from weldcal.reports import advice, answer, asking, day_ahead, digits, show, standing_line
from weldcal.reports.lines import wrapped
from weldcal.views.board import Board, InWork
from weldcal.views.dialled import pressing
from weldcal.words import _, plural

# What is left out first where the screen is short; the answer, last of all, never.
_KEYS, _HEAD, _LATER, _NEXT, _READ, _LARGE, _WAITS, _LAP, _STANDS, _ANSWER = range(10)
_SMALL = (40, 10)  # up to here there is room for the answer and nothing else
_BETWEEN = 3  # empty rows kept for legibility before the number grows
_WIDEST = 100  # a longer line is slow to read
_SOON_MIN = 10.0  # so long before somebody has to look again it is said once more


# What makes a line new: it is compared, never shown.
Same: TypeAlias = str | int | bool | frozenset[str] | tuple["Same", ...] | None


class BoardLine(Struct, frozen=True):
    """A line of the board.

    Attributes:
        part: which it is; it says too what is left out first.
        same: as long as it stays the same, the line says nothing new.
        style: how it stands out; never alone.
    """

    part: int
    text: str
    same: Same
    style: str = ""


class Todo(Struct, frozen=True):
    """What waits for the operator.

    Attributes:
        next: the step that comes next, or None.
        begun: a step that was begun and not finished.
        later: steps left for later.
    """

    next: str | None = None
    begun: str | None = None
    later: tuple[str, ...] = ()


def lines(board: Board, todo: Todo, keys: str = "") -> list[BoardLine]:
    """The board in lines, from top to bottom.

    Args:
        keys: what can be pressed; empty where nobody is at the keyboard.
    """
    board_lines = [
        BoardLine(_HEAD, _heading(board), ""),
        *_answer(board),
        *_coming(board),
        *_standing(board),
        *(_lap(in_work, board.day.units) for in_work in board.in_work),
        *_readings(board),
        *_waiting(board, todo),
    ]
    return [*board_lines, BoardLine(_KEYS, keys, keys)] if keys else board_lines


def _heading(board: Board) -> str:
    values = {"job": show.safe(board.day.job), "at": show.clock(board.day.now)}
    if board.dialled is None:
        return _("{job}, {at}", **values)
    q = board.dialled.asked.question
    kind = {"machine": show.safe(q.machine), "sheet": show.safe(q.sheet), "lap": _(q.lap)}
    return _("{job}, {at}: {machine}, {sheet}, {lap}", **values, **kind)


def _answer(board: Board) -> Iterator[BoardLine]:
    """The three lines of `dial`; the first and the last stand out."""
    if board.dialled is None or board.then is None:
        yield BoardLine(_ANSWER, board.why, board.why, "bold")
        return
    answer_lines = answer.lines(board.dialled, board.then)
    do_it = pressing(board.dialled, board.then) == "weld"
    for n, text in enumerate(answer_lines):
        style = "bold" if n == 0 else ""
        if n == len(answer_lines) - 1:
            style = "bold" if do_it else "bold reverse"
        yield BoardLine(_ANSWER, text, text, style)


def _coming(board: Board) -> Iterator[BoardLine]:
    """When the next step of the speed is expected, and under which sky."""
    if board.dialled is None or (board.then is not None and board.then.waits):
        return
    text = day_ahead.next_step(board.dialled.asked, board.steps)
    if text:
        yield BoardLine(_NEXT, text, text)


def _standing(board: Board) -> Iterator[BoardLine]:
    """The go-ahead, and how long until somebody has to look again."""
    stands, by = board.standing, board.until
    text = standing_line.line(stands, board.day.units)
    same: tuple[Same, ...] = (text, by)
    if by is not None and board.left_min is not None:
        values = {
            "at": show.clock(by, date=False),
            "left": show.minutes(max(0.0, board.left_min)),
        }
        text = f"{text} " + _("{left} left, until {at}.", **values)
        same = (*same, board.left_min <= _SOON_MIN)
    fits = stands is not None and stands.level == "good"
    yield BoardLine(_STANDS, text, same, "" if fits else "bold")


def _lap(in_work: InWork, units: str) -> BoardLine:
    """A lap in work: where it began, where it may be by now, what was checked on it."""
    values = {
        "seam": show.safe(in_work.lap.seam),
        "start": in_work.lap.start,
        "at": show.clock(in_work.since, date=False),
    }
    checks = _checked(in_work.lap.checks)
    if in_work.lap.outside:
        checks = _("The last check was outside the limits: stop and look.")
    parts = [
        _("Lap {seam} since {at}, from {start}.", **values),
        *_reckoned(in_work, units),
        checks,
    ]
    same = (in_work.lap.run, in_work.lap.checks, in_work.lap.outside, in_work.at_end)
    return BoardLine(_LAP, " ".join(parts), same, "bold" if in_work.lap.outside else "")


def _checked(count: int) -> str:
    if not count:
        return _("No bleed check yet.")
    return plural("{n} bleed check.", "{n} bleed checks.", count)


def _reckoned(in_work: InWork, units: str) -> Iterator[str]:
    """Where the machine is by its speed: to the whole foot, or the tenth of a metre."""
    if in_work.at_end:
        yield _("By its speed it is at the end, {end}.", end=in_work.lap.end)
    elif in_work.about_m is not None:
        m = in_work.about_m
        near = round(m / 0.3048) * 0.3048 if units == "us" else round(m, 1)
        yield _("By its speed about {place} now.", place=show.distance(near, units))


def _readings(board: Board) -> Iterator[BoardLine]:
    """The readings, those of one age together; those to be taken again say so."""
    if not board.day.read:
        yield BoardLine(_READ, _("Nothing read yet today."), "none")
        return
    by_age: dict[str, list[str]] = {}
    for one in sorted(board.day.read, key=lambda one: one.age_h):
        by_age.setdefault(_when(one, one.name in board.old), []).append(_reading(one))
    readings = "; ".join(f"{when}: {', '.join(values)}" for when, values in by_age.items())
    same = (tuple((one.name, one.text) for one in board.day.read), board.old)
    text = _("Read {readings}.", readings=readings)
    yield BoardLine(_READ, text, same, "bold" if board.old else "")


def _when(reading: LastReading, old: bool) -> str:
    if reading.age_h < 1 / 60:
        return _("just now")
    age = show.age(reading.age_h)
    return _("{age} ago, OLD", age=age) if old else _("{age} ago", age=age)


def _reading(reading: LastReading) -> str:
    values = {"name": asking.condition(reading.name), "value": show.setting(reading.text)}
    return _("{name} {value}", **values)


def _waiting(board: Board, todo: Todo) -> Iterator[BoardLine]:
    waits = [_("pull {name} when it is cold", name=show.safe(name)) for name in board.day.waiting]
    if todo.begun:
        waits.append(_("begun and not finished: {step}", step=_(todo.begun)))
    if waits:
        text = _("Waits: {what}.", what="; ".join(waits))
        yield BoardLine(_WAITS, text, text, "bold")
    if todo.later:
        text = _("Left for later: {steps}.", steps=show.listed([_(step) for step in todo.later]))
        yield BoardLine(_LATER, text, text)


# -- on a screen of so many columns and rows --------------------------------------------------


class ScreenRow(Struct, frozen=True):
    """A row of the screen."""

    text: str
    style: str = ""


def screen(
    board: Board, todo: Todo, keys: tuple[str, str], size: tuple[int, int]
) -> list[ScreenRow]:
    """The board as it fits a screen.

    Args:
        keys: what can be pressed, in full and in short.
        size: columns and rows.
    """
    columns, rows = size
    small = columns <= _SMALL[0] and rows <= _SMALL[1]
    board_lines = [one for one in lines(board, todo, keys[0]) if one.part == _ANSWER or not small]
    blocks = [(one.part, _folded(one, columns)) for one in board_lines]
    number = [] if small else _large(board, columns, digits.ROWS)
    if number:
        blocks.insert(1, (_LARGE, number))
    short = _folded(BoardLine(_KEYS, keys[1], ""), columns) if keys[1] else []
    while _height(blocks) + _room_for(short, blocks) > rows:
        least = min(part for part, _rows in blocks)
        if least == _ANSWER:
            break
        blocks.remove(next(block for block in reversed(blocks) if block[0] == least))
    if _height(blocks) + _room_for(short, blocks) <= rows and _room_for(short, blocks):
        blocks.append((_KEYS, short))
    return _spread(_larger(board, blocks, columns, rows), rows)[:rows]


def _room_for(short: list[ScreenRow], blocks: Iterable[Block]) -> int:
    """Rows that the short list of keys takes, where the full one does not fit."""
    return 0 if any(part == _KEYS for part, _rows in blocks) else len(short)


Block = tuple[int, list[ScreenRow]]


def _height(blocks: Iterable[Block]) -> int:
    return sum(len(rows) for _part, rows in blocks)


def _large(board: Board, columns: int, rows: int) -> list[ScreenRow]:
    if board.dialled is None or board.then is None:
        return []
    drawn = answer.large(board.dialled, board.then, columns, rows)
    return [ScreenRow(line, "bold") for line in drawn]


def _larger(board: Board, blocks: list[Block], columns: int, rows: int) -> list[Block]:
    """The number as large as the remaining rows allow, with some between the blocks."""
    free = max(0, rows - _height(blocks) - _BETWEEN)
    return [
        (part, _large(board, columns, len(own) + free) or own) if part == _LARGE else (part, own)
        for part, own in blocks
    ]


def _spread(blocks: list[Block], rows: int) -> list[ScreenRow]:
    """An empty row between blocks as far as there is room: around the number and the answer first."""
    gaps = [n for n in range(1, len(blocks)) if blocks[n][0] != blocks[n - 1][0]]
    first = [n for n in gaps if {blocks[n][0], blocks[n - 1][0]} & {_LARGE, _ANSWER, _KEYS}]
    open_ = [*first, *(n for n in gaps if n not in first)][: max(0, rows - _height(blocks))]
    out: list[ScreenRow] = []
    for n, (_part, own) in enumerate(blocks):
        out += [ScreenRow(""), *own] if n in open_ else own
    return out


def _folded(line: BoardLine, columns: int) -> list[ScreenRow]:
    """A line folded; words longer than the screen are broken: nobody copies from here."""
    rows = wrapped(line.text, min(columns, _WIDEST)).split("\n")
    parts = [row[n : n + columns] for row in rows for n in range(0, max(1, len(row)), columns)]
    return [ScreenRow(part, line.style) for part in parts]


# -- printed line by line ----------------------------------------------------------------------


def news(before: Sequence[BoardLine], now: Sequence[BoardLine]) -> list[str]:
    """Lines that say something new."""
    seen = {(line.part, repr(line.same)) for line in before}
    return [line.text for line in now if (line.part, repr(line.same)) not in seen]


def document(board: Board, todo: Todo) -> JsonObject:
    """The board as one JSON document."""
    day, stands = board.day, board.standing
    return {
        "at": day.now,
        **_advised(board),
        "go_ahead": {
            "strip": stands.name if stands else None,
            "level": stands.level if stands else "none",
            "look_again_by": board.until,
            "left_min": board.left_min,
        },
        "in_work": [
            {
                "seam": in_work.lap.seam,
                "run": in_work.lap.run,
                "since": in_work.since,
                "about_m": in_work.about_m,
                "at_end": in_work.at_end,
                "bleed_checks": in_work.lap.checks,
                "last_check_outside": in_work.lap.outside,
            }
            for in_work in board.in_work
        ],
        "readings": [
            {"name": r.name, "text": r.text, "age_h": r.age_h, "old": r.name in board.old}
            for r in day.read
        ],
        "pull": list(day.waiting),
        "next": todo.next,
        "begun": todo.begun,
        "later": list(todo.later),
    }


def _advised(board: Board) -> JsonObject:
    """The speed and what to do with it; None under every key where there is none."""
    names = ("machine", "sheet", "lap", "speed_m_per_min", "dial_mark", "dial_unit", "nozzle_set_c")
    if board.dialled is None or board.then is None:
        return {**dict.fromkeys((*names, "sure", "do")), "why": board.why, "later_today": []}
    asked, then = board.dialled.asked, board.then
    advised = advice.document(board.dialled)
    kind = {name: getattr(asked.question, name) for name in names[:3]}
    return {
        **kind,
        **{name: advised[name] for name in (*names[3:], "sure")},
        "do": pressing(board.dialled, then),
        "why": "; ".join(one.code for one in then.waits),
        "later_today": day_ahead.document(asked, board.steps),
    }
