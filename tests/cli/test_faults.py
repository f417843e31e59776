"""Where faults come from: rates with what chance can do, and what cannot be told apart."""

from __future__ import annotations

from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"
FT = 0.3048


def weld(book: Any, seam: str, hour: int, by: str, voids: int, ambient: str = "60F") -> None:
    """A seam of 33 ft welded at an hour, probed at once."""
    found = " ".join(f'--void "{3 + 4 * n}+2in"' for n in range(voids))
    book.day(f"""
        {hour:02d}:00 seam start {seam} {SET} --by {by} --ambient {ambient}
        {hour:02d}:07 seam finish {seam} --to 33
        {hour:02d}:30 probe {seam} 0-33 {found} --by BO
    """)


@pytest.fixture
def crew(job: Any) -> Any:
    """Ana welds Q1 to Q4 in the cold mornings, Cleo Q5 to Q8 in the warm afternoons; Cleo's are clean."""
    job.ok('person add "Cleo Tan: CT, operator"')
    job.ok("seam add Q1-Q8 --length 33ft")
    for n in range(1, 5):
        weld(job, f"Q{n}", 7, "AR", 2, "40F")
    for n in range(5, 9):
        weld(job, f"Q{n}", 14, "CT", 0, "70F")
    return job


def rates(book: Any, options: str = "") -> dict[tuple[str, str], dict[str, Any]]:
    """Rates by factor and level."""
    found = book.ok(f"faults {options} --json").json["rates"]
    return {(rate["factor"], rate["level"]): rate for rate in found}


def test_no_data_is_told_in_one_line(job: Any) -> None:
    """Exit code 2, and what comes first."""
    refused = job("faults")
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert "''" not in refused.err


def test_a_rate_is_faults_over_length(crew: Any) -> None:
    """Eight voids in four seams of 33 ft."""
    ana = rates(crew)["operator", "Ana Ruiz"]
    assert (ana["faults"], ana["length_m"]) == (8, pytest.approx(132 * FT))
    assert ana["per_100ft"] == pytest.approx(8 / 1.32)
    assert ana["low"] < ana["per_100ft"] < ana["high"]


def test_the_interval_is_never_tighter_than_chance_alone(crew: Any) -> None:
    """Exact Poisson limits of 8 in 132 ft, and of none in 132 ft (Garwood; scipy)."""
    from scipy.stats import chi2

    ana, cleo = rates(crew)["operator", "Ana Ruiz"], rates(crew)["operator", "Cleo Tan"]
    assert ana["low"] <= chi2.ppf(0.025, 16) / 2 / 1.32 + 1e-9
    assert ana["high"] >= chi2.ppf(0.975, 18) / 2 / 1.32 - 1e-9
    assert cleo["low"] == 0
    assert cleo["high"] >= chi2.ppf(0.975, 2) / 2 / 1.32 - 1e-9


def test_one_operator_who_always_had_the_cold_mornings_cannot_be_told_apart(crew: Any) -> None:
    """Said beside the rate; it is not said that the operator is the cause."""
    ana = rates(crew)["operator", "Ana Ruiz"]
    with_her = {(other["factor"], other["level"]) for other in ana["confounded"]}
    assert ("hour", "morning") in with_her
    assert any(factor == "weather" for factor, _level in with_her)
    out = " ".join(crew.ok("faults").out.split())
    line = out.split("- operator Ana Ruiz")[1].split("- operator")[0]
    assert "cannot be told apart from" in line
    assert "STANDS OUT" not in line


def test_a_difference_within_chance_says_so(job: Any) -> None:
    """One void more."""
    job.ok("seam add Q1-Q4 --length 33ft")
    for n, (by, voids) in enumerate((("AR", 1), ("BO", 1), ("AR", 1), ("BO", 0)), 1):
        weld(job, f"Q{n}", 7 + n, by, voids)
    assert rates(job)["operator", "Ana Ruiz"]["flag"] == "within_chance"
    out = " ".join(job.ok("faults").out.split())
    assert "within chance" in out
    assert "Few faults" in out


def test_how_many_were_looked_at_is_said(crew: Any) -> None:
    """One of many looked at is likely chance."""
    document = crew.ok("faults --json").json
    compared = [rate for rate in document["rates"] if rate["p"] is not None]
    assert document["looked_at"] == len(compared)
    assert f"{len(compared)} groups looked at" in " ".join(crew.ok("faults").out.split())
    for rate in compared:
        assert rate["p_among"] >= rate["p"]


def test_names_can_be_left_out(crew: Any) -> None:
    """Numbers instead, the same rates; in text and JSON alike."""
    for line in ("faults --no-people", "faults --no-people --json"):
        out = crew.ok(line).out
        for name in ("Ana", "Ruiz", "Cleo", "Tan", "Okoro"):
            assert name not in out
    with_names, without = rates(crew), rates(crew, "--no-people")
    mine = sorted(r["per_100ft"] for (factor, _), r in with_names.items() if factor == "operator")
    assert mine == sorted(
        r["per_100ft"] for (factor, _), r in without.items() if factor == "operator"
    )


def test_a_person_whose_name_is_a_machines_is_left_out_all_the_same(job: Any) -> None:
    """--no-people leaves out people, not machines."""
    job.ok("seam add Q1 --length 33ft")
    weld(job, "Q1", 7, "AR", 1)
    out = job.ok("faults --no-people").out
    assert "machine blue" in out
    assert "Ana" not in out


def test_a_cut_sample_is_no_fault(job: Any) -> None:
    """It was made on purpose."""
    job.ok("seam add Q1 --length 33ft")
    weld(job, "Q1", 7, "AR", 0)
    job.ok("peel Q1 10 --parted compound --load 40lbf --width 1in --by BO")
    assert rates(job)["operator", "Ana Ruiz"]["faults"] == 0


def test_a_fault_counts_for_the_run_that_welded_its_place(job: Any) -> None:
    """Two runs on one seam, two operators."""
    job.ok("seam add Q1 --length 33ft")
    job.day(f"""
        07:00 seam start Q1 {SET} --by AR
        07:04 seam finish Q1 --to 16
        07:10 seam start Q1 --from 16 {SET} --by BO
        07:14 seam finish Q1 --to 33
        09:00 probe Q1 0-33 --void 20+2in --void 25+2in --by AR
    """)
    found = rates(job)
    assert found["operator", "Ana Ruiz"]["faults"] == 0
    assert found["operator", "Ben Okoro"]["faults"] == 2


def test_lap_that_nobody_probed_is_not_clean_lap(job: Any, tmp_path: Any) -> None:
    """Neither its length nor what was seen on it counts: here, in the history and in the dossier alike."""
    job.ok("seam add Q1-Q2 --length 33ft")
    job.day(f"07:00 seam start Q1 {SET} --by AR\n07:07 seam finish Q1 --to 33")
    assert "No probed lap yet" in job.refused("faults")
    job.day(f"""
        08:00 seam start Q2 {SET} --by BO
        08:07 seam finish Q2 --to 33
        09:00 probe Q1 0-11 --void 5+2in --by BO
        09:10 finding Q1 wrinkle 20-21 --by BO
        09:20 finding Q2 wrinkle 20-21 --by AR
    """)
    found = rates(job)
    ana = found["operator", "Ana Ruiz"]
    assert (ana["faults"], ana["length_m"]) == (1, pytest.approx(11 * FT))
    assert ("operator", "Ben Okoro") not in found
    assert "1 fault in 11 ft probed" in " ".join(job.ok("faults").out.split())
    (row,) = job.ok("history --by machine --json").json["faults"]
    assert (row["faults"], row["probed_m"]) == (1, pytest.approx(11 * FT))
    assert row["per_100ft"] == pytest.approx(100 / 11)
    job.ok(f"dossier {tmp_path / 'd'} --only html")
    page = (tmp_path / "d.html").read_text("utf-8")
    assert "1 fault in 11 ft probed; 95 % interval" in page
    assert ">9.09<" in page


def test_a_fault_is_never_laid_to_who_welded_the_place_again(job: Any) -> None:
    """Ana's void, welded again by Ben: hers it stays."""
    job.ok("seam add Q1 --length 33ft")
    weld(job, "Q1", 7, "AR", 1)
    job.day(f"""
        09:00 seam start Q1 --from 2 {SET} --by BO
        09:02 seam finish Q1 --to 6
        10:00 probe Q1 0-33 --by AR
    """)
    found = rates(job)
    assert found["operator", "Ana Ruiz"]["faults"] == 1
    assert found["operator", "Ben Okoro"]["faults"] == 0


def test_a_walk_probes_what_was_welded_last_and_no_run_below_it(job: Any) -> None:
    """A1 welded by Ana, then by Ben from 10 ft on: 33 ft were probed, 10 of them Ana's."""
    job.day(f"""
        07:00 seam start A1 {SET}
        07:07 seam finish A1 --to 33
        08:00 seam start A1 {SET} --from 10 --by BO
        08:07 seam finish A1 --to 33 --by BO
        10:00 probe A1 0-33 --void 20 --by BO
    """)
    found = {
        (rate["factor"], rate["level"]): (rate["length_m"], rate["faults"])
        for rate in job.ok("faults --json").json["rates"]
    }
    assert found["operator", "Ana Ruiz"] == (pytest.approx(10 * FT), 0)
    assert found["operator", "Ben Okoro"] == (pytest.approx(23 * FT), 1)
    assert found["machine", "blue"] == (pytest.approx(33 * FT), 1)
    (row,) = job.ok("history --json").json["faults"]
    assert row["probed_m"] == pytest.approx(33 * FT)
    assert job.seam("A1")["probed_m"] == pytest.approx(33 * FT)


def test_a_page_of_nothing_but_clean_work_has_no_division_by_nought(job: Any) -> None:
    """Rates of 0, with an upper limit."""
    job.ok("seam add Q1-Q2 --length 33ft")
    weld(job, "Q1", 7, "AR", 0)
    weld(job, "Q2", 14, "BO", 0)
    for rate in rates(job).values():
        assert rate["per_100ft"] == 0
        assert rate["high"] > 0
    job.ok("faults")


def test_lines_end_cleanly(crew: Any) -> None:
    """No dangling semicolon where there is nothing to compare with, one fault is one fault."""
    for said in " ".join(crew.ok("faults").out.split()).split(" - "):
        assert not said.endswith(";")
    assert " 1 faults" not in crew.ok("faults").out


def test_names_of_mischief_are_obeyed_nowhere(job: Any) -> None:
    """Operators, machines and what they are confounded with."""
    bad = "[red]\x1b[31mX"
    job.ok(
        "seam",
        "start",
        *SET.split(),
        f"--by={bad}",
        f"--machine={bad}",
        f"--sheet={bad}",
        "--",
        "A1",
    )
    job.clock.set("07:20")
    job.ok("seam finish A1 --to 33")
    job.day(
        f"14:00 seam start A2 {SET}\n14:10 seam finish A2 --to 33\n15:00 probe A1 0-33\n15:20 probe A2 0-33"
    )
    out = job.ok("faults").out
    assert "\x1b" not in out
    assert "[red]" in out


@pytest.fixture
def ends(job: Any) -> Any:
    """The voids lie on end laps: six side laps clean, six end laps with four each; hours 7 to 12."""
    job.ok("seam add Q1-Q6 --length 33ft")
    job.ok('seam add E1-E6 --length 33ft --kind "end lap" --lap granules')
    for n in range(1, 7):
        weld(job, f"Q{n}", 6 + n, "AR", 0)
        job.clock.set(f"{6 + n:02d}:31")
        weld_later(job, f"E{n}", 6 + n, 4)
    return job


def weld_later(book: Any, seam: str, hour: int, voids: int) -> None:
    """The same in the second half of the hour."""
    found = " ".join(f'--void "{3 + 4 * n}+2in"' for n in range(voids))
    book.day(f"""
        {hour:02d}:32 seam start {seam} {SET} --by AR --ambient 60F
        {hour:02d}:39 seam finish {seam} --to 33
        {hour:02d}:55 probe {seam} 0-33 {found} --by BO
    """)


def test_side_laps_are_split_from_end_laps(ends: Any) -> None:
    """Where the whole story lies: all 24 on end laps; only that factor is looked at."""
    found = rates(ends, "--by kind")
    assert set(found) == {("kind", "side lap"), ("kind", "end lap")}
    assert found["kind", "end lap"]["faults"] == 24
    assert found["kind", "side lap"]["faults"] == 0
    assert ends.ok("faults --by kind --json").json["looked_at"] == 2
    assert found["kind", "end lap"]["low"] > found["kind", "side lap"]["per_100ft"]


def test_several_splits_are_asked_at_once_in_words_people_use(ends: Any) -> None:
    """The hour by the clock; hand or machine; the person; Spanish words."""
    found = rates(ends, "--by lap,hour,tool,person")
    factors = {factor for factor, _level in found}
    assert factors == {"lap", "hour", "tool", "operator"}
    assert found["hour", "07:00"]["length_m"] == pytest.approx(66 * FT)
    assert {level for factor, level in found if factor == "tool"} == {"machine"}
    assert set(rates(ends, "--by hora")) == {k for k in found if k[0] == "hour"}
    assert "not one of" in ends.refused("faults --by colour")


def test_the_picture_has_the_interval_of_the_numbers(ends: Any) -> None:
    """One scale: the rate between the ends of its interval, a column for each step of it."""
    lines = ends.ok("faults --by kind").out.splitlines()
    rows = {
        line[:16].strip(): line[18:] for line in lines if line[16:18] == " |" or line[16:18] == "|"
    }
    drawn = [line for line in lines if line.startswith(("side lap", "end lap")) and "|" in line]
    assert len(drawn) == 2, rows
    found = rates(ends, "--by kind")
    most = max(rate["high"] for rate in found.values())
    for line in drawn:
        picture = line.split("|")[1]
        rate = found["kind", line[:16].strip()]
        wide = 60
        assert picture.index("o") == round(rate["per_100ft"] / most * (wide - 1))
        if rate["faults"]:
            assert picture.index("[") == round(rate["low"] / most * (wide - 1))
        assert picture.rindex("]") == round(rate["high"] / most * (wide - 1))
    assert max(map(len, lines)) <= 80
