"""The catalogs of translations: gathered from the sources, kept as .po, compiled to .mo.

    python -m tests.language.catalog            # brings every catalog up to date, says what is untranslated

Invariant: what is gathered is what the program can say: messages in `_`, `plural` and
`mark`, the help of each command (its docstring, a paragraph a message), and the words
that records choose from.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from weldcal.records import fields

PACKAGE = Path(fields.__file__).parents[1]
LOCALE = PACKAGE / "locale"
_KEYWORDS = {"_": None, "mark": None, "plural": (1, 2)}


def gathered() -> Catalog:
    """Every message of the program, untranslated."""
    found = Catalog(project="weldcal", fuzzy=False)
    for name, _line, message, _comments, _context in extract_from_dir(
        PACKAGE, [("**.py", "python")], keywords=_KEYWORDS
    ):
        found.add(message, locations=[(f"weldcal/{name}", 0)])
    for place, text in (*_helps(), *_choices()):
        found.add(text, locations=[(place, 0)])
    return found


def _helps() -> Iterator[tuple[str, str]]:
    for path in sorted((PACKAGE / "cli").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and any(map(_is_command, node.decorator_list)):
                for paragraph in (ast.get_docstring(node) or "").split("\n\n"):
                    yield f"weldcal/cli/{path.name}", " ".join(paragraph.split())


def _is_command(decorator: ast.expr) -> bool:
    called = decorator.func if isinstance(decorator, ast.Call) else decorator
    return isinstance(called, ast.Attribute) and called.attr in ("command", "callback")


def _choices() -> Iterator[tuple[str, str]]:
    for _label, words in fields.CHOICES.values():
        for word in words:
            if word.isalpha() or " " in word or "-" in word[1:-1]:
                yield "weldcal/records/fields.py", word


def po_path(language: str) -> Path:
    """Where the catalog of that language is."""
    return LOCALE / language / "LC_MESSAGES" / "weldcal.po"


def read(language: str) -> Catalog:
    """The catalog as kept."""
    with po_path(language).open("rb") as file:
        return read_po(file, locale=language)


def compiled(catalog: Catalog) -> bytes:
    """The catalog as the program reads it."""
    out = BytesIO()
    write_mo(out, catalog)
    return out.getvalue()


def lacking(catalog: Catalog) -> list[Message]:
    """Messages without a translation."""
    return [m for m in catalog if m.id and not all(_parts(m.string))]


def _parts(text: object) -> tuple[object, ...]:
    return tuple(text) if isinstance(text, (tuple, list)) else (text,)


def keep(language: str, catalog: Catalog) -> None:
    """Write the catalog, the compiled one beside it."""
    path = po_path(language)
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        write_po(
            file, catalog, width=0, sort_output=True, include_lineno=False, ignore_obsolete=True
        )
    path.with_suffix(".mo").write_bytes(compiled(catalog))


def updated(language: str) -> Catalog:
    """The catalog of that language with today's messages: known translations kept, no guesses."""
    catalog = (
        read(language) if po_path(language).exists() else Catalog(locale=language, fuzzy=False)
    )
    catalog.update(gathered(), no_fuzzy_matching=True)
    return catalog


def main() -> int:
    """Bring every catalog up to date; 1 where something is untranslated."""
    bad = 0
    for folder in sorted(LOCALE.iterdir()):
        catalog = updated(folder.name)
        keep(folder.name, catalog)
        for message in lacking(catalog):
            bad += 1
            print(f"{folder.name}: {message.id}")
    print(f"{bad} untranslated")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
