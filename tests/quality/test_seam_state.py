"""Seam state as worksheets: a day's log as typed, and what the roof says beneath it."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.coverage import ordered
from weldcal.quality.seam import (
    IN_PART,
    IN_WORK,
    MENDED,
    NOT_STARTED,
    OPEN,
    PROBED,
    UNPROBED,
    Run,
    SeamFinding,
    SeamMend,
    SeamRecord,
    SeamWalk,
    state_of,
)

START = "seam start A1 --nozzle 932 --speed 5.5"
WELDED = f"""
    07:30 {START}
    07:37 seam finish A1 --to 33
"""
VOID = 'probe A1 0-33 --void "14.5+6in x 1/2in" --by BO'

# (what happens, the day's log, state, open, mended and unprobed, unprobed in ft)
WORKSHEETS: list[tuple[str, str, str, list[str], list[str], list[tuple[float, float]]]] = [
    ("listed only", "", NOT_STARTED, [], [], []),
    ("being welded", f"07:30 {START}", IN_WORK, [], [], []),
    ("welded in part", f"07:30 {START}\n07:35 seam finish A1 --to 20", IN_WORK, [], [], [(0, 20)]),
    ("welded", WELDED, UNPROBED, [], [], [(0, 33)]),
    (
        "welded in two runs",
        f"""
        07:30 {START}
        07:35 seam finish A1 --to 20 --why "roll ended"
        07:50 {START} --from 20
        07:55 seam finish A1 --to 33
     """,
        UNPROBED,
        [],
        [],
        [(0, 33)],
    ),
    ("probed in part", f"{WELDED}\n10:00 probe A1 0-20 --by BO", IN_PART, [], [], [(20, 33)]),
    (
        "probed from both ends",
        f"{WELDED}\n10:00 probe A1 0-20 --by BO\n10:10 probe A1 33-20 --by BO",
        PROBED,
        [],
        [],
        [],
    ),
    (
        "probed before it was welded",
        f"06:50 probe A1 0-33 --by BO\n{WELDED}",
        UNPROBED,
        [],
        [],
        [(0, 33)],
    ),
    ("a void found", f"{WELDED}\n10:00 {VOID}", OPEN, ["F1"], [], []),
    ("mended", f"{WELDED}\n10:00 {VOID}\n10:30 mend F1 --method patch", MENDED, [], ["F1"], []),
    (
        "mended too short",
        f"{WELDED}\n10:00 {VOID}\n10:30 mend F1 --method patch --place 14.6-14.8",
        OPEN,
        ["F1"],
        [],
        [],
    ),
    (
        "probed again, not all of the patch",
        f"""{WELDED}
        10:00 {VOID}
        10:30 mend F1 --method patch
        11:00 probe A1 14.5-15 --by BO
     """,
        MENDED,
        [],
        ["F1"],
        [],
    ),
    (
        "probed again",
        f"""{WELDED}
        10:00 {VOID}
        10:30 mend F1 --method patch
        11:00 probe A1 14-16 --by BO
     """,
        PROBED,
        [],
        [],
        [],
    ),
    (
        "probed again and found open again",
        f"""{WELDED}
        10:00 {VOID}
        10:30 mend F1 --method patch
        11:00 probe A1 14-16 --void "14.8+1in" --by BO
     """,
        OPEN,
        ["F2"],
        [],
        [],
    ),
    (
        "cut for a sample",
        f"{WELDED}\n10:00 probe A1 0-33 --by BO\n10:30 peel A1 20 --parted compound --width 1in --by BO",
        OPEN,
        ["F1"],
        [],
        [],
    ),
    (
        "a scorch seen while it is still being welded",
        f"07:30 {START}\n07:33 finding A1 scorched 3-4",
        IN_WORK,
        ["F1"],
        [],
        [],
    ),
    (
        "welded over again after probing",
        f"{WELDED}\n10:00 probe A1 0-33 --by BO\n11:00 {START} --from 10\n11:05 seam finish A1 --to 12",
        IN_PART,
        [],
        [],
        [(10, 12)],
    ),
    (
        "the walk corrected",
        f'{WELDED}\n10:00 probe A1 0-33 --by BO\n12:00 amend W1 start 3 --why "began 3 ft in" --by BO',
        IN_PART,
        [],
        [],
        [(0, 3)],
    ),
    (
        "a walk written down an hour later",
        f"{WELDED}\n11:30 probe A1 0-33 --by BO --at 10:00",
        PROBED,
        [],
        [],
        [],
    ),
]


@pytest.mark.parametrize("sheet", WORKSHEETS, ids=[sheet[0] for sheet in WORKSHEETS])
def test_the_state_of_a_seam_follows_from_its_day(go_ahead: Any, sheet: Any) -> None:
    """The log as typed; the roof's state, open findings and what is unprobed."""
    _what, log, state, open_, mended, unprobed = sheet
    go_ahead.day(log)
    seam = go_ahead.seam("A1")
    assert (seam["state"], seam["open"], seam["mended_unprobed"]) == (state, open_, mended)
    assert seam["unprobed_stretches_m"] == [
        pytest.approx([a * 0.3048, b * 0.3048]) for a, b in unprobed
    ]


FLAGS: list[tuple[str, str, list[str]]] = [
    ("all in order", f"{WELDED}\n09:55 me BO\n10:00 probe A1 0-33", []),
    ("probed by its own operator", f"{WELDED}\n10:00 probe A1 0-33", ["probed by its operator"]),
    (
        "welded twice over",
        f"{WELDED}\n08:00 {START} --from 30\n08:05 seam finish A1 --to 33",
        ["welded twice"],
    ),
    ("a second start", f"07:30 {START}\n07:40 {START}", ["second start"]),
    ("past its end", f"07:30 {START}\n07:40 seam finish A1 --to 35", ["past its end"]),
    ("walked past its end", f"{WELDED}\n09:55 me BO\n10:00 probe A1 0-34", ["past its end"]),
    (
        "found, but nobody recorded the welding",
        "09:55 me BO\n10:00 probe A1 0-33",
        ["welding not recorded"],
    ),
    ("welded at another speed", "07:30 seam start A1 --nozzle 932 --speed 9", ["warned"]),
]


@pytest.mark.parametrize("sheet", FLAGS, ids=[sheet[0] for sheet in FLAGS])
def test_flags_stand_beside_the_state(go_ahead: Any, sheet: tuple[str, str, list[str]]) -> None:
    """Kept, and said: never refused, never silent."""
    _what, log, flags = sheet
    go_ahead.day(log)
    assert go_ahead.seam("A1")["flags"] == flags


FEET = st.integers(0, 33)
SPANS = st.tuples(FEET, FEET)


@given(st.lists(SPANS, min_size=1, max_size=4), st.lists(SPANS, max_size=4))
def test_a_later_walk_never_leaves_more_unprobed(runs: list[Any], walks: list[Any]) -> None:
    """Each walk takes away or changes nothing; probed and unprobed make up what was welded."""
    left = None
    for n in range(len(walks) + 1):
        seam = SeamRecord(
            length=33,
            runs=tuple(Run(str(i), a, b, ("07", i), "A") for i, (a, b) in enumerate(runs)),
            walks=tuple(SeamWalk(a, b, ("10", 100 + i), "B") for i, (a, b) in enumerate(walks[:n])),
        )
        state = state_of(seam)
        unprobed = state.welded_m - state.probed_m
        assert -1e-9 <= unprobed <= state.welded_m + 1e-9
        assert left is None or unprobed <= left + 1e-9
        left = unprobed


@given(st.permutations(range(4)), SPANS)
def test_a_state_does_not_depend_on_the_order_things_are_handed_in(
    order: list[int], span: tuple[int, int]
) -> None:
    """Only on when they were seen."""
    walks = [
        SeamWalk(0, 33, ("08", 1), "B"),
        SeamWalk(*span, ("09", 2), "B"),
        SeamWalk(5, 9, ("11", 5), "B"),
        SeamWalk(0, 2, ("12", 6), "C"),
    ]
    seam = SeamRecord(
        length=33,
        runs=(Run("r", 0, 33, ("07", 0), "A"),),
        walks=tuple(walks),
        findings=(SeamFinding("f", "F1", 6, 7, ("09", 3)),),
        mends=(SeamMend("f", 5.5, 7.5, ("10", 4)),),
    )
    shuffled = SeamRecord(
        length=33,
        runs=seam.runs,
        walks=tuple(walks[n] for n in order),
        findings=seam.findings,
        mends=seam.mends,
    )
    assert state_of(shuffled) == state_of(seam)


@given(SPANS)
def test_a_finding_stays_open_whatever_is_probed_until_it_is_mended(span: tuple[int, int]) -> None:
    """Probing closes nothing."""
    seam = SeamRecord(
        length=33,
        runs=(Run("r", 0, 33, ("07", 0), "A"),),
        walks=(SeamWalk(0, 33, ("12", 9), "B"),),
        findings=(SeamFinding("f", "F1", *ordered(*span), ("09", 3)),),
    )
    assert (state_of(seam).state, state_of(seam).open) == (OPEN, ("F1",))


def test_a_t_joint_has_findings_and_no_length() -> None:
    """A point: mended and probed like any other place."""
    at = (5.0, 5.0)
    record = SeamRecord(
        runs=(Run("r", 0, 10, ("07", 0), "A"),), findings=(SeamFinding("f", "F1", *at, ("09", 3)),)
    )
    assert state_of(record).open == ("F1",)
    mended = SeamRecord(
        runs=record.runs,
        findings=record.findings,
        mends=(SeamMend("f", 4.8, 5.2, ("10", 4)),),
        walks=(SeamWalk(0, 10, ("08", 2), "B"), SeamWalk(4.8, 5.2, ("11", 5), "B")),
    )
    assert state_of(mended).state == PROBED
