"""Entry point of the `weldcal` command.

Invariant: `weldcal` alone asks its first question without waiting for typer.
"""

from __future__ import annotations

import contextlib
import gc
import io
import sys

from weldcal import settings


def run() -> None:
    """Open the day where nothing was typed after `weldcal`; else run the command."""
    gc.set_threshold(100_000)  # a command lives seconds, and builds many small things
    if len(sys.argv) > 1 or settings.completing():
        from weldcal.cli.main import run as command

        command()
    sys.exit(_alone())


def _alone() -> int:
    from weldcal.cli.guide import Place, open_day

    plain_streams()
    try:
        return open_day(Place(settings.book_path()))
    except Exception as error:
        from weldcal.cli.main import guarded

        refusal = error

        def again() -> int:
            raise refusal

        return guarded(again)


def plain_streams() -> None:
    """Never stop at a sign the terminal cannot show, or at bytes that are no text."""
    for stream, errors in (
        (sys.stdout, "replace"), (sys.stderr, "replace"), (sys.stdin, "surrogateescape"),
    ):  # fmt: skip
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            with contextlib.suppress(io.UnsupportedOperation):  # lines were read before us
                reconfigure(errors=errors)
