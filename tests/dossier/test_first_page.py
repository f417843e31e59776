"""Page 1 says plainly what is missing, late, self-probed, warned, in doubt, or under no seal."""

from __future__ import annotations

import io
import re
from typing import Any

import html5lib
import pypdf
import pytest

from weldcal.reports.dossier.document import Guide, Numbers, Table

ON_PAGE_1 = ("What is open", "What is unproven", "What was proved")


@pytest.fixture(scope="module")
def answers(made: Any) -> dict[str, tuple[str, str]]:
    """Question -> answer, where."""
    return all_answers(made)


def all_answers(made: Any) -> dict[str, tuple[str, str]]:
    """Every question with its answer, those of the back pages too."""
    captions = (*ON_PAGE_1, "Asked, with nothing found")
    tables = [t for t in made.tables() if t.caption in captions]
    return {row[0]: (row[1], row[2]) for t in tables for row in t.rows}


def test_none_stands_at_the_back_only(made: Any) -> None:
    """Page 1 has no row that says none; the back has no other."""
    on_page_1 = [b for b in made.document.lead if isinstance(b, Table)]
    assert [t.caption for t in on_page_1] == list(ON_PAGE_1)
    assert all(row[1] != "none" for t in on_page_1 for row in t.rows)
    assert {row[1] for row in made.table("Asked, with nothing found").rows} == {"none"}


def test_three_numbers_tell_laps_and_points_apart(made: Any) -> None:
    """A2 to A8 of the log: of eight laps A6 alone is probed with no open finding; no T-joint is listed."""
    (numbers,) = [b for b in made.document.lead if isinstance(b, Numbers)]
    laps, points, findings = numbers.items
    assert laps[0] == "12 %"
    assert laps[2].startswith("1 of 8 side laps")
    assert (points[0], points[2]) == ("–", "0 of 0 T-joints")
    assert findings == ("2", "findings are open", "and 1 mended, not probed again")


@pytest.mark.parametrize(
    ("question", "answer", "where"),
    [
        ("Seams not welded to their end", "3", "A4, A7, A8"),
        ("Findings open", "2", "A1 F4, A2 F2"),
        ("Mended, not probed again", "1", "A1 F3"),
        ("Covered by the next ply without being probed clean", "none", ""),
        ("Warned and welded all the same, not answered", "1", "R5 (A5)"),
        ("Probed by the one who welded it", "1 seam", "A3"),
        ("Samples that parted at the lap", "none", ""),
        ("Entered over an hour after it was seen", "1 record, up to 6 h", "W5"),
        ("Read with an instrument past its check date", "1 record", "conditions"),
        ("Corrections", "1", "W3"),
        ("Corrections that contradict each other", "none", ""),
        (
            "Hashes, links, seals, tables and photos, recomputed for this file",
            "all hold",
            "56 entries of this book against each other and 1 seal; not shown: that what was typed"
            " is true, nor who typed it",
        ),
        ("Clocks that went back or disagree", "none", ""),
        ("Seals handed to somebody outside the crew", "1", "L1: owner's representative J. Vale"),
    ],
)
def test_each_question_has_its_answer(answers: Any, question: str, answer: str, where: str) -> None:
    """What happened on the roof, question by question."""
    assert answers[question] == (answer, where)


def test_lap_not_probed_is_told_with_its_places(answers: Any) -> None:
    """A1's sample cut left a finding; A3 is walked to 12 ft by its operator, A4 and A5 not at all."""
    said, where = answers["Welded lap not probed"]
    assert said.startswith("74 ft")
    assert where == "A3 12–33 ft, A4 0–20 ft, A5 0–33 ft"


def test_entries_after_the_last_seal_are_counted(made: Any, answers: Any) -> None:
    """All entries less those the seal's heads fix; the seal itself lies after them."""
    import contextlib
    import json
    import sqlite3

    with contextlib.closing(sqlite3.connect(made.book)) as book:
        total = book.execute("SELECT count(*) FROM entries").fetchone()[0]
        heads = json.loads(book.execute("SELECT heads FROM seals").fetchone()[0])
    assert answers["Entries of this book under no seal"][0] == str(
        total - sum(seq for _d, seq, _h in heads)
    )


def test_a_changed_record_is_said_on_page_1(made: Any, tmp_path: Any, dossier_of: Any) -> None:
    """A body changed behind the program's back: faults are counted on page 1."""
    import contextlib
    import shutil
    import sqlite3

    path = tmp_path / "forged.sqlite"
    shutil.copyfile(made.book, path)
    with contextlib.closing(sqlite3.connect(path)) as book:
        book.execute("DROP TRIGGER entries_no_update")
        book.execute(
            "UPDATE entries SET body = replace(body, '\"S2\"', '\"S9\"') WHERE kind = 'strip'"
        )
        book.commit()
    forged = dossier_of(path)
    captions = [b.caption for b in forged.document.lead if isinstance(b, Table)]
    assert "What was proved" not in captions
    said = all_answers(forged)["Hashes, links, seals, tables and photos, recomputed for this file"]
    assert "fault" in said[0]


def test_no_page_calls_a_seam_sound(made: Any) -> None:
    """The word stands once, where the file says that it is for people to judge."""
    from weldcal.reports.dossier.document import texts

    told = " ".join(texts(made.document))
    assert told.lower().count(" sound") == 1
    assert "probed with no open finding" in told


def test_without_people_no_name_is_left(made: Any) -> None:
    """Neither on lists, nor in traces, corrections, seals, nor in free text that repeats a name."""
    from tests.dossier.conftest import gather
    from weldcal.reports.dossier import content
    from weldcal.reports.dossier.document import texts

    told = "\n".join(texts(content.document(gather(made.book, people=False))))
    for name in ("Ana", "Ruiz", "Okoro", "Vale"):
        assert name not in told
    assert "person 1" in told


def test_page_1_says_where_a_representative_finds_things(made: Any) -> None:
    """Each leads to a section that is there: by its page in the PDF, by a link in the HTML."""
    (guide,) = (b for b in made.document.lead if isinstance(b, Guide))
    titles = [section.title for section in made.document.sections]
    tree = html5lib.parse(made.html, namespaceHTMLElements=False)
    headings = {
        s.get("id"): s.find("h2").text
        for s in tree.iter("section")
        if s.get("id", "").startswith("s") and s.find("h2") is not None
    }
    links = {a.text: a.get("href") for a in tree.iter("a")}
    pages = [
        " ".join(p.extract_text().split()) for p in pypdf.PdfReader(io.BytesIO(made.pdf)).pages
    ]
    for what, title in guide.items:
        assert title in titles, what
        assert headings[links[title].removeprefix("#")] == title
        (number,) = set(re.findall(rf"{re.escape(title)}, page (\d+)", pages[0]))
        assert title in pages[int(number) - 1]
