"""Whole pages as a person has read them: every word, number, row, column and mark."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.dossier import conftest as quarry
from tests.dossier import roofs
from tests.reports import approved
from tests.reports.documents import Written

LAID = (
    'roof lay "A 30ft x 20ft at 0,0; A 12ft x 9ft at 30ft,0" --roll-width 39.4in --roll-length 33ft '
    '--mark "drain at 10ft,8ft" --mark "curb at 24ft,12ft around 10ft"'
)


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Written:
    """What commands write into an empty folder, where they are typed."""
    folder = tmp_path / "here"
    folder.mkdir()
    return Written(monkeypatch, folder)


def said(weldcal: Any, written: Written, head: str) -> str:
    """All that a command prints and writes, and its exit code if that is not 0."""
    time, _, line = head.partition(" ")
    weldcal.clock.set(time)
    done = weldcal(line)
    code = f"exit code {done.code}\n" if done.code else ""
    return f"{done.out}{done.err}{code}{written.since()}"


@pytest.mark.parametrize("head", approved.heads("one_of_each"))
def test_a_page_of_the_day_on_which_everything_is_recorded_once(
    one_of_each: Any, written: Written, head: str
) -> None:
    """`tests.one_of_each`: a job in feet and degrees Fahrenheit."""
    approved.held("one_of_each", head, said(one_of_each, written, head))


@pytest.mark.parametrize("name", ["whole_day", "metric_day"])
def test_a_day_as_it_was_typed_line_by_line(weldcal: Any, written: Written, name: str) -> None:
    """Each command on what those before it left: nearly every one there is, in either units."""
    pages = [(head, said(weldcal, written, head)) for head in approved.heads(name)]
    approved.held_whole(name, pages)


@pytest.fixture(scope="module")
def _quarry(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("quarry") / "book.sqlite"
    for line in filter(None, map(str.strip, quarry.LOG.splitlines())):
        day, time, words = line.split(" ", 2)
        hour, minute = map(int, time.split(":"))
        at = quarry.MONDAY + timedelta(days=int(day), hours=hour, minutes=minute)
        quarry.run(path, at, words)
    return path


@pytest.mark.parametrize("head", approved.heads("quarry"))
def test_a_page_of_the_roof_where_everything_happened(
    weldcal: Any, written: Written, _quarry: Path, head: str
) -> None:
    """`tests.dossier.conftest.LOG`; asked on its second day."""
    shutil.copyfile(_quarry, weldcal.book)
    weldcal.clock.moment = quarry.MONDAY + timedelta(days=1)
    approved.held("quarry", head, said(weldcal, written, head))


@pytest.fixture(scope="module")
def _laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("laid") / "book.sqlite"
    roofs.lay(path, LAID)
    roofs.work(path, 24)
    return path


@pytest.mark.parametrize("head", approved.heads("laid"))
def test_a_page_of_a_roof_laid_out_with_findings_all_over(
    weldcal: Any, written: Written, _laid: Path, head: str
) -> None:
    """An L of some thirty seams, worked on as in `tests.dossier.roofs`, that evening."""
    shutil.copyfile(_laid, weldcal.book)
    weldcal.clock.moment = quarry.MONDAY
    approved.held("laid", head, said(weldcal, written, head))
