"""An L and a U laid out: rows run through the steps, by hand arithmetic."""

from __future__ import annotations

from typing import Any

import pytest

ROLL = "--roll-width 39.4in --roll-length 33ft"
FT = 0.3048
L_SHAPE = f'roof lay "L 60ft x 40ft at 0,0; L 20ft x 10ft at 60ft,0" {ROLL}'
U_SHAPE = (
    'roof lay "U 60ft x 12ft at 0,60ft; U 20ft x 20ft at 0,72ft; U 15ft x 16ft at 45ft,72ft" '
    f"{ROLL} --look --json"
)


def test_rows_of_an_l_run_through_the_step(job: Any) -> None:
    """By hand: rows show 36.45 in; 40 ft take 13 rows and 8.6 in, shared with row 1 (half a roll
    at an edge: common practice, no source), so row 1 is 22.79 in wide and lap n lies at
    22.79 - 2.95 + 36.45 (n - 1) in. Laps L1 to L3 lie below the step at 120 in and run 80 ft,
    L4 to L13 run 60 ft: 3 x 80 + 10 x 60 = 840 ft. No joint at the step.
    """
    document = job.ok(f"{L_SHAPE} --look --json").json
    sides = {lap["name"]: lap for lap in document["laps"] if lap["kind"] == "side lap"}
    assert list(sides) == [f"L{n}" for n in range(1, 14)]
    lengths = [lap["length_m"] / FT for lap in sides.values()]
    assert lengths == pytest.approx([80] * 3 + [60] * 10)
    inches = [lap["start"][1] / FT * 12 for lap in sides.values()]
    assert inches == pytest.approx([19.84 + 36.447 * n for n in range(13)], abs=0.05)
    assert not [lap for lap in document["laps"] if "-j" in lap["name"]]
    for row in document["rows"]:
        assert row["narrowest_m"] >= 39.4 / 12 * FT / 2 - 1e-3
        assert min(row["pieces_m"]) >= 1 or len(row["pieces_m"]) == 1
    assert {flag["code"] for flag in document["flags"]} == {"first_row_cut", "surface_not_said"}


def test_rows_of_a_u_go_on_in_each_leg(job: Any) -> None:
    """Below the court one lap a row, beyond it one in each leg: the second is called b."""
    document = job.ok(U_SHAPE).json
    sides = {lap["name"]: lap for lap in document["laps"] if lap["kind"] == "side lap"}
    for name, lap in sides.items():
        x0, x1, y = (v / FT for v in (lap["start"][0], lap["end"][0], lap["start"][1]))
        if name.endswith("b"):
            assert (x0, x1) == pytest.approx((45, 60)) and 71.5 < y < 88
        else:
            assert x0 == 0 and x1 == pytest.approx(60 if y < 71.5 else 20)
    assert [name for name in sides if name.endswith("b")]
    assert not [lap for lap in document["laps"] if "-j" in lap["name"]]


def test_a_lap_of_a_leg_is_a_seam_like_any_other(job: Any) -> None:
    """Welded, probed, covered with its row's range; more rows of the area go on after it."""
    job.ok(U_SHAPE.replace(" --look --json", ""))
    rows = job.query("SELECT name FROM seams WHERE name LIKE 'U%b'")
    name = rows[0]["name"]
    assert job.seam(name)["state"] == "not started"
    row = name[1:-1]
    document = job.ok(f"cover U{row}-U{row} --look --json").json
    assert name in str(document)
    job.ok(f'roof lay "U 10ft x 10ft at 0,200ft" {ROLL}')
    names = [row["name"] for row in job.query("SELECT name FROM seams")]
    assert len(names) == len(set(names))
    job.ok("verify")


def test_a_rectangle_laid_later_onto_its_area_is_joined(job: Any) -> None:
    """What is listed is never laid again: the shared edge is a lap, as before."""
    job.ok(f'roof lay "A 60ft x 40ft" {ROLL}')
    document = job.ok(f'roof lay "A 20ft x 10ft at 60ft,0" {ROLL} --look --json').json
    (joint,) = (lap for lap in document["laps"] if "-j" in lap["name"])
    assert joint["length_m"] == pytest.approx(10 * FT)


def test_the_cap_of_an_l_has_no_lap_over_one_of_the_base(job: Any) -> None:
    """UFGS-07550 §3.3.6: side laps 300 mm off those below, end laps 1 m, at the step too."""
    job.ok(f'roof lay "L 60ft x 18ft; L 20ft x 10ft at 60ft,0" {ROLL} --surface sand')
    document = job.ok(f"roof lay K --over L {ROLL} --surface granules --look --json").json
    assert "near_below" not in [flag["code"] for flag in document["flags"]]
    below = [
        row["y0_m"]
        for row in job.query("SELECT * FROM seams WHERE area = 'L' AND kind = 'side lap'")
    ]
    above = [lap["start"][1] for lap in document["laps"] if lap["kind"] == "side lap"]
    assert min(abs(a - b) for a in above for b in below) >= 0.3 - 1e-3
    assert not [lap for lap in document["laps"] if "-j" in lap["name"]]
