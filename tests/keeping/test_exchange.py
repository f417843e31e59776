"""The exchange file by other hands: a verifier of the standard library alone, and JSON Schema."""

from __future__ import annotations

import gzip
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import rfc8785

from tests.keeping import forge
from weldcal.cli.main import main

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "shared" / "exchange.schema.json").read_text())


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A pack of the demo's book with a photo, sealed and handed; the seal's code."""
    folder = tmp_path_factory.mktemp("demo")
    book, photo, code = folder / "b.sqlite", folder / "lap.png", folder / "code"
    photo.write_bytes(forge.PHOTO)
    script = [
        ["demo", str(book)],
        ["seal", "--by", "Cleo Marsh"],
        ["hand", "L1", "--to", "owner's representative", "--by", "CM"],
        ["finding", "N5", "wrinkle", "3-4", "--photo", str(photo), "--by", "Ben Okoro"],
        ["limit", "set", "bleed_low", "1/8in", "--source", "job sheet 4", "--by", "CM"],
        ["pack", str(folder / "demo.weldpack")],
    ]
    for words in script:
        assert main(["--book", str(book), *words]) == 0
    code = next(
        json.loads(b)["payload"]["code"] for b, _ in forge.entries_of(book) if '"kind":"seal"' in b
    )
    return folder / "demo.weldpack", code


def verifier(*words: str) -> subprocess.CompletedProcess[str]:
    """The other hand's program, in an interpreter without site packages: nothing of weldcal is there."""
    script = Path(__file__).with_name("verifier.py")
    return subprocess.run(
        [sys.executable, "-I", "-S", str(script), *words],
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_pack_and_its_seal_can_be_confirmed_without_this_program(demo: tuple[Path, str]) -> None:
    """By the recipe of shared/exchange.md, with json, gzip and hashlib."""
    pack, code = demo
    done = verifier(str(pack), code)
    assert done.stderr == ""
    assert "every hash and link holds" in done.stdout
    assert f"{code} holds" in done.stdout


def test_the_other_hand_finds_a_rewritten_record_too(
    demo: tuple[Path, str], tmp_path: Path
) -> None:
    """An entry changed and every later hash recomputed: the chain holds there, the seal does not."""
    pack, code = demo
    book = tmp_path / "b.sqlite"
    assert main(["--book", str(book), "merge", str(pack)]) == 0
    forge.rewrite(book, lambda s: {**s, "who": "Zed"} if s["kind"] == "pull" else s)
    changed = forge.pack(tmp_path / "changed.weldpack", forge.entries_of(book))
    done = verifier(str(changed), code)
    assert "every hash and link holds" in done.stdout
    assert f"{code} DOES NOT HOLD" in done.stdout


def test_bodies_are_canonical_by_the_library_for_it(demo: tuple[Path, str]) -> None:
    """RFC 8785 by `rfc8785`."""
    for line in map(json.loads, forge.lines_of(demo[0])):
        if line["line"] == "entry":
            assert rfc8785.dumps(json.loads(line["body"])).decode() == line["body"]


def test_the_schema_in_the_project_is_the_one_the_program_prints(weldcal: Any) -> None:
    """`weldcal tables --exchange`, generated from the types that read a pack."""
    assert json.loads(weldcal.ok("tables --exchange").out) == SCHEMA


def test_the_schema_is_one() -> None:
    """JSON Schema 2020-12, by jsonschema's metaschema."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def validator(ref: str | None) -> jsonschema.Draft202012Validator:
    """Of a line, or of one definition."""
    return jsonschema.Draft202012Validator(
        SCHEMA if ref is None else {"$ref": ref, "$defs": SCHEMA["$defs"]}
    )


def test_every_line_of_a_pack_fits_the_schema(demo: tuple[Path, str]) -> None:
    """Header, entries, photos and end; each exactly one of the four forms."""
    lines = [json.loads(line) for line in gzip.decompress(demo[0].read_bytes()).splitlines()]
    assert {line["line"] for line in lines} == {"header", "entry", "photo", "end"}
    for line in lines:
        validator(None).validate(line)


def test_every_envelope_and_payload_fits_the_schema(demo: tuple[Path, str]) -> None:
    """The body as an Envelope, the payload by its kind."""
    kinds = set()
    for line in map(json.loads, forge.lines_of(demo[0])):
        if line["line"] == "entry":
            says = json.loads(line["body"])
            validator("#/$defs/Envelope").validate(says)
            validator(SCHEMA["x-payloads"][says["kind"]]["$ref"]).validate(says["payload"])
            kinds.add(says["kind"])
    assert kinds >= {
        "job",
        "strip",
        "pull",
        "run",
        "finding",
        "mend",
        "peel",
        "amend",
        "settle",
        "seal",
        "handed",
        "limit",
    }


@pytest.mark.parametrize(
    "line",
    [
        {"line": "entry", "hash": 5, "body": "{}"},
        {"line": "entry", "hash": "0" * 64},
        {"line": "path", "name": "x"},
        {"line": "photo", "sha256": "0" * 64, "data": "", "path": "/etc/passwd"},
        {"hash": "", "body": ""},
        [],
    ],
    ids=str,
)
def test_what_is_no_line_does_not_fit(line: Any) -> None:
    """The schema says no as well, so that the test above can fail."""
    assert not validator(None).is_valid(line)


def test_the_schema_refuses_payloads_of_another_kind(demo: tuple[Path, str]) -> None:
    """A strip's payload is no seam's."""
    strip = next(
        json.loads(line["body"])["payload"]
        for line in map(json.loads, forge.lines_of(demo[0]))
        if line["line"] == "entry" and '"kind":"strip"' in line["body"]
    )
    assert not validator(SCHEMA["x-payloads"]["seam"]["$ref"]).is_valid(strip)


def test_the_recipe_names_what_the_verifier_uses() -> None:
    """shared/exchange.md is what a stranger reads: the constants are in it."""
    text = (ROOT / "shared" / "exchange.md").read_text()
    for part in (
        "weldcal_seal",
        "weldcal code ",
        "RFC 8785",
        "SHA-256",
        "0123456789ABCDEFGHJKMNPQRSTVWXYZ",
        "prev",
    ):
        assert part in text
