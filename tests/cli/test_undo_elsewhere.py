"""Taken back on one device and merged into another: the same on both, and nothing lost."""

from __future__ import annotations

import contextlib
import io
import shlex
from pathlib import Path
from typing import Any

from tests.cli.undone import count, every_page
from tests.keeping import forge
from weldcal.cli.main import main


def other(weldcal: Any, name: str, *lines: str) -> Path:
    """Another device that merged all there is, and then typed these lines."""
    pack, book = weldcal.book.with_name(f"{name}.pack"), weldcal.book.with_name(f"{name}.sqlite")
    weldcal.ok("pack", str(pack))
    with contextlib.redirect_stdout(io.StringIO()):
        main(
            ["--book", str(book), "job", "new", "other", "--units", "us", "--by", "Zed"],
            clock=weldcal.clock,
        )
        for line in (f"merge {pack}", *lines):
            assert (
                main(
                    ["--book", str(book), "--job", "School roof", *shlex.split(line)],
                    clock=weldcal.clock,
                )
                == 0
            ), line
    return book


def test_taken_back_here_it_is_taken_back_there(mended_day: Any) -> None:
    """Merged in either order, twice: the same rows, and verify holds."""
    book = other(
        mended_day,
        "b",
        "undo S1 --yes --by BO",
        "undo F1 --yes --by BO",
        f"pack {mended_day.book.with_name('back.pack')}",
    )
    for _again in range(2):
        mended_day.ok("merge", str(mended_day.book.with_name("back.pack")))
    assert count(mended_day, "strips") == 0
    assert count(mended_day, "findings") == 0
    every_page(mended_day)
    here = [dict(r) for r in mended_day.query("SELECT * FROM withdrawn ORDER BY id")]
    mended_day.book = book
    assert [dict(r) for r in mended_day.query("SELECT * FROM withdrawn ORDER BY id")] == here


def test_a_pull_typed_elsewhere_on_what_was_taken_back_here_is_kept_and_shown(
    mended_day: Any,
) -> None:
    """Nothing recorded is lost to a taking back that its author did not know of."""
    mended_day.clock.set("10:05")
    mended_day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    back = mended_day.book.with_name("back.pack")
    other(
        mended_day,
        "b",
        "conditions --ambient 60F --by BO",
        "strip pull S2 good --by BO",
        f"pack {back}",
    )
    mended_day.ok("undo S2 --yes")
    mended_day.ok("merge", str(back))
    (row,) = mended_day.query("SELECT added_to FROM withdrawn")
    assert row["added_to"] == 1
    mended_day.ok("undo S2 --back --yes")
    assert mended_day.query("SELECT bond FROM strips WHERE name = 'S2'")[0][0] == "good"
    every_page(mended_day)


def test_put_back_there_while_it_is_taken_back_here_is_a_conflict(mended_day: Any) -> None:
    """Each had reason to; both are shown, and which holds is the same on both devices."""
    back = mended_day.book.with_name("back.pack")
    book = other(
        mended_day, "b", "undo M1 --yes --by BO", "undo M1 --back --yes --by BO", f"pack {back}"
    )
    mended_day.ok("undo M1 --yes")
    mended_day.ok("merge", str(back))
    sql = "SELECT entered_by, new, conflict FROM amendments ORDER BY tick, entered_by"
    here = [tuple(row) for row in mended_day.query(sql)]
    assert sorted(here) == [
        ("Ana Ruiz", "true", 1),
        ("Ben Okoro", "false", 1),
        ("Ben Okoro", "true", 0),
    ]
    every_page(mended_day)
    mended_day.ok("pack", str(mended_day.book.with_name("forth.pack")))
    mended_day.book = book
    mended_day.ok("merge", str(book.with_name("forth.pack")))
    assert [tuple(row) for row in mended_day.query(sql)] == here


def test_of_two_of_one_name_the_one_meant_is_put_back(mended_day: Any) -> None:
    """Two devices gave S2 and both were taken back: it asks which."""
    back = mended_day.book.with_name("back.pack")
    strip = "strip record --nozzle 932 --speed 6 --bleed 1/4 --bubbling none"
    other(mended_day, "b", f"{strip} --by BO", "undo S2 --yes --by BO", f"pack {back}")
    mended_day.ok(strip)
    mended_day.ok("undo S2 --yes")
    mended_day.ok("merge", str(back))
    refused = mended_day.refused("undo S2 --back --yes")
    theirs = next(
        e["device"]
        for e in mended_day.entries()
        if e["kind"] == "strip" and e["who"] == "Ben Okoro"
    )
    assert f"S2.{theirs[:4]}" in refused
    mended_day.ok(f"undo S2.{theirs[:4]} --back --yes")
    assert [tuple(r) for r in mended_day.query("SELECT seen_by FROM strips WHERE name = 'S2'")] == [
        ("Ben Okoro",)
    ]


def test_a_pack_cannot_take_a_seal_back(mended_day: Any) -> None:
    """Whatever program made it: the seal counts, here and when the tables are derived anew."""
    mended_day.ok("seal")
    seal = next(e for e in mended_day.entries() if e["kind"] == "seal")
    amend = {
        "v": 1,
        "of": seal["id"],
        "path": "withdrawn",
        "new": True,
        "why": "never",
        "replaces": seal["id"],
        "seen": {"at": "2026-06-01T10:00:00-06:00", "by": "Zed"},
    }
    says = forge.envelope(
        kind="amend", job=seal["job"], about=seal["about"], tick=999, payload=amend
    )
    pack = forge.pack(mended_day.book.with_name("forged.pack"), [forge.sealed(says)])
    mended_day.ok("merge", str(pack))
    assert (count(mended_day, "seals"), count(mended_day, "withdrawn")) == (1, 0)
    every_page(mended_day)
