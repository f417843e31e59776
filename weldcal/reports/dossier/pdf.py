"""A document as PDF, by typst: tagged, with outline and page numbers, declared PDF/A-2a and PDF/UA-1.

Invariant: text goes to typst as JSON data and is shown, never read as typst.
What no font here can show is written as its code point, for an archive file
must not hold an empty box. Conformance is declared, not proven.
"""

from __future__ import annotations

import re
import threading
import unicodedata
from collections.abc import Callable
from datetime import datetime
from importlib import resources

import msgspec
import typst
from msgspec import structs

from weldcal.errors import WeldcalError
from weldcal.reports.dossier.document import (
    Block,
    Document,
    Figure,
    Section,
    as_json,
    cleaned,
    each,
    printable,
    texts,
)
from weldcal.reports.forms import Form
from weldcal.words import mark

STANDARDS: list[typst.PDFStandard] = ["a-2a", "ua-1"]
PAPERS = {"letter": "us-letter", "a4": "a4"}
_BEAT_S = 0.2
# typst-py lets comemo drop what was not used in its last ten compilations (measured, typst 0.15:
# the memory of a second large file is that of one, not of both).
_UNUSED = 12
# Links and groups of our own drawings; text within them holds no sign of mark-up.
_LINKS = re.compile(r"<title>[^<]*</title>|</?[ag](?: [^>]*)?>")
# What typst's own font surely has.
_PLAIN = {chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x180))}
# Unicode's general categories of marks and format signs: these may join their neighbours to one picture.
_JOINING = ("Mn", "Mc", "Me", "Cf")


class CannotSet(WeldcalError):
    """typst could not set the document."""

    sentence = mark("The PDF cannot be set: {why}. The HTML file says the same: --only html.")


def render(document: Document, paper: str, on_progress: Callable[[], None] = lambda: None) -> bytes:
    """The PDF.

    Args:
        paper: key of `PAPERS`.
        on_progress: called now and then while typst works; may raise to leave.

    Raises:
        CannotSet: typst refused.
    """
    clean = _without_links(cleaned(document))
    source = _template("page.typ")
    made = datetime.fromisoformat(document.made)

    def work(spelled: dict[int, str]) -> bytes:
        shown = clean
        if spelled:
            shown = _with_drawings(cleaned(clean, lambda text: text.translate(spelled)), spelled)
        return _compile(source, {"data": as_json(shown), "paper": PAPERS[paper]}, made)

    return _in_thread(lambda: _spelling(work, _signs(clean)), on_progress)


def forget() -> None:
    """Let typst drop what it keeps of the pages set, before more large ones are."""
    for _time in range(_UNUSED):
        typst.compile(b"-", format="pdf")


def _without_links(document: Document) -> Document:
    """The document with drawings that lead nowhere: typst drops their links, but not before it has paid for them."""
    return structs.replace(
        document,
        lead=tuple(map(_unlinked, document.lead)),
        sections=tuple(map(_unlinked_section, document.sections)),
    )


def _unlinked(block: Block) -> Block:
    if isinstance(block, Figure):
        return structs.replace(block, svg=_LINKS.sub("", block.svg))
    return block


def _unlinked_section(section: Section) -> Section:
    return structs.replace(
        section,
        blocks=tuple(map(_unlinked, section.blocks)),
        sections=tuple(map(_unlinked_section, section.sections)),
    )


def form(sheet: Form, paper: str) -> bytes:
    """The PDF of a sheet to write on.

    Raises:
        CannotSet: typst refused.
    """
    found: set[str] = set()
    each(sheet, lambda text: found.update(text) or text)  # type: ignore[func-returns-value]

    def work(spelled: dict[int, str]) -> bytes:
        clean = each(sheet, lambda text: printable(text).translate(spelled))
        inputs = {"data": msgspec.json.encode(clean).decode(), "paper": PAPERS[paper]}
        return _compile(_template("form.typ"), inputs, datetime.fromisoformat(sheet.made))

    return _spelling(work, sorted(found - _PLAIN))


def _spelling(work: Callable[[dict[int, str]], bytes], signs: list[str]) -> bytes:
    """Set with what no font shows spelled; where signs fail only together, with those that join."""
    unshown = _unshown(signs)
    try:
        return work(_code_points(unshown))
    except CannotSet:
        joining = {sign for sign in signs if unicodedata.category(sign) in _JOINING}
        if joining <= set(unshown):
            raise
        return work(_code_points([*unshown, *joining]))


def _code_points(signs: list[str]) -> dict[int, str]:
    return {ord(sign): f"⟨U+{ord(sign):04X}⟩" for sign in signs}


def _template(name: str) -> bytes:
    return (resources.files("weldcal.reports.dossier") / "templates" / name).read_bytes()


def _compile(source: bytes, inputs: dict[str, str], made: datetime | None = None) -> bytes:
    try:
        pdf = typst.compile(
            source, sys_inputs=inputs, format="pdf", pdf_standards=STANDARDS, timestamp=made
        )
    except typst.TypstError as error:
        raise CannotSet(why=printable(error.message)) from None
    assert isinstance(pdf, bytes)
    # A stream that happens to end in CR, before the LF typst puts after it, could be read as one
    # byte shorter than it says (ISO 32000-1 7.3.8.2: CR LF is one mark of a line's end; so is CR).
    return pdf.replace(b"\r\nendstream", b"\r\rendstream")


def _in_thread(work: Callable[[], bytes], on_progress: Callable[[], None]) -> bytes:
    """Run work in a thread of its own, so that Ctrl-C is heard while typst is busy."""
    found: list[bytes] = []
    failed: list[Exception] = []

    def run() -> None:
        try:
            found.append(work())
        except Exception as error:
            failed.append(error)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(_BEAT_S)
        on_progress()
    if failed:
        raise failed[0]
    return found[0]


def _signs(document: Document) -> list[str]:
    """Every sign beyond the plain ones that texts and drawings hold."""
    found: set[str] = set()
    for text in texts(document):
        found.update(text)
    for text in _drawings(document):
        found.update(text)
    return sorted(found - _PLAIN)


def _drawings(document: Document) -> list[str]:
    raw = msgspec.to_builtins(document)
    found: list[str] = []

    def look(part: object) -> None:
        if isinstance(part, dict):
            if "svg" in part:
                found.append(str(part["svg"]))
            for one in part.values():
                look(one)
        elif isinstance(part, list | tuple):
            for one in part:
                look(one)

    look(raw)
    return found


def _with_drawings(document: Document, spelled: dict[int, str]) -> Document:
    raw = msgspec.to_builtins(document)

    def change(part: object) -> None:
        if isinstance(part, dict):
            if "svg" in part:
                part["svg"] = str(part["svg"]).translate(spelled)
            for one in part.values():
                change(one)
        elif isinstance(part, list | tuple):
            for one in part:
                change(one)

    change(raw)
    return structs.replace(msgspec.convert(raw, Document))


_PROBE = (
    b'#set document(title: "-")\n#set text(font: "Libertinus Serif", lang: "en")\n#sys.inputs.signs'
)


def _unshown(signs: list[str]) -> list[str]:
    """Those of the signs that no font at hand can show, found by halving."""
    if not signs:
        return []
    try:
        _compile(_PROBE, {"signs": " ".join(signs)})
    except CannotSet:
        if len(signs) == 1:
            return signs
        half = len(signs) // 2
        return _unshown(signs[:half]) + _unshown(signs[half:])
    return []
