"""Names that are not what they look like; those of people anywhere are what they look like."""

from __future__ import annotations

import pytest

from weldcal.records.odd_names import odd, skeleton


@pytest.mark.parametrize(
    ("name", "is_odd"),
    [
        ("Ana Ruiz", False),
        ("José Peña", False),
        ("Øyvind Þór", False),
        ("Олег Жук", False),
        ("Ана Ruiz", False),  # each word of one script
        ("Аna Ruiz", True),  # the first letter is Cyrillic
        ("Ana\u200b Ruiz", True),
        ("An\u200da Ruiz", True),
        ("क्\u200dष", False),  # a joiner that its script needs
        ("Jo\u200dsé", True),  # between Latin letters, whatever stands further off
        ("éa\u200dna", True),
        ("é\u200dana", False),  # beside a sign that is not ASCII nobody can tell
        ("José\u200d", False),
        ("Jos\u200dé", False),
        ("\u3000\u200d\u3000", True),  # between blanks
    ],
)
def test_which_names_are_odd(name: str, is_odd: bool) -> None:
    """Letters of two scripts in one word, and signs that nobody sees."""
    assert odd(name) is is_odd


def test_names_that_look_alike_have_one_skeleton() -> None:
    """A Cyrillic A, a nought for an o, more blanks."""
    assert skeleton("Аna  Ru1z0") == skeleton("ana ruizo".replace("i", "l"))
    assert skeleton("Ana Ruiz") != skeleton("Ana Ruis")
