"""What the pages under docs/ show is what the program says and draws now."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from weldcal.flow import operator

from . import blocks, figures, sentences, shots
from .program import Program

WRITTEN = {path.stem: path.read_text() for path in sorted(shots.PICTURES.glob("*.svg"))}
ANEW = "write it anew: python -m tests.pages"


@pytest.mark.parametrize("page", blocks.PAGES, ids=lambda page: page.stem)
def test_every_command_of_the_page_works_and_says_what_stands_there(
    page: Path, tmp_path: Path
) -> None:
    """In order, on a fresh book, somebody at the keyboard who is asked nothing."""
    text = page.read_text()
    assert text.count("```text") > 5
    assert blocks.written_anew(text, Program(tmp_path)) == text, ANEW


def test_a_word_changed_on_the_page_is_seen(tmp_path: Path) -> None:
    """Else the comparison would prove nothing; a line that is refused stops it."""
    page = "```sh\nweldcal limit list --json\n```\n\n```text\nno such thing\n```\n"
    with pytest.raises(AssertionError, match="No job yet"):
        blocks.written_anew(page, Program(tmp_path))
    begun = page.replace("weldcal limit", 'weldcal job new "Try" --units us\nweldcal limit')
    assert "no such thing" not in blocks.written_anew(begun, Program(tmp_path))


def test_every_screen_shows_what_the_program_says(tmp_path: Path) -> None:
    """Row by row at its width; how rich draws the rows is rich's own affair."""
    made = dict(shots.taken(tmp_path))
    assert {f"{s.name}-{c}" for s in shots.SHOTS for c in s.columns} == set(made)
    for name, svg in made.items():
        columns = int(name.rpartition("-")[2])
        assert max(map(len, shots.rows(svg))) <= columns
        assert shots.rows(WRITTEN[name]) == shots.rows(svg), f"{name}: {ANEW}"


def test_every_figure_is_drawn_by_the_engine(tmp_path: Path) -> None:
    """Line for line as the dossier draws it."""
    for name, svg in figures.taken(tmp_path):
        assert WRITTEN[name] == svg, f"{name}: {ANEW}"


def test_the_page_of_sentences_is_what_the_program_says_now() -> None:
    """Both languages, sentence by sentence; none without its Spanish."""
    assert sentences.PAGE.read_text() == sentences.page(), ANEW
    assert [row for row in sentences.page().splitlines() if row.endswith("|  |")] == []


def test_the_page_of_sentences_has_every_step_of_the_operator() -> None:
    """A step in a module of its own brings that module's sentences."""
    asked = {step.asks.__module__ for step in operator.STEPS}
    sources = {f"{name.removeprefix('weldcal.').replace('.', '/')}.py" for name in asked}
    assert len(sources) > 2
    assert sources - {part.source for part in sentences.PARTS} == set()


def test_the_page_of_sentences_has_what_the_operators_day_says(job: Any) -> None:
    """Every line of a morning in the guided day and on the board stands there, filled in."""
    rows = sentences.PAGE.read_text().replace("\\", "").splitlines()
    english = [row.split(" | ")[0].removeprefix("| ") for row in rows if row.startswith("| ")]
    own = [one for one in english if len(re.findall(r"[^\W\d_]", re.sub(r"{.*?}", "", one))) > 5]
    known = [re.escape(one).replace(r"\{", "{").replace(r"\}", "}") for one in own]
    shapes = [re.compile(re.sub(r"\{\w+\}", ".+?", one)) for one in known]
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    for line in ("day --for operator", "dial", "go-ahead", "board --once"):
        said = [one for one in job(line).out.splitlines() if "School roof" not in one]
        assert said
        assert [one for one in said if not any(s.search(one) for s in shapes)] == []


def test_every_picture_is_made_here_and_shown_somewhere_with_words() -> None:
    """No drawing by hand, none left over; each has a text for who cannot see it."""
    pages = "\n".join(page.read_text() for page in blocks.DOCS.glob("*.md"))
    found = re.findall(r"!\[([^\]]*)\]\(pictures/([^)]+)\.svg\)", pages)
    shown = {name: text for text, name in found}
    made = {f"{s.name}-{c}" for s in shots.SHOTS for c in s.columns}
    assert set(WRITTEN) == made | {"fit-two-strips", "fit-five-strips"} == set(shown)
    assert min(map(len, shown.values())) > 20


def test_no_link_leads_nowhere() -> None:
    """Every file a page links to is there, with the heading it names."""
    pages = [
        *blocks.DOCS.glob("*.md"),
        *(blocks.DOCS.parent / n for n in ("README.md", "DEVELOPERS.md")),
    ]
    for page in pages:
        for target in re.findall(r"\]\(([^)]+)\)", page.read_text()):
            file, _, heading = target.partition("#")
            goal = page.parent / file if file else page
            assert goal.exists(), f"{page.name}: {target}"
            if heading:
                titles = re.findall(r"^#+ (.+)$", goal.read_text(), re.M)
                assert heading in {_anchor(title) for title in titles}, f"{page.name}: {target}"


def _anchor(title: str) -> str:
    """A heading's own address, as common viewers of Markdown make it."""
    return re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-")
