"""Days made up for the flow's tests."""

from __future__ import annotations

from msgspec.structs import replace

from weldcal.flow import going
from weldcal.records.day import (
    Advised,
    Day,
    DayLap,
    DaySeal,
    GoAheadNow,
    Joint,
    LastReading,
    LastStrip,
    ListedMachine,
    ListedPerson,
    Needs,
    OpenFinding,
    Sample,
    SpeedWanted,
    TypedSetting,
    Warned,
    Watching,
)
from weldcal.records.draft import Draft

NOW = "2026-06-01T13:10:05-06:00"
SET = TypedSetting("blue", "base", "selvage", "932F", "5.5ft/min")
BARE = Day(
    now=NOW,
    date="2026-06-01",
    tick=12,
    job="School roof",
    zone="America/Denver",
    typist="Ana Ruiz",
    people=(
        ListedPerson("Ana Ruiz", "operator", "AR"),
        ListedPerson("Ben Okoro", "inspector", "BO"),
    ),
    machines=(ListedMachine("blue", "ft/min"),),
    sheets=("base",),
)
VOLTS = replace(BARE, volts_read=True)
DAMP = replace(BARE, damp=True)
READ = replace(
    BARE, read=(LastReading("ambient", "61F", 0.7), LastReading("sheet_temp", "74F", 0.7))
)
HOT = replace(
    READ, hot=True, last=SET, advised=Advised("6", "932", SpeedWanted("blue", "base", "selvage"))
)
HOT_COLD = replace(HOT, advised=None)
FIRST = replace(HOT, last=None)
PULL = replace(HOT, strip=LastStrip("S1", ("pull_not_tried",)), waiting=("S1",))
GOOD = replace(
    HOT,
    standing=GoAheadNow("S1", "good", SET),
    seams=3,
    to_weld=(DayLap("A1", "0", "33"), DayLap("A2", "20", "33")),
)
WELDING = replace(GOOD, welding=(DayLap("A1", "0", "33", run="R1"),))
CHECKED = replace(GOOD, welding=(DayLap("A1", "0", "33", run="R1", checks=1),))
VOID = replace(GOOD, standing=GoAheadNow("S1", "strip_again", SET, (("moved_power_lost", {}),)))
PROBING = replace(
    BARE,
    typist="Ben Okoro",
    to_probe=(
        DayLap("A1", "0", "33", by="Ana Ruiz", age_h=2),
        DayLap("A2", "13.75", "15.25", by="Ana Ruiz", age_h=1, mended="F1"),
    ),
    findings=(OpenFinding("F2", "A3", "void", "4-4.25"),),
)
EVENING = replace(BARE, warned=(Warned("R2", "A1", ("no_go_ahead",)),))
SEALED = replace(BARE, seal=DaySeal("L1", False))
WATCH = Watching("H1", "17:40", "permit 4711", True)
ROLLS = replace(GOOD, needs=Needs(lots=("L-1", "L-2"), new_roll=True))
DETAIL = replace(
    GOOD, to_weld=(DayLap("D1", "0", "3", by_hand=True),), needs=Needs(hand_strip=True)
)
HOT_WORK = replace(GOOD, to_weld=(), needs=Needs(hot_work="H2", watch=WATCH))
JOINTED = replace(
    PROBING,
    needs=Needs(joints=(Joint("A1.1t", "A1", 3.05), Joint("A2.1t", "A2", 1.0))),
)
SAMPLES = replace(BARE, typist="Ben Okoro", needs=Needs(samples=(Sample("A3", "14.5"),)))
STARTING = replace(GOOD, needs=Needs(start_up="1-3,7"))
FIRST_EVENING = replace(BARE, needs=Needs(start_up="1-14"))
COVERED = replace(BARE, needs=Needs(covers=True, hot_work="H2"))
NOWHERE = Day(now=NOW, date="2026-06-01", zone="America/Denver")
DAYS = {
    "operator": (
        *(BARE, READ, HOT, PULL, GOOD, WELDING, CHECKED, VOID),
        *(ROLLS, DETAIL, HOT_WORK, STARTING),
    ),
    "inspector": (BARE, PROBING, JOINTED, SAMPLES),
    "foreman": (BARE, EVENING, SEALED, COVERED, FIRST_EVENING),
}


def draft(role: str | None, person: str | None = None) -> Draft:
    """Somebody who begins their day."""
    return Draft(date="2026-06-01", person=person, role=role)


def lines_of(day: Day, draft: Draft) -> list[list[str]]:
    """The plain command lines that do the same as a step."""
    return [call.line() for call in going.calls(day, draft)]
