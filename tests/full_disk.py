"""A process whose files cannot grow: a full disk, as far as one process can see."""

from __future__ import annotations

import os
from collections.abc import Callable


def no_room(size: int) -> Callable[[], None]:
    """For `preexec_fn`: no file may be longer than `size` (RLIMIT_FSIZE).

    Python ignores SIGXFSZ, so a write fails as on a full disk. It would also write half of
    what it compiles and take it for whole (CPython up to 3.12 looks at no count of bytes
    there): a module cut short, for every later test. So nothing that is compiled is kept.
    """

    def limit() -> None:
        import resource

        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return limit
