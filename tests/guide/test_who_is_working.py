"""Who is working: meant by the initials that are listed, at a real terminal.

That only listed initials name a person is this program's rule.
"""

from __future__ import annotations

from typing import Any


def test_initials_are_those_listed_and_none_are_made_up(terminal: Any, job: Any) -> None:
    """As every command takes them: CX is Carla Diaz, CD nobody, whatever her name begins with."""
    job.ok('person add "Carla Diaz: CX, operator"')
    window = terminal()
    window.type("weldcal", "CD")
    window.asked("Nobody is listed as CD")
    window.type("no", "CX")
    window.asked()
    assert "Same as: weldcal me 'Carla Diaz'" in " ".join(window.seen.split())
