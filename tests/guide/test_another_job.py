"""Another window takes up another job, or a pack brings one: what is asked stays on its roof.

That a window stays on its job is this program's rule.
"""

from __future__ import annotations

from typing import Any


def test_a_window_stays_on_its_job(terminal: Any, job: Any) -> None:
    """Asked of the School roof, recorded there: it was recorded on the job the other window took."""
    window = terminal()
    window.type("weldcal", "", "61")  # who; the air, of the School roof
    window.asked("surface")
    job.ok(
        'job new Mill --units si --zone America/Denver --by "Ana Ruiz" --sheet "base: SBS" '
        '--machine "red: m/min 0.3-7.5" --person "Ana Ruiz: AR, operator"'
    )
    assert job.ok("job show --json").json["jobs"][0]["name"] == "Mill"
    window.type("74", "", "", "")
    window.asked()
    (read,) = job.query(
        "SELECT jobs.name, sheet_c FROM conditions JOIN jobs ON jobs.id = conditions.job"
    )
    assert (read["name"], round(read["sheet_c"])) == ("School roof", 23)  # 74 °F, not 74 °C


def test_the_board_stays_on_its_job(job: Any) -> None:
    """Read again after the other window took another job up."""
    from weldcal.cli import guide

    book = guide.book_at(guide.DayBook(job.book, clock=job.clock))
    guide.stay_on_job(book)
    job.ok("job new Mill --units si --zone America/Denver")
    assert (book.job.name, book.beginning.day().units) == ("School roof", "us")
    book.close()


def test_the_plain_command_of_a_window_names_its_job(job: Any, capsys: Any) -> None:
    """Typed elsewhere, a line without it would be recorded on the roof that the other window took."""
    from weldcal.cli import guide
    from weldcal.flow.question import Call

    book = guide.book_at(guide.DayBook(job.book, clock=job.clock))
    guide.stay_on_job(book)
    look = (Call("strip list"),)
    for taken_up, line in (
        (False, "weldcal strip list"),
        (True, "weldcal --job 'School roof' strip list"),
    ):
        if taken_up:
            job.ok("job new Mill --units si --zone America/Denver")
        capsys.readouterr()
        guide.run(book, look, shown=True)
        assert f"Same as: {line}\n" in capsys.readouterr().out
    book.close()


def test_what_comes_next_on_another_job_is_typed_with_it(job: Any) -> None:
    """Where nobody is asked, as in a pipe: the command that is said is of the job asked about."""
    job.ok(
        'job new Mill --units si --zone America/Denver --by "Ana Ruiz" --sheet "base: SBS" '
        '--machine "red: m/min 0.3-7.5" --person "Ana Ruiz: AR, operator"'
    )
    assert "weldcal --job 'School roof'" in " ".join(job.ok("--job", "School roof").out.split())
    assert "--job" not in job.ok().out
