"""Long work, CSV, the system's reasons and texts with their values, each by itself."""

from __future__ import annotations

import errno
import io
import os
import stat
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from weldcal import words
from weldcal.csv_file import write_csv
from weldcal.errors import NotANumber, Unheard, WeldcalError, reason
from weldcal.json_values import of_row
from weldcal.long_work import atomic_write, part_of, with_progress


@pytest.mark.parametrize("count", [0, 1, 499, 500, 501, 1000, 1001])
def test_who_watches_hears_at_the_first_and_every_five_hundred(count: int) -> None:
    """Before the item that is next; all items come, in order."""
    heard: list[tuple[str, int, int]] = []
    items = with_progress(range(count), "strips", count, lambda *told: heard.append(told))
    assert list(items) == list(range(count))
    assert heard == [("strips", done, count) for done in range(0, count, 500)]


def test_a_file_takes_its_name_when_all_of_it_is_there(tmp_path: Path) -> None:
    """For its owner only; what stood there is replaced, unless a fresh one was asked for."""
    path = tmp_path / "x"
    with atomic_write(path) as file:
        file.write(b"1")
        assert not path.exists()
        part = part_of(path)
        assert (part.parent, part.name) == (tmp_path, f"x.{os.getpid()}.part")
        assert stat.S_IMODE(part.stat().st_mode) == 0o600
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode)) == (b"1", 0o600)
    with atomic_write(path) as file:
        file.write(b"2")
    with pytest.raises(FileExistsError), atomic_write(path, fresh=True):
        pass
    assert path.read_bytes() == b"2"
    with atomic_write(tmp_path / "y", fresh=True) as file:
        file.write(b"3")
    with pytest.raises(KeyError), atomic_write(path) as file:
        file.write(b"half")
        raise KeyError
    with pytest.raises(FileNotFoundError), atomic_write(tmp_path / "no/folder"):
        pass
    assert sorted(one.name for one in tmp_path.iterdir()) == ["x", "y"]
    assert path.read_bytes() == b"2"


def test_a_csv_is_in_its_file_when_the_call_returns() -> None:
    """Rows are counted; the file stays open, for who opened it."""
    file = io.BytesIO()
    rows = [{"a": 1, "b": "=1"}, {"b": "-x"}, {"a": -1.5, "b": "a=b"}]
    assert write_csv(file, ["b", "a"], rows) == 3
    assert file.getvalue().decode() == "b,a\n'=1,1\n'-x,\na=b,-1.5\n"
    assert write_csv(file, ["a"], []) == 0

    class Beheld(io.RawIOBase):
        """A file that shows what has reached it."""

        def __init__(self) -> None:
            self.came: list[bytes] = []

        def writable(self) -> bool:
            return True

        def write(self, data: object) -> int:
            self.came.append(bytes(data))  # type: ignore[call-overload]
            return len(self.came[-1])

    beheld = Beheld()

    def one_by_one() -> Iterator[dict[str, object]]:
        for n in range(3):
            assert b"".join(beheld.came).count(b"\n") == n + 1  # its heading, and those before
            yield {"a": n}

    write_csv(beheld, ["a"], one_by_one())  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("error", "why"),
    [
        (OSError(errno.ENOSPC, "No space left"), "the disk is full"),
        (OSError(errno.ENOENT, "x"), "there is no such file or folder"),
        (OSError(errno.EMFILE, "Too many open files"), "Too many open files"),
        (OSError("odd"), "odd"),
        (ValueError("odd"), "odd"),
        (ValueError(), ""),
    ],
)
def test_why_the_system_refused(error: Exception, why: str) -> None:
    """In our words where we have them, else in its own."""
    assert reason(error) == why


def test_a_refusal_is_its_sentence_with_its_values() -> None:
    """And ends a command with 2."""
    refusal = NotANumber(name="speed", text="fast", example="5.5")
    assert str(refusal) == "speed: 'fast' is not a number. Type it like 5.5."
    assert (refusal.exit_code, Unheard.exit_code, WeldcalError.exit_code) == (2, 2, 2)


def test_a_row_as_json_is_another_dictionary() -> None:
    """Its own; a change in it changes no row."""
    row = {"a": 1, "b": None, "c": "x"}
    found = of_row(row)
    assert found == row
    assert found is not row


# -- texts in the reader's language --------------------------------------------------------


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """Nothing remembered of another reader, before and after."""
    caches = (words._catalog, words.language, words.locale, words.decimal_mark)
    for name in ("WELDCAL_LANG", "LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(name, raising=False)
    for one in caches:
        one.cache_clear()
    yield monkeypatch
    for one in caches:
        one.cache_clear()


@pytest.mark.parametrize(
    ("reader", "length", "day", "refusal"),
    [
        ("en_US", "1.5", "Monday, June 1, 2026", "speed: 'fast' is not a number."),
        ("es_ES", "1,5", "lunes, 1 de junio de 2026", "speed: 'fast' no es un número."),
        ("es_US", "1.5", "lunes, 1 de junio de 2026", "speed: 'fast' no es un número."),
        ("fr_FR", "1.5", "Monday, June 1, 2026", "speed: 'fast' is not a number."),
    ],
)
def test_numbers_and_days_as_the_reader_writes_them(
    reads: pytest.MonkeyPatch, reader: str, length: str, day: str, refusal: str
) -> None:
    """Where there is a catalog of the language; text put in stays as it is."""
    reads.setenv("WELDCAL_LANG", reader)
    assert words.number(1.5) == words.number(1.5, "g") == length
    assert words.number(2, "+.1f") == f"+{length.replace('1', '2').replace('5', '0')}"
    assert words.written_out(date(2026, 6, 1)) == day
    assert words._("{a:.1f} {b} {c}", a=1.5, b="1.5", c=2) == f"{length} 1.5 2"
    assert words._("{no value}") == "{no value}"
    assert words.mark("a text") == "a text"
    assert str(NotANumber(name="speed", text="fast", example="5")).startswith(refusal)
    for n, wanted in ((1, f"1 strip of {length}"), (2, f"2 strips of {length}")):
        assert words.plural("{n} strip of {m}", "{n} strips of {m}", n, m=1.5) == wanted
