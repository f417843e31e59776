"""Setting a job up: the job, and everything that belongs to it, each limit with its source."""

from __future__ import annotations

from typing import Any

import pytest


def test_a_job_is_made_with_all_that_belongs_to_it_in_one_line(weldcal: Any) -> None:
    """Area, sheet, machine, instrument, person, limit: each is shown back."""
    weldcal.ok(
        'job new "School roof" --units us --zone America/Denver --area "North 60ft x 18ft" '
        '--sheet "base: polyester SBS, 3 mm" --machine "blue: ft/min 1-20 step 0.5" '
        '--instrument "tape 1: tape, checked 2026-05-04" --person "Ana Ruiz: AR, operator" '
        '--limit "bleed_high 5/16in: maker sheet rev 4" --by "Ana Ruiz"'
    )
    shown = weldcal.ok("job show").out
    for text in (
        "School roof",
        "America/Denver",
        "North: 60 ft x 18 ft",
        "polyester SBS, 3 mm",
        "blue: 1–20 ft/min",
        "tape 1: tape, 2026-05-04",
        "Ana Ruiz: AR, operator",
    ):
        assert text in shown
    assert "bleed_high: 5/16in" in weldcal.ok("limit list").out


@pytest.mark.parametrize(
    ("line", "table", "name"),
    [
        ('area add "South 12m x 5m"', "areas", "South"),
        ('area add "the canopy"', "areas", "the canopy"),
        (
            'sheet add "cap: granulated SBS" --thickness 4.5mm --roll-width 39.4in --roll-length 33ft',
            "sheets",
            "cap",
        ),
        ('sheet add "tpo: reinforced thermoplastic" --judged-by bond', "sheets", "tpo"),
        (
            'machine add "red: m/min 0.5-7 step 0.1" --rated-voltage 230 --nozzle-range 300C-600C',
            "machines",
            "red",
        ),
        (
            'machine add "old: mark 1-9 step 0.5" --mark "2=0.8m/min" --mark "8=10ft/min"',
            "machines",
            "old",
        ),
        ('instrument add "gun 1: infrared thermometer"', "instruments", "gun 1"),
        ('person add "Cleo Marsh: CM, foreman"', "people", "Cleo Marsh"),
    ],
)
def test_each_thing_can_be_added_later(job: Any, line: str, table: str, name: str) -> None:
    """And is refused a second time under the same name, however it is spelt."""
    done = job.ok(f"{line} --json").json
    assert done["name"] == name
    assert [row["name"] for row in job.query(f"SELECT name FROM {table}")][-1] == name
    before = job.entries()
    again = job(line.replace(name, name.upper()))
    assert again.code == 2
    assert job.entries() == before


def test_marks_of_a_dial_are_kept_in_metres_a_minute(job: Any) -> None:
    """10 ft/min is 3.048 m/min exactly."""
    job.ok('machine add "old: mark 1-9" --mark "8=10ft/min" --mark "2=0.8m/min"')
    (row,) = job.query("SELECT marks FROM machines WHERE name = 'old'")
    assert row["marks"] == "[[2.0, 0.8], [8.0, 3.048]]"


@pytest.mark.parametrize(
    "line",
    [
        'machine add "m: mark 1-10 step 0"',
        'machine add "m: ft/min 20-1"',
        'machine add "m: mark 1-9" --mark "2=1m/min" --mark "2=2m/min"',
        'machine add "m: mark 1-9" --mark "2=3m/min" --mark "8=1m/min"',
        'machine add "m: ft/min" --nozzle-range 600C-300C',
        'machine add "m: ft/min" --nozzle-range 600C',
        'machine add "m: ft/min" --mark "2"',
        'machine add "m: parsecs 1-9"',
    ],
)
def test_a_dial_that_cannot_be_is_refused(job: Any, line: str) -> None:
    """When it is typed, not when advice is asked for."""
    before = job.entries()
    refused = job(line)
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert "inside" not in refused.err
    assert job.entries() == before


def test_every_limit_has_a_value_and_a_source(job: Any) -> None:
    """Defaults say they are common practice, a setting, or where they were published."""
    limits = job.ok("limit list --json").json
    assert {"bleed_low", "bleed_aim", "bleed_high", "mend_margin"} <= {x["name"] for x in limits}
    assert all(x["source"] and x["adopted_by"] is None for x in limits)
    assert "yield to the sheet maker's instructions" in " ".join(job.ok("limit list").out.split())


def test_a_limit_adopted_names_its_document_and_who_adopted_it(job: Any) -> None:
    """And holds from then on."""
    job.ok('limit set bleed_high 5/16in --source "maker sheet 12, rev 4" --by AR')
    (found,) = [x for x in job.ok("limit list --json").json if x["name"] == "bleed_high"]
    assert found == {
        "name": "bleed_high",
        "value": "5/16in",
        "unit": "in",
        "source": "maker sheet 12, rev 4",
        "adopted_by": "Ana Ruiz",
    }


@pytest.mark.parametrize(
    "line",
    [
        "limit set bleed_high 5/16in",
        'limit set bleed_hi 5/16in --source "x"',
        'limit set bleed_high red --source "x"',
        'limit set bleed_high 5F --source "x"',
        'limit set readings_least 2.5 --source "x"',
    ],
)
def test_a_limit_without_source_name_or_number_is_refused(job: Any, line: str) -> None:
    """Nothing is adopted by half."""
    before = job.entries()
    assert job(line).code == 2
    assert job.entries() == before


def test_work_is_judged_by_the_limits_in_force_when_it_was_done(go_ahead: Any) -> None:
    """A limit adopted afterwards does not undo a go-ahead; the next strip is judged by it."""
    go_ahead.clock.set("09:00")
    go_ahead.ok('limit set bleed_high 1/4in --source "maker sheet"')
    go_ahead.clock.set("09:10")
    go_ahead.ok(
        "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none --bond good"
    )
    strips = go_ahead.ok("strip list --json").json
    assert [s["shortfalls"] for s in strips] == [[], ["too_much"]]


@pytest.mark.parametrize(
    "options",
    [
        '--limit "nonsense 3: rev 4"',
        '--limit "bleed_high 3/8in:"',
        '--sheet "a: x" --sheet "A: y"',
        '--machine "m: ft/min 20-1"',
        "--zone Mars/Base",
        "--units imperial",
        "--day-begins 24",
        "--day-begins 6.5",
        '--area "A 9x x 4"',
        '--person ": AR"',
    ],
)
@pytest.mark.parametrize("first", [True, False], ids=["no book", "a book"])
def test_a_job_is_made_whole_or_not_at_all(
    weldcal: Any, request: pytest.FixtureRequest, options: str, first: bool
) -> None:
    """One bad part refuses the job with all its parts, in one line."""
    if not first:
        request.getfixturevalue("job")
    before = weldcal.entries()
    refused = weldcal(f'job new "Other" --by AR {options}')
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert "recorded." not in refused.out
    assert weldcal.entries() == before


def test_a_second_job_is_worked_on_until_told_otherwise(job: Any) -> None:
    """`job use` goes back; `--job` and WELDCAL_JOB choose for one command."""
    job.ok('job new "Depot" --units si --zone Europe/Madrid')
    assert "Depot" in job.ok("job show").out
    assert "School roof" in job.ok('--job "school ROOF" job show').out
    job.ok('job use "School roof"')
    assert "School roof" in job.ok("job show").out


@pytest.mark.parametrize("line", ["job show --job 'School roof'", "job --job='School roof' show"])
def test_the_jobs_name_counts_wherever_it_is_typed(job: Any, line: str) -> None:
    """Behind the command too; and a wrong name is refused there as in front."""
    job.ok('job new "Depot" --units si --zone Europe/Madrid')
    assert "School roof" in job.ok(line).out
    assert job(line.replace("School", "Other")).code == 2


@pytest.mark.parametrize("way", ["option", "environment"])
def test_a_new_job_may_be_the_one_asked_for(
    job: Any, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    """WELDCAL_JOB set beforehand to the name of the job to be made is no contradiction."""
    if way == "environment":
        monkeypatch.setenv("WELDCAL_JOB", "Depot")
        job.ok('job new "Depot" --units si --zone Europe/Madrid')
    else:
        job.ok('--job Depot job new "Depot" --units si --zone Europe/Madrid')
    assert "Depot" in job.ok("job show").out


def test_things_of_one_job_are_not_seen_in_another(job: Any) -> None:
    """Seams, strips and people are the job's own."""
    job.ok('job new "Depot" --units si --zone Europe/Madrid')
    assert job.ok("roof --json").json["seams"] == []


def test_a_bare_number_means_the_jobs_units(job: Any) -> None:
    """33 is feet on one job and metres on another; a suffix overrides it on either."""
    job.ok('job new "Depot" --units si --zone Europe/Madrid')
    job.ok("seam add B1 --length 10")
    job.ok("seam add B2 --length 33ft")
    lengths = {s["name"]: s["length_m"] for s in job.ok("roof --json").json["seams"]}
    assert lengths == {"B1": 10.0, "B2": pytest.approx(10.0584)}


def test_many_seams_are_listed_at_once_and_keep_their_zeros(job: Any) -> None:
    """`A12-A14` is three; `C08-C10` keeps what is chalked on the roof."""
    job.ok("seam add A12-A14")
    job.ok("seam add C08-C10 --kind 'end lap'")
    names = [s["name"] for s in job.ok("roof --json").json["seams"]]
    assert names[3:] == ["A12", "A13", "A14", "C08", "C09", "C10"]


@pytest.mark.parametrize(
    "kind", ["side lap", "end lap", "night tie-in", "detail", "T-joint", "tie-in"]
)
def test_every_kind_of_seam_can_be_listed(job: Any, kind: str) -> None:
    """By the words the help shows."""
    job.ok("seam", "add", "K1", "--kind", kind)


def test_seams_listed_twice_are_refused_all_together(job: Any) -> None:
    """A3 is listed: none of A3 to A5 is added."""
    before = job.entries()
    assert job("seam add A3-A5").code == 2
    assert job.entries() == before


def test_initials_stand_for_the_person_whichever_command_is_typed(job: Any) -> None:
    """AR is Ana Ruiz in every entry."""
    job.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none --by AR")
    job.ok("seam add D1 --by AR")
    job.ok('person add "Cleo Marsh: CM" --by AR')
    job.ok("dial --by AR")
    assert {entry["who"] for entry in job.entries()[-4:]} == {"Ana Ruiz"}
    assert job.query("SELECT seen_by FROM advice")[0]["seen_by"] == "Ana Ruiz"


def test_initials_of_two_people_are_asked_back(job: Any) -> None:
    """Work is never credited to whoever was listed first; a whole name is one person's."""
    job.ok('person add "Amos Reed: AR, operator"')
    for line in ("seam start A1 --nozzle 932 --speed 5.5 --by AR", "me AR", "go-ahead --hand ar"):
        said = job.refused(line)
        assert said.endswith("Type one of: Ana Ruiz, Amos Reed.")
    job.ok('seam start A1 --nozzle 932 --speed 5.5 --by "amos reed"')
    assert job.entries()[-1]["payload"]["seen"]["by"] == "Amos Reed"


def test_a_name_comes_before_somebodys_initials(job: Any) -> None:
    """Bo is Bo, though Ben Okoro is listed as BO."""
    job.ok('person add "Bo: B, operator"')
    job.ok("seam start A1 --nozzle 932 --speed 5.5 --by Bo")
    assert job.entries()[-1]["payload"]["seen"]["by"] == "Bo"


def test_a_city_is_a_time_zone(weldcal: Any) -> None:
    """Where only one zone is named after it (names of the IANA time zone database)."""
    weldcal.ok('job new "North school" --units us --zone "new york" --by Ana')
    assert "time zone America/New_York" in weldcal.ok("job show").out


def test_a_city_of_two_zones_is_asked_back(weldcal: Any) -> None:
    """The IANA database has America/Louisville and America/Kentucky/Louisville."""
    said = weldcal('job new "East school" --units us --zone Louisville --by Ana')
    assert said.code == 2
    assert "America/Kentucky/Louisville, America/Louisville" in said.err
    assert weldcal.entries() == []


def test_a_limit_is_adopted_by_a_named_person(weldcal: Any) -> None:
    """A number that decides needs a person: where nobody is named, nothing is recorded."""
    weldcal.ok('job new "Depot" --units us')
    before = len(weldcal.entries())
    done = weldcal('limit set bleed_high 5/16in --source "maker sheet"')
    assert done.code == 2
    assert "--by" in done.err
    assert len(weldcal.entries()) == before
    weldcal.ok('limit set bleed_high 5/16in --source "maker sheet" --by "Ana Ruiz"')
    adopted = {one["name"]: one["adopted_by"] for one in weldcal.ok("limit list --json").json}
    assert adopted["bleed_high"] == "Ana Ruiz"


def test_an_instrument_keeps_the_dates_it_was_checked_and_is_due(job: Any) -> None:
    """Either, both in either order, or none."""
    for line, expected in (
        ("tape 1: tape, checked 2026-05-01, due 2027-05-01", ("2026-05-01", "2027-05-01")),
        ("tape 2: tape, due 2027-05-02, checked 2026-05-02", ("2026-05-02", "2027-05-02")),
        ("tape 3: tape,  due  2027-05-03", (None, "2027-05-03")),
        ("tape 4: tape", (None, None)),
    ):
        job.ok("instrument", "add", line)
        (row,) = job.query(
            "SELECT kind, checked, due FROM instruments WHERE name = ?", line.partition(":")[0]
        )
        assert tuple(row) == ("tape", *expected)


@pytest.mark.parametrize(
    "part",
    [
        "checked 2026-5-1",
        "checked 1.5.2026",
        "checked 2026-05-01x",
        "checked",
        "seen 2026-05-01",
        "2026-05-01",
        "checked 2026-13-01",
        "due 2026-02-30",
    ],
)
def test_a_date_of_an_instrument_that_is_none_is_refused(job: Any, part: str) -> None:
    """One line that shows what was typed; nothing is listed."""
    said = job.refused("instrument", "add", f"tape 9: tape, {part}")
    assert part in said
