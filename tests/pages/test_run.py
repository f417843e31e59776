"""What the pages under docs/ show is what the program says and draws now."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from . import blocks, figures, shots
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
