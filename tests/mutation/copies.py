"""A copy of the tree to work in: what is changed here while a room is tried changes nothing there."""

from __future__ import annotations

import compileall
import os
import py_compile
import shutil
import sys
from pathlib import Path


def copied(root: Path, copy: Path) -> None:
    """What is changed or imported is copied; the rest is there by a link."""
    for path in root.iterdir():
        if path.name in ("weldcal", "tests"):
            shutil.copytree(path, copy / path.name, ignore=shutil.ignore_patterns("__pycache__"))
        elif path.name != ".git":
            (copy / path.name).symlink_to(path)
    # Compiled by the text and not by the minute: a fault put in and out again is seen.
    compileall.compile_dir(
        copy / "weldcal", quiet=1, invalidation_mode=py_compile.PycInvalidationMode.CHECKED_HASH
    )


def stand_in(copy: Path, *, quietly: bool = False) -> None:
    """Forget this tree, and stand in the copy."""
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "weldcal")]:
        del sys.modules[name]
    os.chdir(copy)
    here = str(Path(__file__).resolve().parents[2])
    sys.path[:] = [str(copy), *(p for p in sys.path if p not in ("", here))]
    os.environ["PYTHONPATH"] = str(copy)
    if quietly:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
