"""A whole day in a made-up language, its people and things named in Cyrillic: what is left in Latin letters escaped the catalogs."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import typer

from tests.language import pseudo
from weldcal.cli.main import app

HERE = Path(__file__).parent
DAY = (HERE / "day.txt").read_text(encoding="utf-8")
# What people get wrong: a sentence each.
SLIPS = """
14:00 strip record --machine "синяя" --sheet "основа" --nozzle 9320 --speed 5 --bleed 1/4 --bubbling none
14:00 strip record --machine "синяя" --sheet "основа" --nozzle warm --speed 5 --bleed 1/4 --bubbling none
14:00 strip record --machine "синяя" --sheet "основа" --nozzle 932 --speed 5ft --bleed 1/4 --bubbling none
14:00 strip record --machine "синяя" --sheet "основа" --nozzle 932 --speed 5 --bleed 1/4 --bubbling –
14:00 strip record --machine "синяя" --sheet "основа" --nozzle 932 --speed 5 --bleed 6 --bubbling none
14:00 strip pull S99 good
14:00 probe А1 0-
14:00 amend S1 –– 5 --why –
14:00 settle S1 –
14:00 mend F99 --method –
14:00 limit set –– 1 --source –
14:00 history --by ––
14:00 conditions --humidity 140
14:00 office refit --workers zwei
14:00 merge HERE/none.weldpack
14:00 strip load --yes HERE/none.csv
14:00 probe load --yes HERE/none.csv
14:00 dial --machine "синяя" --sheet "основа" --at 25:00
14:00 leak ––
14:00 nothing
14:00 strip nothing
14:00 strip record --nothing 3
14:00 strip pull
14:00 strip record --machine "синяя" --sheet "основа" --nozzle
14:00 bleed А1 3 1/4 1/4 1/4
"""
# Typed as it stands, kept as typed, or a name of the outside world.
_KEPT = re.compile(
    r"""--?[a-z][a-z-]*            # options
      | ^\s{2}[a-z-]+(?=\s{2})     # a command in a list of them
      | \bweldcal(?:\ [a-z-]+){0,2}
      | \b(?:us|si)\b              # units of a job, as typed
      | WELDCAL_[A-Z]+
      | /?[\w./-]*(?:pytest|HERE)[\w./-]*  # files of this run
      | [\w-]+\.(?:csv|html|pdf|sqlite|weldpack|pem)\b
      | \b[a-z]+_[a-z_]+\b         # names of limits and columns, as typed
      | \b[0-9a-f]{12,}\b          # hashes
      | \b[0-9A-Z]{4}(?:-[0-9A-Z]{4})+   # a seal's code
      | \b\d+\ AWG\b               # a gauge
      | [А-я]\d+\.\d\w?            # a lap's chalked name
      | \b0\.\d+\.\d+\b            # the program's version
      | America/Denver | Asia/Tokyo | UFGS | \d+mm
      | \((?:m/min,.*|m,\ mm.*)\)  # units that may be typed
      | ^-?\ ?2026-.*\ \S+:\ 0\ \S+.*1\ \S+   # a correction: field and values as typed
      | ['"][^'"]*['"]             # quoted back as typed
    """,
    re.VERBOSE,
)
# Lines to copy, until the paragraph ends.
_TO_TYPE = re.compile(r"(?:Éẋáɱþĺé|ĺíķé|Ţýþé):?\s+(?:weldcal\b|\d).*?(?=\n\n|$)", re.DOTALL)
# Names of columns and fields; the demo's invented people; a shell's script.
_AS_TYPED = (
    "tables",
    "amend S1 ––",
    "history --by ––",
    "history --help",
    "office history --help",
    "demo",
    "completion",
)
_LATIN = re.compile(r"[A-Za-z]{2,}|(?<![\w.])\d+\.\d")


def _commands() -> Iterator[str]:
    def walk(command: Any, path: str) -> Iterator[str]:
        yield f"{path} --help".strip()
        for name in getattr(command, "list_commands", lambda _ctx: [])(None):
            yield from walk(command.get_command(None, name), f"{path} {name}".strip())

    yield from walk(typer.main.get_command(app), "")


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """What each line of the day says in the made-up language; a page it wrote counts as said."""
    folder = tmp_path_factory.mktemp("said")
    helps = "\n".join(f"15:00 {line}" for line in _commands())
    lines = f"{DAY}{SLIPS}{helps}".replace("HERE", str(folder))
    catalogs = pseudo.write(folder / "locale")
    env = {**os.environ, "WELDCAL_LANG": pseudo.LANGUAGE, "COLUMNS": "100", "TZ": "Asia/Tokyo"}
    run = subprocess.run(
        [sys.executable, "-m", "tests.language.speak", str(folder / "book.sqlite"), str(catalogs)],
        input=lines,
        capture_output=True,
        text=True,
        env=env,
        cwd=HERE.parents[1],
        check=True,
    )
    found = [json.loads(row) for row in run.stdout.splitlines()]
    pages = (
        (page.name, _texts(page.read_text("utf-8"))) for page in sorted(folder.glob("[!c]*.html"))
    )
    return found + [{"line": name, "code": 0, "out": text, "err": ""} for name, text in pages]


def _texts(page: str) -> str:
    body = re.sub(r"<(style|script).*?</\1>", "", page[page.index("<body") :], flags=re.DOTALL)
    body = re.sub(
        r"<tr><th scope=.row.>\S+</th><td>[^<]+</td><td>0 ft</td>.*?</tr>", "", body
    )  # as typed
    parts = re.findall(r">([^<]+)<", body) + re.findall(r'(?:alt|aria-label|title)="([^"]*)"', body)
    return unescape("\n".join(parts))


def test_no_word_and_no_number_escapes_the_catalogs(said: list[dict[str, Any]]) -> None:
    """Every command's answer, refusal, help and page; what was typed stays as typed."""
    escaped = []
    for one in said:
        if one["line"].startswith(_AS_TYPED):
            continue
        typed = set(re.findall(r"[A-Za-z]+|\d+\.\d+", one["line"]))
        text = _TO_TYPE.sub("", f"{one['out']}\n\n{one['err']}")
        for row in text.splitlines():
            left = [w for w in _LATIN.findall(_KEPT.sub(" ", row)) if w not in typed]
            if left:
                escaped.append((one["line"][:40], row.strip()[:120], left))
    assert escaped == [], "\n".join(map(str, escaped))


def test_the_day_runs_the_same_in_any_language(said: list[dict[str, Any]]) -> None:
    """Each line of the day does its work; each slip is refused."""
    slips = {line.split(" ", 1)[1] for line in SLIPS.split("\n") if line and "HERE" not in line}
    for one in said:
        if one["line"].startswith("go-ahead"):  # 1: the answer is no
            assert one["code"] in (0, 1)
            continue
        assert one["code"] == (
            2 if one["line"] in slips else one["code"] if "none." in one["line"] else 0
        ), one


def test_every_command_is_in_the_day(said: list[dict[str, Any]]) -> None:
    """A command that is never run could say anything."""
    lines = [one["line"] for one in said if not one["line"].endswith("--help")]
    runnable = [line.removesuffix(" --help") for line in _commands() if line != "--help"]
    groups = {line.rsplit(" ", 1)[0] for line in runnable if " " in line}
    missed = [c for c in runnable if c not in groups and not any(x.startswith(c) for x in lines)]
    assert missed == []
