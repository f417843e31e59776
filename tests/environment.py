"""The language and clock that the tests run in, whatever those of the person who runs them.

Invariant: imported before the program, which reads its language once, when it is
imported; `conftest` gives every single test the same again.
"""

from __future__ import annotations

import os
import time

SET = {"LC_ALL": "C.UTF-8", "TZ": "America/Denver", "COLUMNS": "80"}

for _name in [name for name in os.environ if name.startswith("WELDCAL_")]:
    del os.environ[_name]
os.environ.update(SET)
time.tzset()
