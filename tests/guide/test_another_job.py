"""Another window takes up another job, or a pack brings one: what is asked stays on its roof."""

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
