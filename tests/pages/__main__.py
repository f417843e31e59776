"""Write anew what the pages under docs/ show: `python -m tests.pages`."""

from __future__ import annotations

import itertools
import tempfile
from pathlib import Path

from . import blocks, figures, sentences, shots
from .program import Program

with tempfile.TemporaryDirectory() as folder:
    for name, svg in itertools.chain(shots.taken(Path(folder)), figures.taken(Path(folder))):
        (shots.PICTURES / f"{name}.svg").write_text(svg)
    for page in blocks.PAGES:
        home = shots.made(Path(folder) / page.stem)
        page.write_text(blocks.written_anew(page.read_text(), Program(home)))
sentences.PAGE.write_text(sentences.page())
