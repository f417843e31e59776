"""The bench lives in `tests/bench`; make it importable from wherever pytest runs."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
