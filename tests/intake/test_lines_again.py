"""What is shown of a walk's line in full words, typed again, says the same; any line is read or refused."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from weldcal.errors import WeldcalError
from weldcal.intake import probe_line
from weldcal.intake.probe_line import KINDS, ProbeLine, read_probe
from weldcal.intake.strip_line import ListedNames, read_strip
from weldcal.quantities import Quantity

NAMES = ListedNames(("blue", "red 2"), ("base",))


FEET = st.builds("{}{}".format, st.integers(0, 40), st.sampled_from(["", "ft", " ft", "m", ".5"]))


FOUNDS = st.builds(
    "{} {} {} {}".format,
    st.sampled_from([*KINDS, "hueco", "fría"]),
    FEET,
    st.sampled_from(["", "3in", "2 in long", "to 41", "3"]),
    st.sampled_from(["", "x 1/2in", "1 in deep"]),
)


WALKS = (
    st.builds("sound {} to {}".format, FEET, FEET)
    | st.builds("sound to {}".format, FEET)
    | st.just("sound")
)


PROBE_LINES = st.builds(
    lambda *parts: " ".join(parts),
    WALKS,
    st.lists(FOUNDS, max_size=3).map(", ".join),
    st.sampled_from(["", "13:10", "13:10 to 13:25", "note a, b 3"]),
)


def same(value: Any) -> Any:
    """A value without how it was typed."""
    if isinstance(value, Quantity):
        return value.number, value.unit
    if hasattr(value, "__struct_fields__"):
        return {n: same(getattr(value, n)) for n in value.__struct_fields__}
    return tuple(map(same, value)) if isinstance(value, tuple) else value


@given(line=PROBE_LINES, units=st.sampled_from(["us", "si"]))
def test_a_walks_line_in_full_words_typed_again_says_the_same(line: str, units: str) -> None:
    """Accepted once, accepted again, and nothing changes."""
    try:
        found = read_probe([line], units)
    except WeldcalError:
        return
    again = read_probe([probe_line.typed_again(found)], units)
    assert same(again) == same(found)
    assert isinstance(again, ProbeLine)


@given(words=st.lists(st.text(max_size=12), max_size=8))
def test_any_line_is_read_or_refused_in_a_sentence(words: list[str]) -> None:
    """No slip of the finger ends in anything else."""
    for read in (lambda: read_strip(words, "us", NAMES), lambda: read_probe(words, "us")):
        try:
            read()
        except WeldcalError as error:
            assert str(error)
