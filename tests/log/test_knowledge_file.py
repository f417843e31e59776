"""A knowledge file written and read again: no name in it, the same numbers, its own laptop's keys."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from weldcal.calibration.knowledge import Knowledge
from weldcal.errors import FileTrouble, NotWritten
from weldcal.log import knowledge, signing
from weldcal.views.knowledge import FirmNames

NAMES = FirmNames(
    {
        "machine": {("job 1", "blue"): "blue", ("job 1", "red"): "red", ("job 2", "red"): "red 2"},
        "sheet": {("job 1", "base"): "base", ("job 1", "cap"): "cap"},
    },
    frozenset({"sbs"}),
    {"job 1": "Mill roof", "job 2": "Barn roof"},
)
PLAIN: dict[str, Any] = {
    "levels": [
        ["intercept", "firm", ""],
        ["machine", "machine", "blue"],
        ["sheet", "class", "\0base"],
        ["sheet", "class", "sbs"],
        ["sheet", "sheet", "base"],
    ],
    "mean": [0.01, 0.02, 0.03, 0.04, 0.05],
    "cov": [0.01, 0.0, 0.01, 0.0, 0.0, 0.01, 0.0, 0.0, 0.0, 0.01, 0.0, 0.0, 0.0, 0.0, 0.01],
    "variance": [["machine", "machine", 0.01]],
    "jobs": [["job 1", ["blue", "red"], [["base", ""], ["cap", "sbs"]], 7]],
}


def _written(path: Path, **more: Any) -> str:
    return knowledge.write(
        path,
        Knowledge.of(PLAIN),
        NAMES,
        made="2026-06-01",
        program="0",
        **more,
    )


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    """Letters and numbers in place of names; the same numbers; a class of none is its sheet's own."""
    path = tmp_path / "firm.json"
    digest = _written(path)
    text = path.read_text()
    assert text.endswith("}\n")
    assert not re.search("blue|red|base|cap|sbs|job 1|roof", text)
    assert re.fullmatch(
        "[0-9a-f]{32}", json.loads(text)["salt"]
    )  # 128 bits, as RFC 8018 4.1 asks at least 64
    assert all(len(key) == 32 for found in json.loads(text)["names"].values() for key in found)
    read = knowledge.read(path)
    assert (read.text, read.digest, read.made, read.program) == (text, digest, "2026-06-01", "0")
    assert read.signed_by == ""
    plain = read.knowledge.plain()
    assert [plain[name] for name in ("mean", "cov", "variance")] == [
        PLAIN[name] for name in ("mean", "cov", "variance")
    ]
    assert plain["levels"] == [
        ["intercept", "firm", ""],
        ["machine", "machine", "m1"],
        ["sheet", "class", "\0s1"],
        ["sheet", "class", "c1"],
        ["sheet", "sheet", "s1"],
    ]
    assert [job[1:] for job in plain["jobs"]] == [[["m1", "m2"], [["s1", ""], ["s2", "c1"]], 7]]


def test_a_laptop_knows_its_own_names_in_it(tmp_path: Path) -> None:
    """In any spelling; a name of two leads to both; each job's own to its own; jobs by their ids."""
    path = tmp_path / "firm.json"
    _written(path)
    read = knowledge.read(path)
    assert [read.keys_of("machine", name) for name in ("blue", "BLUE", "red", "base")] == [
        ("m1",),
        ("m1",),
        ("m2", "m3"),
        (),
    ]
    assert [read.keys_of("sheet", name) for name in ("base", "cap")] == [("s1",), ("s2",)]
    assert read.keys_of("class", "SBS") == ("c1",)
    assert [read.key_on("machine", f"job {n}", "Red") for n in (1, 2, 3)] == ["m2", "m3", ""]
    assert read.key_on("sheet", "job 1", "red") == ""
    strange = read.new_key("machine", "base")
    assert strange.startswith("new:")
    assert strange != read.new_key("sheet", "base")
    assert (read.has_job("job 1"), read.has_job("job 2")) == (True, False)


def test_two_files_of_one_knowledge_are_not_alike(tmp_path: Path) -> None:
    """Each has a salt of its own, so that names cannot be looked up in the one by the other."""
    digests = {_written(tmp_path / f"{n}.json") for n in range(3)}
    assert len(digests) == 3
    with pytest.raises(FileTrouble, match="there already"):
        _written(tmp_path / "0.json")
    with pytest.raises(NotWritten):
        _written(tmp_path / "no/folder.json")


def test_a_signed_one_is_taken_with_its_key_only(tmp_path: Path) -> None:
    """The key in any case; without asking for one it is read and says whose it is."""
    pytest.importorskip("cryptography")
    public = signing.new_key(tmp_path / "k.pem")
    other = signing.new_key(tmp_path / "o.pem")
    path, unsigned = tmp_path / "firm.json", tmp_path / "unsigned.json"
    _written(path, key=tmp_path / "k.pem")
    _written(unsigned)
    assert knowledge.read(path).signed_by == public
    assert knowledge.read(path, f" {public.upper()}\n").signed_by == public
    for refused, key in ((path, other), (unsigned, public)):
        with pytest.raises(knowledge.BadKnowledge, match="not signed with that key"):
            knowledge.read(refused, key)
    holds = json.loads(path.read_text())
    last = int(holds["signature"][-2:], 16)
    holds["signature"] = f"{holds['signature'][:-2]}{last ^ 1:02x}"
    path.write_text(json.dumps(holds))
    with pytest.raises(knowledge.BadKnowledge, match="signature does not hold"):
        knowledge.read(path)


@pytest.mark.parametrize("change", ["a number", "a name", "nothing"])
def test_a_changed_one_is_refused(tmp_path: Path, change: str) -> None:
    """Anything in it, for its hash is of all; other spaces and another order are no change."""
    path = tmp_path / "firm.json"
    _written(path)
    holds = json.loads(path.read_text())
    if change == "a number":
        holds["mean"][0] += 0.001
    elif change == "a name":
        holds["names"]["machine"] = {}
    path.write_text(json.dumps(dict(reversed(holds.items())), indent=1))
    if change == "nothing":
        assert knowledge.read(path).knowledge.plain()["mean"] == PLAIN["mean"]
        return
    with pytest.raises(knowledge.BadKnowledge, match="changed or damaged"):
        knowledge.read(path)


def test_no_file_and_no_text_are_said(tmp_path: Path) -> None:
    """Each in words of its own."""
    with pytest.raises(FileTrouble, match="no such file"):
        knowledge.read(tmp_path / "gone")
    (tmp_path / "bytes").write_bytes(b"\xff\xfe{")
    with pytest.raises(knowledge.BadKnowledge, match="no knowledge file"):
        knowledge.read(tmp_path / "bytes")
