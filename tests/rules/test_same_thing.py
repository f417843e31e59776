"""Which thing of a knowledge file a name means: jobs that both know before the name alone."""

from __future__ import annotations

import pytest

from weldcal.rules.same_thing import Meant, meant


@pytest.mark.parametrize(
    ("known_as", "others", "named", "found"),
    [
        # By jobs that both know, whatever the name says.
        ("a", "", "", Meant("a")),
        ("a", "b", "bc", Meant("a")),
        ("ab", "", "c", Meant("", 2)),
        # By the name alone, where no other thing here or there has it.
        ("", "", "", Meant("", 0)),
        ("", "b", "", Meant("", 0)),
        ("", "", "a", Meant("a", by_name=True)),
        ("", "b", "a", Meant("a", by_name=True)),
        # The file's things of that name; where all of them are others of this book, and this one.
        ("", "a", "a", Meant("", 2)),
        ("", "", "ab", Meant("", 2)),
        ("", "a", "ab", Meant("", 2)),
        ("", "ab", "ab", Meant("", 3)),
        ("", "abc", "ab", Meant("", 3)),
    ],
)
def test_a_name_leads_to_one_thing_or_to_none(
    known_as: str, others: str, named: str, found: Meant
) -> None:
    """Each letter is a key of the file."""
    assert meant(set(known_as), set(others), set(named)) == found
