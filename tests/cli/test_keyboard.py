"""One key at a time at a terminal of our own."""

from __future__ import annotations

import os
import signal
import sys
import termios
from collections.abc import Iterator

import pytest

from weldcal.cli.keyboard import STOP, Keyboard


@pytest.fixture
def hand(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A terminal that the program reads; what is written here is typed there."""
    ours, theirs = os.openpty()
    with os.fdopen(theirs) as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        yield ours
    os.close(ours)


@pytest.mark.parametrize("sign", ["s", "ñ", "€", "🔥"])
def test_a_sign_of_one_to_four_bytes_is_one_key(hand: int, sign: str) -> None:
    """UTF-8 (RFC 3629) writes them in one, two, three and four bytes; what follows is the next key."""
    with Keyboard(there=True) as keys:
        os.write(hand, f"{sign}q".encode())
        assert [keys.wait(5), keys.wait(5)] == [sign, "q"]


def test_an_arrow_is_no_key_and_swallows_no_other(hand: int) -> None:
    """ESC [ A; the key pressed after it counts."""
    with Keyboard(there=True) as keys:
        os.write(hand, b"\x1b[A")
        assert keys.wait(5) is None
        os.write(hand, b"w")
        assert keys.wait(5) == "w"


def test_time_goes_by_without_a_key(hand: int) -> None:
    """Nobody presses anything; and where nobody is there, nothing is read at all."""
    with Keyboard(there=True) as keys:
        assert keys.wait(0) is None
    os.write(hand, b"w\n")
    with Keyboard(there=False) as keys:
        assert keys.wait(0) is None


def test_ctrl_d_is_a_key_like_any_other(hand: int) -> None:
    """A terminal that hands on every key hands this one on too."""
    with Keyboard(there=True) as keys:
        os.write(hand, b"\x04")
        assert keys.wait(5) == "\x04"


def test_the_terminal_and_the_signals_are_left_as_they_were(hand: int) -> None:
    """Its modes, and who is asked at Ctrl-C, TERM, hang-up and a change of size."""
    signals = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGWINCH, signal.SIGTSTP)
    before = termios.tcgetattr(sys.stdin), [signal.getsignal(one) for one in signals]
    with Keyboard(there=True):
        local = termios.tcgetattr(sys.stdin)[3]
        assert not local & (termios.ICANON | termios.ECHO)
    assert (termios.tcgetattr(sys.stdin), [signal.getsignal(one) for one in signals]) == before


@pytest.mark.parametrize(
    ("which", "ends"),
    [
        (signal.SIGINT, KeyboardInterrupt),
        (signal.SIGTERM, SystemExit),
        (signal.SIGHUP, SystemExit),
    ],
)
def test_whatever_ends_the_program_the_terminal_is_put_back_first(
    hand: int, which: signal.Signals, ends: type[BaseException]
) -> None:
    """Exit code 130, as of every command that was broken off."""
    before = termios.tcgetattr(sys.stdin)
    with pytest.raises(ends) as left, Keyboard(there=True) as keys:
        os.kill(os.getpid(), which)
        keys.wait(5)
    assert getattr(left.value, "code", 130) == 130
    assert termios.tcgetattr(sys.stdin) == before


def test_ctrl_z_is_told_and_a_change_of_size_is_no_key(hand: int) -> None:
    """STOP stands until the program has stopped; a new size wakes the wait and says nothing."""
    with Keyboard(there=True) as keys:
        os.kill(os.getpid(), signal.SIGWINCH)
        assert keys.wait(5) is None
        os.kill(os.getpid(), signal.SIGTSTP)
        assert keys.wait(5) == STOP
