"""Write the approved pages anew: `python -m tests.reports`."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

os.environ["APPROVE_PAGES"] = "1"
sys.exit(pytest.main(["-q", "-p", "no:randomly", "-p", "no:xdist", str(Path(__file__).parent)]))
