"""The cap sheet as a second ply: its own seams, off the laps below, hiding them as it is laid."""

from __future__ import annotations

from typing import Any

import pytest

SET = "--sheet cap --nozzle 932 --speed 5.5"
ROLL = "--roll-width 39.4in --roll-length 33ft"
FT = 0.3048


def flat(text: str) -> str:
    """A page without its folds."""
    return " ".join(text.split())


@pytest.fixture
def base(go_ahead: Any) -> Any:
    """Area P of 60 ft by 18 ft, base sheet."""
    go_ahead.ok('sheet add "cap: SBS cap sheet, granules"')
    go_ahead.ok(f'roof lay "P 60ft x 18ft" {ROLL} --sheet base')
    return go_ahead


@pytest.fixture
def plies(base: Any) -> Any:
    """K over all of it, cap sheet with granules."""
    base.ok(f"roof lay K --over p {ROLL} --sheet cap")
    return base


def laps(book: Any, area: str, kind: str) -> list[dict[str, Any]]:
    """Laps of one kind of an area."""
    return [
        dict(r) for r in book.query("SELECT * FROM seams WHERE area = ? AND kind = ?", area, kind)
    ]


def test_the_cap_has_seams_of_its_own_and_the_base_keeps_its_names(plies: Any) -> None:
    """Side laps over selvage, end laps over granules; both plies have their drawing."""
    assert {row["lap"] for row in laps(plies, "K", "end lap")} == {"granules"}
    assert {row["lap"] for row in laps(plies, "K", "side lap")} == {"selvage"}
    assert {row["name"] for row in laps(plies, "P", "side lap")} == {f"P{n}" for n in range(1, 6)}
    (over,) = plies.query("SELECT over FROM areas WHERE name = 'K'")
    assert over["over"] == "P"
    page = plies.ok("roof").out
    assert page.index("Ply 1:") < page.index("Ply 2:")
    plies.ok("verify")


def test_its_laps_keep_off_those_below_by_the_limits(plies: Any) -> None:
    """UFGS-07550 §3.3.6: side laps at least 300 mm, end laps at least 1 m."""
    for a in laps(plies, "K", "side lap"):
        for b in laps(plies, "P", "side lap"):
            assert abs(a["y0_m"] - b["y0_m"]) >= 0.3 - 1e-3
    for a in laps(plies, "K", "end lap"):
        for b in laps(plies, "P", "end lap"):
            shared = min(a["y1_m"], b["y1_m"]) - max(a["y0_m"], b["y0_m"])
            if shared > 1e-3:
                assert abs(a["x0_m"] - b["x0_m"]) >= 1.0 - 1e-3, (a["name"], b["name"])


def test_an_offset_that_cannot_be_kept_is_told(base: Any) -> None:
    """By how many laps, with the nearest, and the limit."""
    base.ok('limit set ply_offset_side 2ft --source "contract 7"')
    said = flat(base.ok(f"roof lay M --over P {ROLL} --sheet cap --look").out)
    assert "nearer to" in said
    assert "least 2 ft" in said


def test_a_ply_over_rows_that_run_the_other_way_crosses_them(base: Any) -> None:
    """Laps that cross cannot lie too near: nothing is cut for them."""
    found = base.ok(f"roof lay M --over P --along y {ROLL} --sheet cap --look --json").json
    sides = [lap for lap in found["laps"] if lap["kind"] == "side lap"]
    assert sides
    assert all(lap["start"][0] == pytest.approx(lap["end"][0]) for lap in sides)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (f'roof lay "B 10ft x 10ft at 0,0" {ROLL} --sheet cap', "--over P"),
        (f'roof lay "M 10ft x 10ft at 70ft,0" --over P {ROLL} --sheet cap', "beyond P"),
        (f"roof lay P --over P {ROLL} --sheet cap", "name of another area"),
        (f"roof lay M --over Z {ROLL} --sheet cap", "area laid out"),
    ],
)
def test_a_ply_that_cannot_be_is_refused(plies: Any, line: str, why: str) -> None:
    """In one line; nothing is listed."""
    assert why in plies.refused(line)


def test_part_of_an_area_can_be_capped_and_a_third_ply_lies_over_the_second(plies: Any) -> None:
    """Plies are counted from the first."""
    plies.ok(f'roof lay "M 20ft x 10ft at 0,0" --over K {ROLL} --sheet cap')
    assert "Ply 3:" in plies.ok("roof").out


# -- what it hides -------------------------------------------------------------------------------


def hidden(book: Any) -> dict[str, list[tuple[float, float]] | None]:
    """What cover-ups hide, by seam; None for all of it."""
    import json

    found: dict[str, Any] = {}
    for row in book.query("SELECT seams, stretches FROM covers"):
        found |= dict.fromkeys(json.loads(row["seams"]))
        for key, low, high in json.loads(row["stretches"]):
            found.setdefault(key, []).append((low, high))
    return found


def test_a_side_lap_welded_hides_what_lies_beneath_the_rows_beside_it(plies: Any) -> None:
    """By stretch: K1 joins rows 1 and 2, which reach from the edge to K2."""
    one, two = (
        next(r for r in laps(plies, "K", "side lap") if r["name"] == n) for n in ("K1", "K2")
    )
    plies.ok(f"seam start K1 {SET}")
    said = flat(plies.ok("seam finish K1 --to 30").out)
    assert "It hides of P: P1" in said
    assert "hidden without being probed clean" in said
    found = hidden(plies)
    under = {r["name"]: r for r in laps(plies, "P", "side lap") if r["y0_m"] < two["y0_m"]}
    assert one["y0_m"] < two["y0_m"]
    assert {key for key in found if "." not in key} == {name.casefold() for name in under}
    (stretch,) = found["p1"]
    assert stretch == (0.0, pytest.approx(30 * FT))
    assert "P1" in plies.query("SELECT unprobed FROM covers")[0]["unprobed"].upper()
    plies.ok("verify")


def test_the_next_lap_hides_only_what_is_not_hidden_yet(plies: Any) -> None:
    """Welded on, it hides the rest; an end lap hides nothing by itself."""
    plies.ok(f"seam start K1 {SET}")
    plies.ok("seam finish K1 --to 30")
    plies.ok(f"seam start K1 --from 30 {SET}")
    assert "It hides of P" in flat(plies.ok("seam finish K1 --to end").out)
    assert "covered" in plies.seam("P1")["flags"]
    plies.ok(f"seam start K1.1 {SET}")
    assert "hides" not in plies.ok("seam finish K1.1 --to end").out


def test_a_lap_of_the_cap_begun_says_what_below_is_not_in_order(plies: Any) -> None:
    """Before it is hidden; a clean base says nothing."""
    said = flat(plies.ok(f"seam start K1 {SET}").out)
    assert "Of P, which this hides, not in order yet: P1" in said
    assert "weldcal cover P --look" in said
    assert "which this hides" not in plies.ok(f"seam start P3 {SET}").out


# -- granules ------------------------------------------------------------------------------------


def test_an_end_lap_over_granules_asks_that_they_are_embedded(plies: Any) -> None:
    """At its start, and flagged until somebody says so; the base's end laps are never asked."""
    said = flat(plies.ok(f"seam start K1.1 {SET}").out)
    assert "embed them first, and say so: weldcal roof embed K1.1" in said
    plies.ok("seam finish K1.1 --to end")
    assert "granules not embedded" in plies.seam("K1.1")["flags"]
    plies.ok('roof embed K1.1 K2.1 --how "heated, pressed in"')
    assert "granules not embedded" not in plies.seam("K1.1")["flags"]
    assert "granules embedded: heated, pressed in; Ana Ruiz" in flat(plies.ok("trace K1.1").out)
    assert "embed" not in plies.ok(f"seam start K2.1 {SET}").out
    plies.ok("seam finish K2.1 --to end")
    plies.ok(f"seam start P1.1 {SET}")
    assert "granules not embedded" not in plies.seam("P1.1")["flags"]
    plies.ok("verify")


def test_granules_embedded_at_a_seam_nobody_listed_are_kept_and_told(plies: Any) -> None:
    """As any record of a seam this device has not heard of."""
    done = plies.ok("roof embed Q9 --json").json
    notes = done["notes"] if isinstance(done, dict) else done[0]["notes"]
    assert "unlisted" in {note["code"] for note in notes}


def test_rows_of_a_cap_hide_what_lies_beneath_them_beyond_a_step(go_ahead: Any) -> None:
    """An L: where the stretch welded has no step beside it, rows reach to the next lap."""
    go_ahead.ok('sheet add "cap: SBS cap sheet, granules"')
    go_ahead.ok(f'roof lay "P 60ft x 18ft; P 20ft x 10ft at 60ft,0" {ROLL} --sheet base')
    go_ahead.ok(f"roof lay K --over P {ROLL} --sheet cap")
    lines = {row["name"]: row["y0_m"] for row in laps(go_ahead, "K", "side lap")}
    last = max((n for n in lines if lines[n] < 10 * FT), key=lines.__getitem__)
    after = min(y for y in lines.values() if y > 10 * FT)
    beyond = [r["name"] for r in laps(go_ahead, "P", "side lap") if 10 * FT < r["y0_m"] < after]
    assert beyond
    go_ahead.ok(f"seam start {last} {SET}")
    go_ahead.ok(f"seam finish {last} --to 30")
    assert {name.casefold() for name in beyond} <= set(hidden(go_ahead))
