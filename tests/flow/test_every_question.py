"""Every question of every step, on every day made up: what Enter does there, and what is looked at.

The table says what the crew's day must be like. Enter alone records nothing that somebody should
have seen; what is looked at has the time at which it was answered.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from msgspec.structs import replace

from weldcal.errors import WeldcalError
from weldcal.flow import going
from weldcal.flow.question import Question, Step
from weldcal.records.day import Day, DayLap, LastReading, ListedMachine
from weldcal.records.draft import Draft

from . import days

OPEN_RUN = replace(days.VOID, to_weld=())
OTHER_SHEETS = replace(days.GOOD, sheets=("base", "cap"), machines=(), laps=("granules",))
TWO_MACHINES = replace(
    days.FIRST, machines=(ListedMachine("blue", "ft/min"), ListedMachine("red", "mark"))
)
LONG_AGO = replace(
    days.HOT, read=(LastReading("ambient", "61F", 9.0), LastReading("sheet_temp", "74F", 9.0))
)
BADLY_CHECKED = replace(days.GOOD, welding=(DayLap("A1", "0", "33", run="R1", outside=True),))
TWO_OF_EACH = replace(
    days.GOOD,
    waiting=("S1", "S2"),
    welding=(DayLap("A1", "0", "33", run="R1"), DayLap("A2", "0", "33", run="R2")),
)
MORE = (
    TWO_OF_EACH,
    days.VOLTS,
    days.DAMP,
    OPEN_RUN,
    OTHER_SHEETS,
    TWO_MACHINES,
    LONG_AGO,
    BADLY_CHECKED,
)
ALL_DAYS = days.DAYS | {"operator": (*days.DAYS["operator"], *MORE)}
TYPED = {
    "value": ("20",),
    "speed": ("5.5",),
    "many": ("1/4,3/16",),
    "name": ("A1", "Z9"),
    "text": ("words", "1-9"),
    "stretch": ("14.5",),
    "walk": ("33", "void 3 2in"),
    "agree": ("yes",),
    "permit": ("4711",),
    "nozzle": ("900",),
    "line_voltage": ("230",),
    "watch": ("60min",),
}
REFUSED, LEFT_OUT, YES, TAKES = "refused", "left out", "yes", "takes what stands there"
# step: question: what Enter does, on one day or another.
ENTER = """
conditions: ambient, sheet_temp, wind, humidity, gust, roll_temp, line_voltage, supply, damp: left out
conditions: confirm_conditions: yes
cautions: cautions, confirm: yes
cautions: extinguisher, deck, watch: refused
dial: line_voltage, supply: left out
dial: machine: refused, takes what stands there
dial: sheet, lap: takes what stands there
dial: confirm_dial: yes
strip: machine: refused, takes what stands there
strip: sheet, lap: takes what stands there
strip: still: refused, takes what stands there
strip: ambient, sheet_temp: refused, left out
strip: wind, humidity: left out
strip: nozzle, speed: refused, takes what stands there
strip: readings, bubbling: refused
strip: confirm_strip: yes
pull: pulled: takes what stands there
pull: bond: refused
pull: parted: left out
pull: confirm_pull: yes
start: weld: refused, takes what stands there
start: start: takes what stands there
start: roll_lot: left out
start: same_setting: refused, takes what stands there
start: machine: refused, takes what stands there
start: sheet, lap: takes what stands there
start: nozzle, speed: refused, takes what stands there
start: confirm_start: refused, yes
start: tool, agree_hand: refused
lap: seam: takes what stands there
lap: lap_what: refused, takes what stands there
lap: at, readings, end: refused
lap: confirm_check: yes
lap: stopped: takes what stands there
hand strip: sheet, tool, nozzle, bubbling: refused
hand strip: confirm_hand_strip: yes
seams: names: refused
seams: length: left out
seams: confirm_seams: yes
rolls: lot, storage, conditioned: left out
rolls: confirm: yes
hot work over: ended: takes what stands there
hot work over: confirm: yes
watch: watch_found: left out
watch: confirm: yes
startup: seen_to: left out
startup: seen_said: refused
startup: confirm: yes
undo: confirm_undo: yes
probe: walk: refused, takes what stands there
probe: walk_from: takes what stands there
probe: walk_end: refused, takes what stands there
probe: joint: left out
probe: joint_flaw: refused
finding: found_on: refused
finding: flaw, place: refused
finding: how: takes what stands there
finding: confirm_finding: yes
mend: mended, method: takes what stands there
mend: patch: left out
mend: confirm_mend: yes
peel: peeled, peel_at: refused
peel: parted, load, width: left out
peel: confirm: yes
roof: confirm_roof: yes
settle: settled: takes what stands there
settle: what_done: refused
settle: confirm_settle: yes
evening: tomorrow: left out
seal: confirm_seal: yes
hand: hand_to: refused
hand: hand_how: takes what stands there
hand: confirm_hand: yes
dossier: want_dossier: takes what stands there
cover: covered: left out
cover: agree_cover: refused
"""
# What is looked at or read just then: its time is the entry's.
LOOKED_AT = {
    ("conditions", "ambient sheet_temp wind humidity gust roll_temp line_voltage damp"),
    ("dial", "line_voltage"),
    ("strip", "bubbling"),
    ("hand strip", "bubbling"),
    ("pull", "bond"),
    ("start", "same_setting confirm_start agree_hand"),
    ("lap", "readings end"),
    ("finding", "place"),
    ("mend", "method"),
    ("peel", "parted"),
    ("watch", "watch_found"),
}
Asked = dict[tuple[str, str], list[tuple[Question, str]]]


def _enter(day: Day, draft: Draft, asked: Question) -> str:
    """What Enter does at a question."""
    try:
        text = going.answer(day, draft, "", day.now).answers[len(draft.answers)].text
    except WeldcalError:
        return REFUSED
    if asked.carried:
        assert text is None
        return LEFT_OUT
    if asked.default is not None:
        assert text == asked.default
        return TAKES
    return YES if text == "yes" else LEFT_OUT


def _walk(day: Day, draft: Draft, found: Asked, met: set[str]) -> None:
    """Every question that any of a few answers leads to; one met before on this day, not again."""
    asked = going.question(day, draft)
    if asked is None or len(draft.answers) > 16:
        return
    alike = repr(replace(asked, values={}))
    if alike in met:
        return
    met.add(alike)
    found.setdefault((draft.step or "", asked.code), []).append((asked, _enter(day, draft, asked)))
    for typed in dict.fromkeys(
        (*TYPED.get(asked.code, TYPED.get(asked.kind, ())), *asked.choices, "")
    ):
        try:
            then = going.answer(day, draft, typed, day.now)
        except WeldcalError:
            continue
        if then.step == draft.step:
            _walk(day, then, found, met)


@pytest.fixture
def every() -> Asked:
    """Every question of every step that is listed on any of the days."""
    found: Asked = {}
    for role, some in ALL_DAYS.items():
        for day in some:
            listed = going.question(day, going.begun_at(day, days.draft(role), going.LIST))
            assert listed is not None
            for step in listed.choices:
                _walk(day, going.begun_at(day, days.draft(role), step), found, set())
    return found


def _table() -> Iterator[tuple[tuple[str, str], set[str]]]:
    for line in ENTER.strip().splitlines():
        step, codes, does = line.split(": ")
        for code in codes.split(", "):
            yield (step, code), set(does.split(", "))


def test_what_enter_does_at_every_question(every: Asked) -> None:
    """As the table has it, and no question is missing from it."""
    assert {key: {does for _, does in asked} for key, asked in every.items()} == dict(_table())


def test_what_is_looked_at_has_its_own_time(every: Asked) -> None:
    """And nothing else has."""
    expected = {(step, code) for step, codes in LOOKED_AT for code in codes.split()}
    assert {key for key, asked in every.items() if any(q.seen for q, _ in asked)} == expected
    assert all(q.seen for key in expected for q, _ in every[key])


def test_every_question_has_words(every: Asked) -> None:
    """What is asked is said; where there is a choice, there is something to choose from."""
    for key, asked in every.items():
        for question, _ in asked:
            assert question.asks, key
            assert question.kind != "choice" or question.choices, key


def test_every_sentence_has_what_it_names(every: Asked) -> None:
    """Whatever stands in braces is among the values; before it is recorded, none of it is empty."""
    for key, asked in every.items():
        for question, _ in asked:
            for name in re.findall(r"\{(\w+)\}", question.asks):
                assert name in question.values, (key, name)
                if question.kind in ("confirm", "agree") or key[1] == "same_setting":
                    assert str(question.values[name]), (key, name)


# step: what it records; `d` takes a time, `o` once a day, `s` done where it was skipped,
# `f` shows something before its questions.
STEPS = {
    "job": ("job", ""),
    "undo": ("amend", ""),
    "conditions": ("conditions", "ds"),
    "cautions": ("hot-work", "fo"),
    "dial": ("advice", "s"),
    "strip": ("strip", "d"),
    "pull": ("pull", "d"),
    "start": ("run", "d"),
    "lap": ("bleed run-finish", "d"),
    "hand strip": ("strip", "d"),
    "seams": ("seam", ""),
    "rolls": ("roll", "ds"),
    "hot work over": ("hot-work-end", "ds"),
    "watch": ("watch", "ds"),
    "startup": ("start-answer", "dfs"),
    "probe": ("walk", "d"),
    "finding": ("finding", "d"),
    "mend": ("mend", "d"),
    "peel": ("peel", "ds"),
    "roof": ("", "s"),
    "settle": ("settle", ""),
    "evening": ("", "o"),
    "seal": ("seal", ""),
    "hand": ("handed", ""),
    "dossier": ("", "o"),
    "cover": ("cover", "do"),
}


def _marks(step: Step) -> str:
    flags = {"d": step.dated, "f": step.shown_first, "o": step.once, "s": step.skips}
    return "".join(sign for sign, is_so in flags.items() if is_so)


def test_what_every_step_is() -> None:
    """What it records, whether its time may lie back, and whether it comes again that day."""
    found = {code: (" ".join(s.records), _marks(s)) for code, s in going.STEPS.items()}
    assert found == STEPS
    assert all(step.about for step in going.STEPS.values())
    assert all(going.known(replace(days.draft(None), step=code)) for code in STEPS)


def test_a_step_of_another_version_is_not_known() -> None:
    """A draft between steps, at the list or at a step there is."""
    draft = days.draft("operator")
    for step, is_known in ((None, True), ("list", True), ("pull", True), ("no such step", False)):
        assert going.known(replace(draft, step=step)) is is_known
        assert going.recorded(replace(draft, step=step), frozenset(["pull"])) is (step == "pull")
