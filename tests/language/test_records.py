"""A day typed by a Spanish reader and by an English one: the record is the same, word for word."""

from __future__ import annotations

import contextlib
import json
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}|\b[0-9a-f]{12}\b")
_ASKED = """
13:50 roof --json
13:50 trace А1 --json
13:50 strip list --json
13:50 dial --json --machine "синяя" --sheet "основа"
13:50 go-ahead --json
13:50 faults --json
13:50 evening --json
13:50 history --json
13:50 limit list --json
13:50 doubt --json
"""


def _spoken(folder: Path, language: str, lines: str) -> list[dict[str, Any]]:
    folder.mkdir()
    env = {**os.environ, "WELDCAL_LANG": language}
    run = subprocess.run(
        [sys.executable, "-m", "tests.language.speak", str(folder / "book.sqlite")],
        input=lines.replace("HERE", str(folder)),
        capture_output=True,
        text=True,
        env=env,
        cwd=HERE.parents[1],
        check=True,
    )
    return [json.loads(row) for row in run.stdout.splitlines()]


def _record(folder: Path) -> list[Any]:
    """What the entries say, ids by the order they came in; hashes and the device are the book's own."""
    with contextlib.closing(sqlite3.connect(folder / "book.sqlite")) as connection:
        bodies = [
            json.loads(body)
            for (body,) in connection.execute("SELECT body FROM entries ORDER BY tick, seq")
        ]
    said = [[b["kind"], b["who"], b["at"], b["payload"]] for b in bodies if b["kind"] != "seal"]
    return json.loads(_in_order(json.dumps(said)))


def _in_order(text: str) -> str:
    seen: dict[str, str] = {}
    return _ID.sub(lambda found: seen.setdefault(found[0], f"id {len(seen)}"), text)


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[list[Any], list[Any]]]:
    """The day's record and what was answered as JSON, in English and in Spanish with a decimal comma."""
    day = (HERE / "day.txt").read_text("utf-8")
    lines = "\n".join(x for x in day.splitlines() if " restore " not in x and " demo " not in x)
    found = {}
    for language in ("en_US", "es_ES"):
        folder = tmp_path_factory.mktemp("said") / language
        answers = _spoken(folder, language, f"{lines}{_ASKED}")
        assert [one for one in answers if one["code"] and "go-ahead" not in one["line"]] == []
        asked = [json.loads(_in_order(one["out"])) for one in answers if "--json" in one["line"]]
        found[language] = (_record(folder), asked)
    return found


def test_what_is_recorded_does_not_change_with_the_language(both: dict[str, Any]) -> None:
    """Values and words are kept as the record has them."""
    assert both["en_US"][0] == both["es_ES"][0]
    assert len(both["en_US"][0]) > 50


def test_json_does_not_change_with_the_language(both: dict[str, Any]) -> None:
    """Keys, values and codes are for programs."""
    for english, spanish in zip(both["en_US"][1], both["es_ES"][1], strict=True):
        assert english == spanish
