"""The words on the pages are the program's own: commands, sentences, figures."""

from __future__ import annotations

import ast
import gettext
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
import typer

import weldcal as package
from weldcal import words
from weldcal.cli.main import app
from weldcal.records.fields import CHOICES
from weldcal.reports import terms

from . import blocks, shots

PACKAGE = Path(package.__file__).parent
PAGES = {p.stem: p.read_text() for p in blocks.DOCS.glob("*.md") if p.stem != "commands"}
_TYPED = [
    (page, " ".join(line.split()))
    for page, text in PAGES.items()
    for line in re.findall(r"`(weldcal [^`]+)`", text)
]


def _understood(line: str) -> None:
    """Have the program read a line as far as its options and arguments."""
    command: Any = typer.main.get_command(app)
    words = shlex.split(line)[1:]
    context = command.make_context("weldcal", words)
    while hasattr(command, "resolve_command"):
        rest = [*context._protected_args, *context.args]
        if not rest:  # a group by its name alone
            return
        name, command, words = command.resolve_command(context, rest)
        if not words and not hasattr(command, "resolve_command"):  # a command by its name alone
            return
        context = command.make_context(name, words, parent=context)


@pytest.mark.parametrize(("page", "line"), sorted(set(_TYPED)))
def test_every_command_in_a_sentence_is_understood(page: str, line: str) -> None:
    """Whatever is set as code and begins with weldcal can be typed; a command may be named alone."""
    _understood(line)


def _messages() -> list[str]:
    """Every text that the program shows, as it stands in the code."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in (
                "_",
                "mark",
                "plural",
            ):
                texts = [a.value for a in node.args[:2] if isinstance(a, ast.Constant)]
                found |= {text for text in texts if isinstance(text, str)}
    return sorted(found)


def _as_shown(message: str) -> re.Pattern[str] | None:
    """A pattern for what a message looks like filled in; None where hardly a word is its own."""
    own = re.split(r"\{[^{}]*\}", message)
    if sum(len(re.findall(r"[^\W\d_]", part)) for part in own) < 8:
        return None
    return re.compile(".+?".join(re.escape(part) for part in own))


SHOWN = [pattern for message in _messages() if (pattern := _as_shown(message))]


def _says(quoted: str) -> bool:
    return any(pattern.fullmatch(quoted) for pattern in SHOWN)


def test_a_sentence_nobody_says_is_told_apart() -> None:
    """Else the next test would prove nothing."""
    assert len(SHOWN) > 500
    assert _says('No job yet. Type: weldcal job new "NAME" --units us, or try: weldcal demo.')
    assert _says("speed: 'fast' is not a number. Type it like 5.5.")
    assert not _says("speed: 'fast' is no number. Type it like 5.5.")


def _first_cells(page: str) -> list[str]:
    """What stands in the first column of tables that are headed `it says`."""
    found = []
    for table in re.findall(r"(?:^\|.*\n)+", PAGES[page], re.M):
        head, _line, *rest = table.splitlines()
        if head.split("|")[1].strip() == "it says":
            found += [row.split(" | ")[0].strip("| `") for row in rest]
    return found


@pytest.mark.parametrize("page", ["operator", "foreman", "troubleshooting"])
def test_what_a_page_says_the_screen_says_is_said(page: str) -> None:
    """By a sentence of the program, or word for word in one of its pictures."""
    pictures = [shots.rows(p.read_text()) for p in shots.PICTURES.glob("*-*.svg")]
    screens = [" ".join(" ".join(rows).split()) for rows in pictures]
    words = set(_messages())
    quoted = _first_cells(page)
    assert len(quoted) > 5
    assert [
        q for q in quoted if not (_says(q) or q in words or any(q in screen for screen in screens))
    ] == []


REFUSED = {
    "strip record --nozzle 932 --speed fast --bleed 1/4 --bubbling none": "travel speed: 'fast' is not a number. Type it like 5.5ft/min.",
    "strip record --nozzle 9320 --speed 5 --bleed 1/4 --bubbling none": "nozzle temperature: 9320 °F cannot be; it lies between 122 °F and 1382 °F. Type it again.",
    "strip record --nozzle 932 --speed 5 --bleed 6 --bubbling none": "bleed-out: '6' says no unit. Type 6mm for millimetres, or 6/16 for sixteenths of an inch.",
    "strip record --nozzle 932 --speed 5 --bleed 1/4 --bubbling much": "bubbling: 'much' is not one of: none, trace, heavy. Type one of them.",
    "probe A1 0-33 --at 7.15": "time: '7.15' is not a time. Type it like 07:15 or 2026-06-01 07:15.",
    "trace A19": "No seam 'A19' in this job. Known: A1, A2, A3.",
    "wetstrip": "No command 'wetstrip'. Did you mean: weldcal strip? See them all: weldcal --help.",
    "amend S1 ambient -5C --why slip": "-5 reads as an option. Type the options first, then --, then the values, like: weldcal amend --why slip -- S1 ambient -5C",
    "me ana okoro": "'okoro' is a word too many; a name of several words goes in quotes. Type it like: weldcal me \"Ana Ruiz\"",
}


@pytest.mark.parametrize("line", REFUSED)
def test_what_is_refused_is_refused_in_the_words_of_the_page(job: Any, line: str) -> None:
    """Typed as it was, the program says what stands on the page."""
    assert job.refused(line) == f"weldcal: {REFUSED[line]}"
    assert REFUSED[line] in _first_cells("troubleshooting")


def test_the_figures_of_the_advice_are_those_of_the_bench() -> None:
    """Every number of the table, and of what was missed, stands in the bench's results."""
    page = PAGES["advice"]
    results = (blocks.DOCS.parent / "tests" / "bench" / "RESULTS.md").read_text()
    rows = [row for row in page.splitlines() if re.match(r"\| (?:wide|narrow), ", row)]
    assert len(rows) == 4
    assert [row for row in rows if row not in results] == []
    missed = page.partition("## What it missed")[2].partition("\n## ")[0]
    figures = set(re.findall(r"\d\.\d+", missed))
    assert len(figures) > 12
    assert {n for n in figures if n not in results} == set()


def _glossary(heading: str) -> dict[str, str]:
    """English to Spanish, as a section of the glossary has it."""
    part = PAGES["glossary"].partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    found = [
        [cell.strip() for cell in row.split("|")[1:4]]
        for row in part.splitlines()
        if row.startswith("| ")
    ]
    return {english: spanish for english, spanish, what in found[1:] if what}


@pytest.mark.parametrize(
    ("heading", "used"),
    [
        ("States of a seam", terms.STATES),
        ("Marks beside a record or a seam", terms.FLAGS),
        ("Findings", CHOICES["flaw"][1]),
        ("Kinds of seam", CHOICES["seam_kind"][1]),
    ],
)
def test_the_glossary_has_every_word_the_program_uses_and_no_other(
    heading: str, used: tuple[str, ...]
) -> None:
    """In the program's own order."""
    assert tuple(_glossary(heading)) == used


def test_the_glossarys_answers_are_answers() -> None:
    """Each can be typed where the program asks."""
    names = ("bubbling", "bond", "parted", "lap", "how")
    assert set(_glossary("Answers")) | {"cold"} == {w for name in names for w in CHOICES[name][1]}


CATALOG = words.LOCALE_DIR / "es" / "LC_MESSAGES" / "weldcal.mo"


@pytest.mark.skipif(not CATALOG.exists(), reason="no Spanish catalog in this tree yet")
def test_the_glossarys_spanish_is_the_screens() -> None:
    """Where the program has the English word as a text of its own; the rest is the trade's."""
    with CATALOG.open("rb") as file:
        spanish = gettext.GNUTranslations(file).gettext
    own = set(_messages())
    headings = re.findall(r"^## (.+)$", PAGES["glossary"], re.M)
    pairs = {(e, s) for heading in headings for e, s in _glossary(heading).items() if e in own}
    assert len(pairs) > 60
    assert {(e, s, spanish(e)) for e, s in pairs if spanish(e) != s} == set()
