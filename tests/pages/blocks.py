"""Commands written on a page and what they say: run in order, compared, or written anew.

Invariant: a block marked `sh` is run as it stands, every line of it must do its
work, and a block marked `text` after it is exactly what those lines printed. A
comment `<!-- 07:05 -->` sets the clock; readers do not see it.
"""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from rich.text import Text

from .program import Program

DOCS = Path(__file__).parents[2] / "docs"
PAGES = [DOCS / "tutorial.md"]
_PART = re.compile(r"<!-- (?P<time>\d\d:\d\d) -->|```(?P<kind>sh|text)\n(?P<body>.*?)```", re.S)


def written_anew(page: str, program: Program) -> str:
    """The page with every `text` block as the program says it now.

    Raises:
        AssertionError: a line did not do its work.
    """
    said = ""

    def part(found: re.Match[str]) -> str:
        nonlocal said
        if found["time"]:
            program.set(found["time"])
            return found[0]
        if found["kind"] == "sh":
            said = "".join(_run(line, program) for line in lines(found["body"]))
            return found[0]
        return f"```text\n{said}```"

    return _PART.sub(part, page)


def lines(body: str) -> list[str]:
    """The command lines of a block; continued lines joined."""
    return [line for line in body.replace("\\\n", " ").splitlines() if line.strip()]


def _run(line: str, program: Program) -> str:
    words = shlex.split(line, comments=True)
    if words[0] == "export":  # the reader's book; here each run has its own
        assert re.fullmatch(r"WELDCAL_BOOK=\w+\.sqlite", words[1]), line
        return ""
    plain = Text.from_ansi(program.run(line)).plain
    return "".join(f"{row.rstrip()}\n" for row in plain.splitlines())
