"""Files whole or not at all, the owner's only; the command as a person types it."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from weldcal.long_work import atomic_write
from weldcal.reports.dossier import pdf


def test_the_command_writes_its_files_for_its_owner_only(quarry: Any, tmp_path: Path) -> None:
    """HTML, PDF, findings and seams, the two checkers; mode 0600; no half file beside."""
    out = quarry.ok("dossier", str(tmp_path / "school.html"), "--json").json
    names = [Path(f).name for f in out["files"]]
    assert sorted(names) == [
        "check_record.html",
        "check_record.py",
        "school-findings.csv",
        "school-seams.csv",
        "school.html",
        "school.pdf",
    ]
    for file in out["files"]:
        assert Path(file).stat().st_mode & 0o777 == 0o600
    assert list(tmp_path.glob("*.part")) == []
    assert (out["seams"], out["faults_of_record"]) == (8, 0)


def test_findings_beside_are_the_tables_in_full(quarry: Any, tmp_path: Path) -> None:
    """Every finding, its places in metres as the table has them."""
    quarry.ok("dossier", str(tmp_path / "d"), "--only", "html")
    with (tmp_path / "d-findings.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    kept = quarry.query("SELECT * FROM findings ORDER BY seen_utc, tick")
    assert [r["name"] for r in rows] == [k["name"] for k in kept]
    assert [float(r["start_m"]) for r in rows] == [k["start_m"] for k in kept]
    assert not (tmp_path / "d.pdf").exists()


def test_names_are_left_out_of_every_file(quarry: Any, tmp_path: Path) -> None:
    """--no-people holds for the pages and for the CSV beside."""
    quarry.ok("dossier", str(tmp_path / "d"), "--no-people", "--only", "html")
    for path in tmp_path.glob("d*"):
        text = path.read_text()
        assert "Okoro" not in text
        assert "Ruiz" not in text


def test_making_a_dossier_records_nothing(quarry: Any, tmp_path: Path) -> None:
    """Nor does the evening page with its starting speed, nor the history."""
    before = quarry.entries()
    quarry.ok("dossier", str(tmp_path / "d"), "--only", "html")
    assert quarry.ok("evening --json").json["start"][0]["speed_m_per_min"] > 0
    quarry.ok("history")
    assert quarry.entries() == before


def test_what_breaks_off_leaves_what_was_there(tmp_path: Path) -> None:
    """Ctrl-C in the middle: the earlier file stands, the half one is gone."""
    path = tmp_path / "d.html"
    path.write_text("earlier")

    def broken_off() -> None:
        with atomic_write(path) as file:
            file.write(b"half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        broken_off()
    assert path.read_text() == "earlier"
    assert [p.name for p in tmp_path.iterdir()] == ["d.html"]


def test_ctrl_c_is_heard_while_typst_works(quarry: Any, tmp_path: Path, monkeypatch: Any) -> None:
    """The command ends with 130 and leaves no PDF, though typst has not come back yet."""
    import threading

    held = threading.Event()
    monkeypatch.setattr(pdf, "_compile", lambda *a, **k: held.wait(20) or b"")
    monkeypatch.setattr(pdf, "_unshown", lambda signs: [])
    monkeypatch.setattr(pdf.threading.Thread, "join", _interrupts)
    done = quarry("dossier", str(tmp_path / "d"), "--only", "pdf")
    held.set()
    assert done.code == 130
    assert list(tmp_path.glob("d.pdf*")) == []


def _interrupts(self: Any, timeout: float | None = None) -> None:
    raise KeyboardInterrupt


def test_a_place_that_cannot_be_written_is_one_plain_line(quarry: Any, tmp_path: Path) -> None:
    """No such folder: exit code 2, one line, nothing made."""
    done = quarry("dossier", str(tmp_path / "no" / "d"))
    assert (done.code, len(done.err.splitlines())) == (2, 1)
    assert list(tmp_path.glob("**/*.part")) == []


@pytest.mark.parametrize(
    "words",
    [
        "dossier --only word",
        "dossier --paper a3",
        "evening --day lately",
        "evening --ambient warm",
        "history --by moon",
        "history --sort moon",
        "history --since never",
    ],
)
def test_what_cannot_be_is_refused_in_one_line(quarry: Any, words: str) -> None:
    """Exit code 2 and what is allowed."""
    done = quarry(words)
    assert (done.code, len(done.err.splitlines())) == (2, 1)


def test_a_progress_bar_is_drawn_on_a_terminal_only(quarry: Any, tmp_path: Path) -> None:
    """Into a pipe: nothing on stderr; JSON stays one document."""
    done = quarry.ok("dossier", str(tmp_path / "d"), "--only", "html", "--json")
    assert done.err == ""
    json.loads(done.out)
