"""The roof laid out and drawn: names that stay, lengths by hand arithmetic, states by shape."""

from __future__ import annotations

from typing import Any

import pytest

ROLL = "--roll-width 39.4in --roll-length 33ft"
LAY = f'roof lay "C 60ft x 20ft" {ROLL}'
FT = 0.3048


def kinds(book: Any) -> dict[str, list[Any]]:
    """Listed seams of area C by kind."""
    found: dict[str, list[Any]] = {}
    for row in book.query("SELECT * FROM seams WHERE area = 'C' ORDER BY tick"):
        found.setdefault(row["kind"], []).append(row)
    return found


def test_a_rectangle_becomes_side_laps_end_laps_t_joints_and_details(laid: Any) -> None:
    """By hand: a roll of 39.4 in less a lap of 75 mm shows 36.45 in, so 20 ft take 7 rows.

    Six side laps of 60 ft; a roll's end in rows 1 and 2, two in rows 3 to 7, since rows
    begin 1 m shorter one after the other; a T-joint above and below each, but not outside.
    """
    found = kinds(laid)
    assert [row["name"] for row in found["side lap"]] == ["C1", "C2", "C3", "C4", "C5", "C6"]
    assert {round(row["length_m"] / FT, 3) for row in found["side lap"]} == {60.0}
    ends = ["C1.1", "C2.1"] + [f"C{row}.{n}" for row in range(3, 8) for n in (1, 2)]
    assert [row["name"] for row in found["end lap"]] == ends
    whole, last = 39.4 / 12, (240 - 6 * (39.4 - 75 / 25.4)) / 12
    lengths = [row["length_m"] / FT for row in found["end lap"]]
    assert lengths == pytest.approx([whole] * 10 + [last] * 2, abs=1e-3)
    assert len(found["T-joint"]) == 2 * 12 - 1 - 2
    assert all(row["length_m"] is None for row in found["T-joint"])
    assert [(row["name"], row["place"]) for row in found["detail"]] == [
        ("C-d1", "drain"),
        ("C-d2", "curb"),
    ]


def test_end_laps_of_neighbouring_rows_lie_a_stagger_apart(laid: Any) -> None:
    """UFGS-07550 §3.3.6: at least 1 m."""
    rows: dict[int, list[float]] = {}
    for row in kinds(laid)["end lap"]:
        number = int(row["name"][1:].split(".")[0])
        rows.setdefault(number, []).append(row["x0_m"])
    for number in range(1, 7):
        apart = [abs(a - b) for a in rows[number] for b in rows[number + 1]]
        assert min(apart) >= 1 - 1e-3


def test_totals_are_those_of_the_list(job: Any) -> None:
    """Lap, rolls and hours; a roll covers about one square of 100 ft² once lapped (common practice)."""
    document = job.ok(f"{LAY} --speed 5.5 --look --json").json
    by_machine = sum(lap["length_m"] for lap in document["laps"] if lap["kind"] != "detail")
    assert document["lap_m"] == pytest.approx(by_machine)
    assert document["weld_hours"] == pytest.approx(by_machine / (5.5 * FT) / 60)
    assert 60 * 20 / 100 <= document["rolls"] <= 1.25 * 60 * 20 / 100
    assert document["covered_m2"] == pytest.approx(60 * 20 * FT**2)


def test_weld_hours_take_the_last_go_aheads_speed(go_ahead: Any) -> None:
    """5.5 ft/min, where no speed is typed."""
    said = " ".join(go_ahead.ok(f"{LAY} --look").out.split())
    assert "At 5.5 ft/min: 1.2 hours" in said  # 396.4 ft / 5.5 ft/min / 60


def test_looking_records_nothing(job: Any) -> None:
    """The same list, and no entry."""
    before = job.entries()
    shown = job.ok(f"{LAY} --look").out
    assert job.entries() == before
    listed = job.ok(LAY).out
    assert listed.startswith(shown.rstrip())
    assert "listed" in listed


def test_existing_seams_are_never_renumbered(laid: Any) -> None:
    """A second rectangle of the letter goes on; every seam that was keeps its row."""
    before = laid.query("SELECT * FROM seams ORDER BY tick")
    laid.ok(f'roof lay "C 20ft x 10ft at 60ft,0" {ROLL} --mark "drain at 70ft,5ft"')
    after = laid.query("SELECT * FROM seams ORDER BY tick")
    assert [tuple(row) for row in after[: len(before)]] == [tuple(row) for row in before]
    names = [row["name"].casefold() for row in after]
    assert len(names) == len(set(names))
    assert "C-d3" in [row["name"] for row in after]


def test_names_of_hand_are_not_taken_again(job: Any) -> None:
    """A1 to A3 were listed by hand: area A begins beyond them."""
    job.ok(f'roof lay "A 60ft x 20ft" {ROLL}')
    names = [row["name"] for row in job.query("SELECT name FROM seams")]
    assert len(names) == len(set(names))


def test_a_letter_that_would_run_together_with_its_rows_is_refused(job: Any) -> None:
    """Row 1 of C1 would be called as row 11 of C: refused whole, nothing recorded."""
    job.ok(f'roof lay "C 20ft x 50ft" {ROLL}')
    before = job.entries()
    for areas in ("C1 20ft x 20ft at 30ft,0", "D 20ft x 50ft; D1 20ft x 20ft at 30ft,0"):
        refused = job(f'roof lay "{areas}" {ROLL}')
        assert refused.code == 2
        assert "digit" in refused.err
    assert job.entries() == before


def test_a_rectangle_laid_later_is_lapped_onto_its_neighbour(laid: Any) -> None:
    """As it is when both are laid at once."""
    at_once = f'roof lay "D 60ft x 20ft at 0,40ft; E 20ft x 10ft at 60ft,40ft" {ROLL} --look --json'
    (seam,) = (lap for lap in laid.ok(at_once).json["laps"] if lap["name"] == "E-j1")
    assert seam["length_m"] == pytest.approx(10 * FT)
    later = laid.ok(f'roof lay "E 20ft x 10ft at 60ft,0" {ROLL} --look --json').json
    assert [lap["length_m"] for lap in later["laps"] if lap["name"] == "E-j1"] == [
        pytest.approx(10 * FT)
    ]


def test_laying_over_what_is_laid_is_refused_with_a_place_beside_it(laid: Any) -> None:
    """One line that can be typed; nothing is listed."""
    said = laid.refused(f'roof lay "D 10ft x 10ft" {ROLL}')
    assert 'D would lie on C. Say where it lies, like: "D 10ft x 10ft at 60ft,0ft"' in said
    assert "E would lie on D" in laid.refused(
        f'roof lay "D 10ft x 10ft at 60ft,0; E 5ft x 5ft at 65ft,2ft" {ROLL}'
    )
    laid.ok(f'roof lay "D 10ft x 10ft at 60ft,0ft" {ROLL}')


def test_a_drain_is_named_after_the_area_it_lies_in_whichever_came_first(laid: Any) -> None:
    """On the edge that two areas share it is of the one it lies deeper in; D was laid last."""
    laid.ok(f'roof lay "D 20ft x 20ft at 60ft,0" {ROLL} --mark "drain at 70ft,10ft"')
    laid.ok(f'roof lay "E 20ft x 20ft at 80ft,0" {ROLL} --mark "drain at 75ft,5ft"')
    rows = laid.query("SELECT name, area FROM seams WHERE kind = 'detail' AND area <> 'C'")
    assert [tuple(row) for row in rows] == [("D-d1", "D"), ("D-d2", "D")]


@pytest.mark.parametrize(
    ("sheet", "said", "lap", "asked"),
    [
        ("base: polyester-reinforced SBS base sheet", "", "sand", True),
        ("base: SBS base sheet, sanded", "", "sand", False),
        ("base: glass-reinforced SBS base sheet, film both sides", "", "film", False),
        ("cap: SBS cap sheet with mineral granules", "", "granules", False),
        ("base: polyester-reinforced SBS base sheet", " --surface granules", "granules", False),
        ("cap: SBS cap sheet with mineral granules", " --surface film", "film", False),
    ],
)
def test_end_laps_are_over_what_the_sheet_is_faced_with(
    weldcal: Any, sheet: str, said: str, lap: str, asked: bool
) -> None:
    """A base sheet is sanded or filmed: no granules to embed, and no strip over granules asked."""
    weldcal.ok(
        f'job new "School roof" --units us --zone America/Denver --by "Ana Ruiz" --sheet "{sheet}"'
    )
    shown = weldcal.ok(f"{LAY}{said} --by AR").out
    assert ("nobody said what the sheet's face is" in " ".join(shown.split())) == asked
    assert {row["lap"] for row in kinds(weldcal)["end lap"]} == {lap}
    assert {row["lap"] for row in kinds(weldcal)["side lap"]} == {"selvage"}


def test_a_slope_lays_the_laps_with_the_water_and_is_known_to_a_leak(job: Any) -> None:
    """Water runs to greater y: row 1 lies there; the leak is searched uphill without being told."""
    job.ok(f"{LAY} --slope y+")
    sides = [row["y0_m"] / FT for row in kinds(job)["side lap"]]
    assert sides == sorted(sides, reverse=True)
    found = job.ok("leak 30ft 10ft --where inside --json").json
    assert found["asks"] == []
    uphill = [p for p in found["order"] if any(r["code"] == "upslope" for r in p["reasons"])]
    assert uphill and all(p["nearest"][1] < 10 * FT for p in uphill)


def test_t_joints_belong_to_their_area(job: Any) -> None:
    """Whatever it is called."""
    job.ok(f'roof lay "Annex 40ft x 10ft" {ROLL}')
    joints = job.query("SELECT area FROM seams WHERE kind = 'T-joint'")
    assert joints
    assert {row["area"] for row in joints} == {"Annex"}


BAD = [
    ("roof lay C --roll-width 39.4in --roll-length 33ft", "area's letter and size"),
    ('roof lay "" --roll-width 39.4in --roll-length 33ft', "area's letter and size"),
    (f'roof lay "C x 10" {ROLL}', "area's letter and size"),
    (f'roof lay "C 0 x 10" {ROLL}', "above 0"),
    (f'roof lay "C -20 x 10" {ROLL}', "cannot be"),
    (f'roof lay "C big x 10" {ROLL}', "not a number"),
    (f'roof lay "C 90000 x 10" {ROLL}', "cannot be"),
    ('roof lay "C 20 x 10"', "--roll-width"),
    ('roof lay "C 20 x 10" --roll-width 2in --roll-length 33ft', "lap is narrower"),
    (f'roof lay "C 20 x 10" {ROLL} --end-lap 34ft', "cannot be"),
    (f'roof lay "C 20 x 10" {ROLL} --along z', "not one of: x, y"),
    (f'roof lay "C 20 x 10" {ROLL} --start up', "not one of: low, high"),
    (f'roof lay "C 20 x 10" {ROLL} --mark drain', "--mark"),
    (f'roof lay "C 20 x 10" {ROLL} --mark "drain at 3"', "--mark"),
    (f'roof lay "C 20 x 10" {ROLL} --speed 0', "cannot be"),
]


@pytest.mark.parametrize(("line", "told"), BAD, ids=[line for line, _told in BAD])
def test_what_cannot_be_laid_is_refused_in_one_line(job: Any, line: str, told: str) -> None:
    """Exit code 2, nothing recorded."""
    before = job.entries()
    refused = job(line)
    assert refused.code == 2
    assert refused.out == ""
    assert len(refused.err.splitlines()) == 1
    assert told in refused.err
    assert job.entries() == before


def test_the_refusal_names_what_was_typed(job: Any) -> None:
    """An end lap is not a roll's width, a stagger not a length."""
    assert "lap" in job(f'roof lay "C 20 x 10" {ROLL} --end-lap 40ft').err.split(":")[1]
    assert "stagger" in job(f'roof lay "C 20 x 10" {ROLL} --stagger=-1').err.split(":")[1]


# -- drawn ------------------------------------------------------------------------------


# -- T-joints and details ---------------------------------------------------------------


def test_a_t_joint_follows_the_laps_that_meet_there(laid: Any) -> None:
    """Both laps welded and probed whole leave nothing to do at the joint."""
    assert laid.seam("C1.1t")["state"] == "not started"
    laid.day("""
        08:00 seam start C1 --nozzle 932 --speed 5.5
        08:11 seam finish C1 --to 60
        08:12 seam start C1.1 --by-hand
        08:14 seam finish C1.1 --to 39.4in
    """)
    assert laid.seam("C1.1t")["state"] == "unprobed"
    laid.day("10:00 probe C1 0-60 --by BO\n10:10 probe C1.1 0-39.4in --by BO")
    assert laid.seam("C1.1t")["state"] == "probed with no open finding"


def test_a_finding_at_a_t_joint_is_its_own_and_can_be_mended(laid: Any) -> None:
    """It has its own findings and no length."""
    laid.ok("finding C1.1t void 0 --how probed --by BO")
    assert laid.seam("C1.1t")["state"] == "open findings"
    laid.ok("mend F1 --method patch --by AR")
    assert laid.seam("C1.1t")["state"] == "mended and unprobed"
    laid.clock.set("09:00")
    laid.ok("probe C1.1t 0-0.5 --by BO")
    assert laid.seam("C1.1t")["mended_unprobed"] == []


def test_a_finding_across_a_t_joint_stands_on_the_seam_it_was_found_on(laid: Any) -> None:
    """C1.1 meets C1 at 32.51 ft (33 ft less a lap of 150 mm): a void from 32 to 33 ft crosses it."""
    laid.day("""
        08:00 seam start C1 --nozzle 932 --speed 5.5
        08:11 seam finish C1 --to 60
        10:00 probe C1 0-60 --void 32+12in --by BO
    """)
    assert laid.seam("C1")["open"] == ["F1"]
    for line in (
        "trace C1",
        "trace C1.1",
        "trace C1.1t",
        "roof",
        "doubt",
        "leak 32ft 3ft --where roof",
        "cover C --look",
    ):
        assert laid(line).code == 0


def test_a_detail_is_welded_by_hand_on_a_hand_strip(laid: Any) -> None:
    """The curb's 14 ft."""
    laid.day(
        "07:30 strip record --by-hand --tool iron --nozzle 932 --bubbling none\n"
        "07:45 strip pull S1 good --parted compound\n"
        "08:00 seam start C-d2 --by-hand --tool iron --nozzle 932\n"
        "08:20 seam finish C-d2 --to 14"
    )
    assert laid.ok("roof --json").json["warnings"] == []
    assert laid.seam("C-d2")["welded_m"] == pytest.approx(14 * FT)


@pytest.mark.parametrize(
    "letter", ["[red]C", "Ñ", "中", "A\x1b[31m", "C;D", "-", "C'", "🔥", "x" * 80]
)
def test_a_hostile_area_is_refused_or_kept_and_obeyed_nowhere(job: Any, letter: str) -> None:
    """Never a control sign out, never a crash."""
    done = job(
        "roof", "lay", f"{letter} 40ft x 10ft", *ROLL.split(), "--mark", "[bold]drain at 3,3"
    )
    assert done.code in (0, 2)
    shown = done.out + done.err + job.ok("roof").out + job("cover", "--look", "--", letter).out
    assert "\x1b" not in shown
    assert job.ok("verify").code == 0
