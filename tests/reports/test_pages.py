"""Whole pages of the terminal, as a person has read them: every word, number, row and mark."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.reports import approved


def said(weldcal: Any, head: str) -> str:
    """All that the commands of a head print, with exit codes that are not 0."""
    time, _, line = head.partition(" ")
    weldcal.clock.set(time)
    parts = []
    for words in line.split(" && "):
        done = weldcal(words)
        parts += [done.out, done.err, f"exit code {done.code}\n" if done.code else ""]
    return "".join(parts)


@pytest.mark.parametrize("head", approved.heads("one_of_each"))
def test_a_page_of_the_day_on_which_everything_is_recorded_once(
    one_of_each: Any, head: str
) -> None:
    """`tests.one_of_each`: a job in feet and degrees Fahrenheit."""
    approved.held("one_of_each", head, said(one_of_each, head))


@pytest.mark.parametrize("name", ["whole_day", "metric_day"])
def test_a_day_as_it_was_typed_line_by_line(
    weldcal: Any, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each command on what those before it left: nearly every one there is, in either units."""
    monkeypatch.chdir(tmp_path)
    heads = approved.heads(name)
    pages = [(head, said(weldcal, head)) for head in heads]
    approved.held_whole(name, pages)
