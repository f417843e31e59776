"""Malformed input: a refusal in a sentence, never a traceback, never half a record."""

from __future__ import annotations

import random
import shlex
from typing import Any

from tests.keeping import forge, malformed


def test_no_parser_answers_with_anything_but_a_value_or_its_refusal(go_ahead: Any) -> None:
    """300 tries of each (`tests/faults/parsers.py`: 100,000 in all); each takes some, so that they can fail."""
    go_ahead.ok('probe A1 0-33 --void "14.5+3in x 1/2in" --by BO')
    go_ahead.ok("mend F1 --method patch --patch 12in")
    go_ahead.ok("amend S1 speed 5 --why slip")
    taken, wrong = malformed.faults(forge.entries_of(go_ahead.book), 300, seed=1)
    assert wrong == []
    assert len(taken) >= 9


LINES = [
    "strip record --nozzle {} --speed {} --bleed {} --bubbling {}",
    "strip pull {} {}",
    "conditions --ambient {} --wind {}",
    "seam add {} --length {}",
    "seam start {} --nozzle {} --speed {}",
    "seam finish {} --to {}",
    "bleed {} {} {}",
    "probe {} {} --void {}",
    "finding {} {} {}",
    "mend {} --method {} --patch {}",
    "peel {} {} --parted {} --load {}",
    "amend {} {} {} --why {}",
    "settle {} {}",
    "hand {} --to {}",
    "limit set {} {} --source {}",
    "verify --seal {}",
    "merge {}",
    "pack {}",
    "restore {}",
    "conditions --ambient 60F --at {}",
    "job new {} --units {} --zone {}",
    "trace {}",
]


def test_no_command_line_ends_in_a_traceback(
    go_ahead: Any, tmp_path: Any, monkeypatch: Any
) -> None:
    """Every command with malformed words: exit code 0, 1 or 2, and what was refused recorded nothing."""
    monkeypatch.chdir(tmp_path)
    chance = random.Random(7)
    for _ in range(12):
        for line in LINES:
            words = [
                _typed(chance, path=line.startswith(("pack", "merge", "restore")))
                if word == "{}"
                else word
                for word in shlex.split(line)
            ]
            before = len(go_ahead.entries())
            done = go_ahead(*words)
            assert done.code in (0, 1, 2), (words, done)
            assert "inside" not in done.err, (words, done.err)
            if done.code:
                assert len(go_ahead.entries()) == before, words
    assert go_ahead("verify").code == 0


def _typed(chance: random.Random, *, path: bool) -> str:
    """A word as a terminal can pass it on: no NUL, bytes that are no UTF-8 as Python shows them; no path that leads away."""
    word = malformed.text(chance).replace("\0", "").replace("\ud800", "\udcff")
    return word.replace("/", "-") if path else word
