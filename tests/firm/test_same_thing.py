"""Which things of different jobs are one: the rule, by its laws."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from weldcal.rules.same_thing import NamedThing, SaidSame, one_thing

THINGS = [NamedThing((job, name), home) for job, home in (("1", ""), ("2", ""), ("3", ""), ("4", "x"))
          for name in ("blue", "red")]  # fmt: skip
KEYS = [thing.key for thing in THINGS]
words = st.lists(
    st.builds(SaidSame, st.sampled_from(KEYS), st.sampled_from(KEYS), st.booleans()).filter(
        lambda w: w.one != w.other
    ),
    max_size=8,
)


def test_a_name_goes_on_within_a_book_and_stops_at_its_edge() -> None:
    """Three jobs of one book, a fourth from another."""
    found = one_thing(THINGS, [])
    assert found["1", "blue"] == found["2", "blue"] == found["3", "blue"]
    assert found["4", "blue"] != found["1", "blue"]
    assert found["1", "red"] != found["1", "blue"]


def test_said_to_be_two_the_newer_one_goes_on() -> None:
    """The second job's machine was bought anew: the third job's is that one."""
    found = one_thing(THINGS, [SaidSame(("1", "blue"), ("2", "blue"), False)])
    assert found["1", "blue"] != found["2", "blue"] == found["3", "blue"]


@given(words)
def test_the_last_word_on_two_things_counts(said: list[SaidSame]) -> None:
    """Said last to be two, they are two; and a pair never said to be two, said to be one, is one."""
    found = one_thing(THINGS, said)
    last = {frozenset((w.one, w.other)): w.same for w in said}
    for pair, same in last.items():
        one, other = pair
        if not same:
            assert found[one] != found[other]
        elif all(last.values()):
            assert found[one] == found[other]


@given(words)
def test_nothing_is_lost_and_what_is_one_is_one_both_ways(said: list[SaidSame]) -> None:
    """Every thing has its group."""
    assert set(one_thing(THINGS, said)) == set(KEYS)
