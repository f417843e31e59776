"""The page of every sentence of the operator's day, English and Spanish side by side.

Invariant: each sentence is read from the program's sources, its Spanish from the catalog as
compiled; nothing on the page is written by hand but its headings. A question stands there if
the operator's steps ask it, so that a new one comes of itself.
"""

from __future__ import annotations

import ast
import gettext
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import weldcal as package
from weldcal import words
from weldcal.records.fields import CHOICES

from .blocks import DOCS

PAGE = DOCS / "sentences.md"
PACKAGE = Path(package.__file__).parent
_BOTH = " / "  # between what is said of one and of many
_ASKING = "reports/asking.py"


@dataclass(frozen=True)
class Part:
    """Sentences under one heading: of a source file, all or those under some of its names."""

    english: str
    spanish: str
    source: str
    names: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()  # words of these choices too


PARTS = (
    Part("Beginning the day, and what ? answers", "Empezar el día, y lo que responde ?",
         "flow/opening.py"),
    Part("Weather and power", "Clima y corriente", "flow/weather.py"),
    Part("Strips", "Tiras", "flow/strips.py"),
    Part("Laps", "Traslapes", "flow/operator.py"),
    Part("Hot work, rolls, samples, covers", "Trabajo en caliente, rollos, muestras, cubiertas",
         "flow/site.py"),
    Part("What was done earlier", "Lo que se hizo antes", "flow/earlier.py"),
    Part("From step to step", "De paso en paso", "flow/going.py"),
    Part("Around a question", "Alrededor de una pregunta", _ASKING,
         ("prompt", "explained", "keys", "read_lately", "_SHORT")),
    Part("Words that answer", "Palabras que responden", "flow/operator.py", ("due",),
         choices=("yes_no", "bubbling", "bond", "parted", "lap")),
    Part("What an answer may be", "Lo que puede ser una respuesta", "flow/question.py"),
    Part("Coming and going", "Llegar e irse", "cli/guide.py"),
    Part("At a question", "En una pregunta", "cli/questions.py"),
    Part("How the day stands", "Cómo va el día", _ASKING,
         ("heading", "_operator", "nothing_left")),
    Part("The go-ahead in a line", "El visto bueno en una línea", "reports/standing_line.py"),
    Part("The go-ahead, asked for", "El visto bueno, cuando se pregunta", "reports/reasoning.py",
         ("_LEVELS", "no_go_ahead", "go_ahead", "_broken", "to_do", "_start", "waits")),
    Part("The speed, in three lines", "La velocidad, en tres líneas", "reports/answer.py"),
    Part("Why it is not sure", "Por qué no es seguro", "reports/advice.py", ("doubt", "on_dial")),
    Part("When something is broken", "Cuando algo está averiado", "reports/signs.py",
         ("stopped", "verdict", "line", "lines")),
    Part("Where to look", "Dónde mirar", "rules/causes.py"),
    Part("Later today", "Más tarde hoy", "reports/day_ahead.py"),
    Part("The board", "El tablero", "reports/board.py"),
    Part("The board's keys", "Las teclas del tablero", "cli/board.py",
         ("TOLD", "shown", "explained")),
    Part("Why a strip, or a go-ahead, does not count", "Por qué una tira o un visto bueno no vale",
         "reports/shortfalls.py", ("_SHORTFALLS", "_machine_out", "look")),
    Part("Told with what was recorded", "Se dice con lo registrado", "reports/sentences.py",
         ("_NOTES", "_pace", "_unlisted", "_off_dial")),
    Part("Asked back", "Se vuelve a preguntar", "reports/sentences.py", ("asked_back",)),
    Part("Warnings that stay", "Avisos que quedan", "reports/shortfalls.py", ("_WARNINGS",)),
    Part("Before hot air", "Antes del aire caliente", "reports/cautions.py"),
    Part("Not understood", "No se entiende", "errors.py",
         ("NotANumber", "WrongUnit", "OutOfRange", "BareReading", "BareFraction", "NotAChoice", "NotAnswered",
          "NotATime", "NotWhole", "NotAStretch", "EndUnknown", "WordUnknown", "TextNotPlain",
          "NoPerson", "NoJob", "Unheard", "NoneYet")),
)  # fmt: skip

_HEAD = """# Every sentence of the operator's day

# Todas las frases del día del operador

What the program asks and says to who welds, in English and in Spanish. A word of your crew is better? Say which sentence, and how you would say it. What stands in braces is filled in. Made from the program: python -m tests.pages

Lo que el programa pregunta y dice a quien suelda, en inglés y en español. ¿Su cuadrilla lo dice mejor? Diga qué frase, y cómo la diría. Lo que está entre llaves lo pone el programa.
"""


def page() -> str:
    """The page in Markdown. A sentence stands on it once, where it comes first."""
    known: set[str] = set()
    out = [_HEAD]
    for part in PARTS:
        found = filter(_has_words, dict.fromkeys(messages(part)))
        rows = [one for one in found if one not in known]
        known |= set(rows)
        out.append(f"## {part.english} / {part.spanish}\n\n| English | Español |\n|---|---|\n")
        out[-1] += "".join(f"| {_cell(one)} | {_cell(spanish(one))} |\n" for one in rows)
    return "\n".join(out)


def _has_words(message: str) -> bool:
    """Whether there is more to it than what is filled in."""
    return any(map(str.isalpha, re.sub(r"\{[^}]*\}", "", message)))


def _cell(text: str) -> str:
    text = re.sub(r"\{(\w+)[!:][^}]*\}", r"{\1}", text)  # how a value is written is nobody's word
    for sign in "\\|<*":
        text = text.replace(sign, f"\\{sign}")
    return " ".join(text.split())


class _Missing(gettext.NullTranslations):
    """No Spanish yet: an empty cell, which is seen."""

    def gettext(self, message: str) -> str:
        return ""

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return ""


@cache
def _catalog() -> gettext.NullTranslations:
    with (words.LOCALE_DIR / "es" / "LC_MESSAGES" / "weldcal.mo").open("rb") as file:
        found = gettext.GNUTranslations(file)
    found.add_fallback(_Missing())
    return found


def spanish(message: str) -> str:
    """A message as the Spanish screen has it; a plural's one and many."""
    one, several, many = message.partition(_BOTH)
    if not several:
        return _catalog().gettext(message)
    return _BOTH.join(filter(None, (_catalog().ngettext(one, many, n) for n in (1, 2))))


def messages(part: Part) -> Iterator[str]:
    """The messages of a part, in the order in which they stand in the source."""
    for name in part.choices:
        yield from CHOICES[name][1]
    tree = _tree(part.source)
    own = {name: node for node in tree.body for name in _names(node)}
    for node in [own[name] for name in part.names] if part.names else tree.body:
        yield from _said(node)


@cache
def _tree(source: str) -> ast.Module:
    return ast.parse((PACKAGE / source).read_text(encoding="utf-8"))


def _names(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return [node.name]
    if isinstance(node, ast.AnnAssign):
        return [node.target.id] if isinstance(node.target, ast.Name) else []
    targets = node.targets if isinstance(node, ast.Assign) else []
    return [target.id for target in targets if isinstance(target, ast.Name)]


def _said(node: ast.AST) -> Iterator[str]:
    """What `_`, `mark` and `plural` are called with in a node, top to bottom."""
    name = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
    if isinstance(node, ast.Call) and name in ("_", "mark", "plural"):
        texts = node.args[: 2 if name == "plural" else 1]
        if said := [str(one.value) for one in texts if isinstance(one, ast.Constant)]:
            yield _BOTH.join(said)
    for inner in ast.iter_child_nodes(node):
        yield from _said(inner)
