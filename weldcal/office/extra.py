"""The libraries of the extra, loaded when they are needed.

Invariant: without the extra nothing else of the program changes; what needs it says in one line
what to install.
"""

from __future__ import annotations

import importlib
from typing import Any

from weldcal.errors import Missing
from weldcal.words import mark


class NoExtra(Missing):
    """A library of the extra that is not installed."""

    sentence = mark("This needs {name}, which is not here. Type: pip install 'weldcal[office]'")


def needed(name: str) -> Any:
    """A library of the extra.

    Raises:
        NoExtra: it is not installed.
    """
    try:
        return importlib.import_module(name)
    except ImportError:
        raise NoExtra(name=name.partition(".")[0]) from None
