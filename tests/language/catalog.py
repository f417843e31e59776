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
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import typer
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from weldcal.calibration import priors
from weldcal.cli.main import app
from weldcal.records import codec, fields

PACKAGE = Path(fields.__file__).parents[1]
LOCALE = PACKAGE / "locale"
_NO_DATE = datetime(2026, 1, 1, tzinfo=UTC)


def gathered() -> Catalog:
    """Every message of the program, untranslated."""
    found = Catalog(project="weldcal", fuzzy=False)
    for path in sorted(PACKAGE.rglob("*.py")):
        tree, place = ast.parse(path.read_text(encoding="utf-8")), str(path.relative_to(PACKAGE))
        for message in (*_called(tree), *(_helps(tree) if place.startswith("cli/") else ())):
            found.add(message, locations=[(place, 0)])
    for place, message in (*_choices(), *_priors(), *_places()):
        found.add(message, locations=[(place, 0)])
    return found


def _called(tree: ast.Module) -> Iterator[str | tuple[str, str]]:
    """What `_`, `mark` and `plural` are called with. Babel's own reader misses those inside f-strings."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            given = [a.value for a in node.args if isinstance(a, ast.Constant)]
            if node.func.id in ("_", "mark") and len(given) == 1:
                yield str(given[0])
            elif node.func.id == "plural" and len(given) == 2:
                yield str(given[0]), str(given[1])


def _helps(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and any(map(_is_command, node.decorator_list)):
            for paragraph in filter(None, (ast.get_docstring(node) or "").split("\n\n")):
                yield " ".join(paragraph.split())


def _is_command(decorator: ast.expr) -> bool:
    called = decorator.func if isinstance(decorator, ast.Call) else decorator
    if isinstance(called, ast.Name):
        return called.id == "single"
    return isinstance(called, ast.Attribute) and called.attr in ("command", "callback")


def _choices() -> Iterator[tuple[str, str]]:
    for _label, words in fields.CHOICES.values():
        for word in words:
            if len(word) > 2:
                yield "records/fields.py", word
    yield from (("records/codec.py", kind) for kind in codec.KINDS)


def _priors() -> Iterator[tuple[str, str]]:
    for prior in vars(priors).values():
        if isinstance(prior, priors.Prior):
            yield from (("calibration/priors.py", text) for text in (prior.unit, prior.reason))


def _places() -> Iterator[tuple[str, str]]:
    """Words that stand for what is to be typed: NAME, FILE."""
    waiting = [typer.main.get_command(app)]
    while waiting:
        command: Any = waiting.pop()
        waiting += [command.get_command(None, n) for n in _names(command)]
        for param in command.params:
            if param.param_type_name == "argument":
                yield "cli/help.py", param.name.upper()


def _names(command: Any) -> list[str]:
    return command.list_commands(None) if hasattr(command, "list_commands") else []


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
    path = po_path(language)
    catalog = read(language) if path.exists() else Catalog(locale=language, fuzzy=False)
    catalog.update(gathered(), no_fuzzy_matching=True)
    catalog.header_comment = f"# What weldcal says, in {language}: see tests/language/catalog.py."
    catalog.project, catalog.version = "weldcal", ""
    catalog.creation_date = catalog.revision_date = _NO_DATE  # git knows when
    catalog.last_translator = catalog.language_team = catalog.msgid_bugs_address = ""
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
