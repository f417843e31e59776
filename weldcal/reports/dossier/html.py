"""A document as one HTML file, by Jinja2: no network, no script, prints on Letter and A4.

Invariant: every text is escaped by the template; only our own drawings and our
own style sheet go in as they are. The page's policy forbids loading anything.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup, escape

from weldcal.reports.dossier.document import Block, Document, Figure, Section, cleaned
from weldcal.words import _

_TEMPLATES = resources.files("weldcal.reports.dossier") / "templates"


# What the template takes, by the names it uses.
Shown = dict[str, object]


def render(document: Document) -> Iterator[str]:
    """The file, piece by piece."""
    clean = cleaned(document)
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=False)
    template = environment.from_string((_TEMPLATES / "page.html.j2").read_text(encoding="utf-8"))
    css = Markup((_TEMPLATES / "page.css").read_text(encoding="utf-8"))
    pieces: Iterator[str] = template.generate(
        d=_shown(clean),
        css=css,
        skip=_("To the content"),
        contents=_("Contents"),
        more=_("goes on to the right: slide it"),
    )
    return pieces


def _shown(document: Document) -> Shown:
    """The document as the template wants it: blocks with their kind, drawings as mark-up."""
    return {
        "at": {section.title: n for n, section in enumerate(document.sections, 1)},
        "title": document.title,
        "subtitle": document.subtitle,
        "language": document.language,
        "compact": document.compact,
        "lead": [_block(b) for b in document.lead],
        "sections": [_section(s) for s in document.sections],
    }


def _section(section: Section) -> Shown:
    return {
        "title": section.title,
        "anchor": section.anchor,
        "new_page": section.new_page,
        "blocks": [_block(b) for b in section.blocks],
        "sections": [_section(s) for s in section.sections],
    }


def _block(block: Block) -> Shown:
    kind = type(block).__struct_config__.tag
    if isinstance(block, Figure):
        return {"kind": kind, "part": block, "svg": _drawing(block)}
    return {"kind": kind, "part": block}


def _drawing(figure: Figure) -> Markup:
    """The drawing with its words, for those who cannot see it."""
    # A picture has no parts for a screen reader; a drawing with links has.
    role = "group" if "<a href=" in figure.svg else "img"
    words = f'<svg role="{role}" aria-label="{escape(figure.alt)}" '
    return Markup(figure.svg.replace("<svg ", words, 1))
