"""What the environment asks for: paths, zone, screen, signs; each from the place that says it."""

from __future__ import annotations

import os
import pty
import stat
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from weldcal import settings


@pytest.mark.parametrize(
    ("find", "name", "own"),
    [
        (settings.book_path, "WELDCAL_BOOK", "book.sqlite"),
        (settings.office_path, "WELDCAL_OFFICE", "office"),
    ],
)
def test_a_path_is_as_given_else_as_the_environment_says(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, find: object, name: str, own: str
) -> None:
    """Else in the user's folder, under the program's name and no maker's; `~` is the user's."""
    assert callable(find)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv(name, "~/mine")
    assert find("here") == Path("here")
    assert find("") == find(None) == find() == tmp_path / "mine"
    for nothing in ("", None):
        monkeypatch.setenv(name, "")
        if nothing is None:
            monkeypatch.delenv(name)
        assert find() == tmp_path / "data/weldcal" / own
    assert settings.screen_file() == tmp_path / "data/weldcal/screen"
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert settings.state_folder() == tmp_path / "state/weldcal"


def test_a_lake_is_a_path_or_an_address(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An address goes by as it is; else it lies beside the office's books."""
    monkeypatch.setenv("WELDCAL_OFFICE", str(tmp_path / "office"))
    assert settings.lake_url() == str(tmp_path / "office/lake")
    monkeypatch.setenv("WELDCAL_LAKE", "s3://bucket/~lake")
    assert settings.lake_url() == "s3://bucket/~lake"
    assert settings.lake_url("~/lake") == str(tmp_path / "lake")


@pytest.mark.parametrize(
    ("find", "name"),
    [(settings.job_name, "WELDCAL_JOB"), (settings.person, "WELDCAL_BY")],
)
def test_an_empty_word_says_nothing(
    monkeypatch: pytest.MonkeyPatch, find: object, name: str
) -> None:
    """A job, a person: what stands there, or none."""
    assert callable(find)
    assert find() is None
    monkeypatch.setenv(name, "")
    assert find() is None
    monkeypatch.setenv(name, "Peña")
    assert find() == "Peña"


def test_which_shell_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing where none does."""
    assert settings.completing() == ""
    monkeypatch.setenv("_WELDCAL_COMPLETE", "complete_bash")
    assert settings.completing() == "complete_bash"


def test_words_from_a_locale_of_ascii_only_are_utf_8(monkeypatch: pytest.MonkeyPatch) -> None:
    """As Python hands them over there (PEP 383); what is no UTF-8 stays as it came."""
    assert settings.as_typed("blue") == "blue"
    assert settings.as_typed("Peña") == "Peña"
    monkeypatch.setattr(os, "fsencode", lambda text: text.encode("ascii", "surrogateescape"))
    monkeypatch.setattr(os, "fsdecode", lambda data: data.decode("ascii", "surrogateescape"))
    escaped = "Peña".encode().decode("ascii", "surrogateescape")
    assert settings.as_typed(escaped) == "Peña"
    assert settings.as_typed("Pe\udcff") == "Pe\udcff"
    assert settings.as_typed("Peña") == "Peña"
    assert settings.path_of("Peña.sqlite") == Path(f"{escaped}.sqlite")
    assert settings.path_of("~no-such-user/x") == Path("~no-such-user/x")


@pytest.mark.parametrize(
    ("encoding", "all_signs"),
    [("utf-8", True), ("UTF8", True), ("utf-16", True), ("ascii", False), ("cp1252", False),
     (None, True), ("", True)],
)  # fmt: skip
def test_which_streams_carry_every_sign(encoding: str | None, all_signs: bool) -> None:
    """One that does not say is taken for one of these days."""
    assert settings.knows_all(SimpleNamespace(encoding=encoding)) is all_signs
    assert settings.knows_all(object()) is True


@pytest.mark.parametrize(
    ("named", "link", "zone"),
    [
        ("America/Denver", "Europe/Madrid", "America/Denver"),
        ("", "Europe/Madrid", "Europe/Madrid"),
        ("MST7MDT", "Europe/Madrid", "Europe/Madrid"),
        ("/etc/localtime", "America/Indiana/Knox", "America/Indiana/Knox"),
        ("", None, "UTC"),
    ],
)
def test_the_machines_zone_by_name(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, named: str, link: str | None, zone: str
) -> None:
    """The environment's, if it is a name; else the link that the system keeps; else none."""
    monkeypatch.setenv("TZ", named)
    target = tmp_path / "usr/share/zoneinfo" / (link or "") if link else tmp_path / "localtime"
    monkeypatch.setattr(Path, "resolve", lambda _self: target)
    assert settings.local_zone() == zone


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Path]:
    """The file in which this device keeps how its screen is written; not there yet."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("WELDCAL_SCREEN", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    (tmp_path / "data/weldcal").mkdir(parents=True)
    yield tmp_path / "data/weldcal/screen"
    os.environ.pop("WELDCAL_SCREEN", None)


def test_how_the_screen_is_written(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As asked for now, else as kept here; a word that is none is as if nothing was said."""
    assert settings.screen() == "plain"
    kept.write_text("linear\n")
    assert settings.screen() == "linear"
    kept.write_bytes(b"\xff")
    assert settings.screen() == "plain"
    kept.write_text("large")
    assert settings.screen() == "plain"
    kept.write_text("linear")
    monkeypatch.setenv("WELDCAL_SCREEN", "high-contrast")
    assert settings.screen() == "high-contrast"
    assert settings.odd_screen() is None
    monkeypatch.setenv("WELDCAL_SCREEN", "large")
    assert (settings.screen(), settings.odd_screen()) == ("plain", "large")
    monkeypatch.setenv("WELDCAL_SCREEN", "")
    assert (settings.screen(), settings.odd_screen()) == ("linear", None)


def test_a_screen_asked_for_ends_with_what_asked(kept: Path) -> None:
    """Whether something was asked before or nothing."""
    with settings.screen_restored():
        settings.use_screen("linear")
        assert settings.screen() == "linear"
        with settings.screen_restored():
            settings.use_screen("high-contrast")
        assert settings.screen() == "linear"
    assert "WELDCAL_SCREEN" not in os.environ


@pytest.mark.parametrize(
    ("screen", "no_colour", "term", "colourless", "moving"),
    [
        ("plain", "", "xterm", False, True),
        ("plain", "1", "xterm", True, True),
        ("high-contrast", "", "xterm", True, True),
        ("linear", "", "xterm", True, False),
        ("plain", "", "dumb", False, False),
        ("linear", "", "dumb", True, False),
    ],
)
def test_colour_and_lines_written_over(
    kept: Path,
    monkeypatch: pytest.MonkeyPatch,
    screen: str,
    no_colour: str,
    term: str,
    colourless: bool,
    moving: bool,
) -> None:
    """Neither for a screen reader; no colour where the environment says so (no-color.org)."""
    monkeypatch.setenv("WELDCAL_SCREEN", screen)
    monkeypatch.setenv("NO_COLOR", no_colour)
    monkeypatch.setenv("TERM", term)
    assert settings.colourless() is colourless
    assert settings.moving() is moving


@pytest.mark.parametrize(
    ("term", "dumb"),
    [("xterm", False), ("dumb", True), ("unknown", True), ("", True), (None, True)],
)
def test_a_terminal_that_only_prints(
    monkeypatch: pytest.MonkeyPatch, term: str | None, dumb: bool
) -> None:
    """One that does not say what it is, is taken for one."""
    monkeypatch.setenv("TERM", term or "")
    if term is None:
        monkeypatch.delenv("TERM")
    assert settings.dumb_terminal() is dumb


@pytest.mark.parametrize(
    ("terminal", "screen", "linear"),
    [(True, "linear", True), (True, "plain", False), (False, "linear", False)],
)
def test_sentences_are_for_a_terminal(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, screen: str, linear: bool
) -> None:
    """Into a pipe it is tables, whatever the screen."""
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(isatty=lambda: terminal))
    monkeypatch.setenv("WELDCAL_SCREEN", screen)
    assert settings.linear() is linear


def test_a_terminal_knows_its_own_size(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the environment says; one that says nothing, and a pipe, are as it says, else 80 by 24."""
    import fcntl
    import struct
    import termios

    here, there = pty.openpty()
    try:
        assert stat.S_ISCHR(os.fstat(there).st_mode)
        monkeypatch.setattr(sys, "stdout", SimpleNamespace(fileno=lambda: there))
        monkeypatch.setattr(sys, "__stdout__", None)
        monkeypatch.setenv("COLUMNS", "99")
        monkeypatch.setenv("LINES", "33")
        for rows, columns, wanted in ((7, 41, (41, 7)), (0, 41, (99, 33)), (7, 0, (99, 33))):
            size = struct.pack("HHHH", rows, columns, 0, 0)
            fcntl.ioctl(there, termios.TIOCSWINSZ, size)
            assert settings.screen_size() == wanted
            assert settings.screen_columns() == wanted[0]
        fcntl.ioctl(there, termios.TIOCSWINSZ, struct.pack("HHHH", 15, 5, 0, 0))
        assert (settings.screen_size(), settings.screen_columns()) == ((5, 15), 20)
    finally:
        os.close(here)
        os.close(there)
    monkeypatch.delenv("COLUMNS")
    monkeypatch.delenv("LINES")
    assert settings.screen_size() == (80, 24)
    assert settings.screen_columns() == 80
