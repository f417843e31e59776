"""A line typed at a question: arrows move and mend, arrow up brings back, Tab completes.

Invariant: what was typed is remembered no longer than the program runs; where the terminal
or the system has no line editing, a plain line is read.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence

from weldcal import settings


def typed(question: str, offered: Sequence[str] = ()) -> str:
    """What is typed at a question.

    Args:
        question: shown as it is.
        offered: what Tab completes.
    """
    if not settings.dumb_terminal():  # one that cannot move its cursor back cannot be edited on
        with contextlib.suppress(ImportError):  # a build without it, as on some systems
            _editing(tuple(offered))
    return input(question)


def _editing(offered: tuple[str, ...]) -> None:
    import readline

    def complete(text: str, n: int) -> str | None:
        fits = [word for word in offered if word.casefold().startswith(text.casefold())]
        return fits[n] if n < len(fits) else None

    readline.set_completer_delims("")  # a name of two words is one answer
    readline.set_completer(complete)
    libedit = "libedit" in (readline.__doc__ or "")
    readline.parse_and_bind("bind ^I rl_complete" if libedit else "tab: complete")
    if not libedit:  # what is pasted is typed; some screens show the signs around it
        readline.parse_and_bind("set enable-bracketed-paste off")
