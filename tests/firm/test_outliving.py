"""Machines, sheets, instruments and people go on from job to job, as somebody types it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"
MILL = (
    'job new "Mill roof" --units us --zone America/Denver --by "Ana Ruiz" '
    '--sheet "base: polyester-reinforced SBS base sheet" --machine "blue: ft/min 1-20 step 0.5" '
    '--machine "red: ft/min 1-20 step 0.5" --person "Ana Ruiz: AR, operator"'
)


def measured(job: Any) -> None:
    job.ok("machine measure blue --mark 5.5 --distance 20ft --time 240s")


def test_a_machine_measured_on_one_job_is_measured_on_the_next(job: Any) -> None:
    """20 ft in 240 s is 5 ft/min behind a mark of 5.5; drift and passport show it on the next job."""
    measured(job)
    job.clock.set("08:00", days=7)
    job.ok(MILL)
    (check,) = job.ok("machine drift blue --json").json["checks"]
    assert round(check["speed_m_per_min"] / 0.3048, 2) == 5.0
    found = job.ok("machine show blue --json").json
    assert [one["job"] for one in found["jobs"]] == ["School roof", "Mill roof"]
    assert [one["measured"] for one in found["jobs"]] == [1, 0]
    assert job.ok("machine show red --json").json["measures"] == []


def test_what_this_job_lists_of_a_dial_takes_the_place_of_older_measurements(job: Any) -> None:
    """The machine was set anew, and the new job says how."""
    measured(job)
    job.clock.set("08:00", days=7)
    job.ok(MILL.replace(' --machine "blue: ft/min 1-20 step 0.5"', ""))
    job.ok('machine add "blue: ft/min 1-20 step 0.5" --mark "5.5=1.7m/min"')
    from weldcal.book import Book

    book = Book(job.book)
    dial, _row = book.machines.dial_of("blue")
    book.close()
    assert dial.speed(5.5) == 1.7


def test_strips_and_laps_stand_in_the_passport(job: Any) -> None:
    """Strips, those that passed, and people, over two jobs."""
    job.ok(STRIP)
    job.clock.set("07:30")
    job.ok("strip pull S1 good --parted compound")
    job.clock.set("08:00", days=7)
    job.ok(MILL)
    job.ok(STRIP + " --machine blue")
    said = job.ok("machine show blue").out
    assert "Machine blue: known from 2 jobs." in said
    assert "- School roof, as blue: Monday, June 1, 2026 to" in said
    assert "0 of 1 strip passed" in " ".join(said.split())
    person = job.ok('person show "Ana Ruiz" --json').json
    assert [(one["strips"], one["passed"]) for one in person["jobs"]] == [(1, 1), (1, 0)]
    assert len(job.ok("sheet show base --json").json["jobs"]) == 2


def test_somebody_says_that_two_are_not_one_and_takes_it_back(job: Any) -> None:
    """The last word counts; every word stays an entry."""
    measured(job)
    job.clock.set("08:00", days=7)
    job.ok(MILL)
    said = job.ok('machine same blue --with "School roof" --not').out
    assert said == "blue of this job and blue of School roof are two from now on.\n"
    assert job.ok("machine show blue --json").json["measures"] == []
    job.ok('machine same blue --with "School roof"')
    assert len(job.ok("machine show blue --json").json["measures"]) == 1
    job.ok('machine same red --with "School roof" --called blue')
    assert len(job.ok("machine show red --json").json["measures"]) == 1
    assert [e["kind"] for e in job.entries()][-3:] == ["same"] * 3
    job.ok("verify --rebuild")


def test_a_name_from_another_book_is_another_machine_until_somebody_says_so(
    job: Any, tmp_path: Path
) -> None:
    """A pack merged: the same name, taken for another one, and told how to say it is one."""
    measured(job)
    job.ok(f"pack {tmp_path / 'school.pack'}")
    shutil.move(job.book, tmp_path / "theirs.sqlite")
    job.clock.set("08:00", days=7)
    job.ok(MILL)
    job.ok(f"merge {tmp_path / 'school.pack'}")
    job.ok('job use "Mill roof"')
    said = job.ok("machine show blue").out
    assert "weldcal machine same blue --with 'School roof'" in said
    assert job.ok("machine show blue --json").json["measures"] == []
    job.ok('machine same blue --with "School roof" --by "Ana Ruiz"')
    assert len(job.ok("machine show blue --json").json["measures"]) == 1


def test_an_export_without_people_names_nobody(job: Any, tmp_path: Path) -> None:
    """Also where two of them were said to be one."""
    job.clock.set("08:00", days=7)
    job.ok(MILL)
    job.ok('person same "Ana Ruiz" --with "School roof"')
    job.ok("export", str(tmp_path / "t"), "--no-people")
    said = (tmp_path / "t" / "sames.jsonl").read_text(encoding="utf-8")
    assert '"person"' in said
    assert "ruiz" not in said.casefold()


def test_what_is_not_there_is_refused_in_one_line(job: Any) -> None:
    """No such job, no such machine, and this job itself."""
    assert "No job 'Barn'" in job.refused("machine same blue --with Barn")
    assert "No machine 'green'" in job.refused('machine same green --with "School roof"')
    assert "that is this job" in job.refused('machine same blue --with "School roof"')
