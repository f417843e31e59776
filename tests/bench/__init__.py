"""Judging bench of the calibration: run by hand, see README.md. Every roof here is invented.

One thread a process, set before numpy is loaded: the bench runs processes side by side.
"""

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
