"""A copy of the tree to work in: what is changed here while a room is tried changes nothing there."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path


def copied(root: Path, copy: Path) -> None:
    """What is changed or imported is copied; the rest is there by a link."""
    for path in root.iterdir():
        if path.name in ("weldcal", "tests"):
            shutil.copytree(path, copy / path.name)  # with what is compiled, and its time
        elif path.name != ".git":
            (copy / path.name).symlink_to(path)


def stand_in(copy: Path, *, quietly: bool = False) -> None:
    """Forget this tree, and stand in the copy."""
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "weldcal")]:
        del sys.modules[name]
    os.chdir(copy)
    here = str(Path(__file__).resolve().parents[2])
    sys.path[:] = [str(copy), *(p for p in sys.path if p not in ("", here))]
    os.environ |= {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    sys.dont_write_bytecode = True
    if quietly:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
