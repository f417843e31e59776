"""That the power was lost, said in words: it ends the go-ahead as the option does, or is asked about.

A new strip after the power was lost: common practice, no source. The words are ours.
"""

from __future__ import annotations

from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"


@pytest.fixture
def welding(go_ahead: Any) -> Any:
    """A1 in work on S1."""
    go_ahead.clock.set("07:20")
    go_ahead.ok(f"seam start A1 {SET}")
    go_ahead.clock.set("07:27")
    return go_ahead


def stands(book: Any) -> bool:
    """Whether the go-ahead stands still."""
    return bool(book("go-ahead").code == 0)


def said(book: Any, *words: str) -> str:
    """What a command answers, unfolded."""
    return " ".join(book.ok(*words).out.split())


@pytest.mark.parametrize(
    "why", ["power lost", "The power went out.", "Lost power", "hubo un corte de energía"]
)
def test_words_that_say_no_more_than_that_the_power_was_lost_count(welding: Any, why: str) -> None:
    """As --power-lost does, and it is said, with how to take it back."""
    answer = said(welding, "seam", "finish", "A1", "--to", "20", "--why", why)
    assert "POWER LOST: the go-ahead ends here. If not: weldcal amend R1 power_lost no" in answer
    assert not stands(welding)
    assert "the power was lost" in said(welding, "trace A1")
    welding.ok('amend R1 power_lost no --why "only the radio"')
    assert stands(welding)


@pytest.mark.parametrize("why", ["power cord too short", "waited for the generator", "sin luz no"])
def test_other_words_on_the_power_are_asked_about(welding: Any, why: str) -> None:
    """Nobody is overruled, and nothing passes by in silence."""
    answer = said(welding, "seam", "finish", "A1", "--to", "20", "--why", why)
    assert "If the power was lost, say so: weldcal amend R1 power_lost yes" in answer
    assert stands(welding)
    welding.ok('amend R1 power_lost yes --why "it was"')
    assert not stands(welding)


def test_other_reasons_and_the_option_itself_say_nothing_of_it(welding: Any) -> None:
    """No question where there is none."""
    assert "power" not in said(welding, 'seam finish A1 --to 20 --why "end of row"')
    welding.ok(f"seam start A2 {SET}")
    assert "amend" not in said(welding, 'seam finish A2 --to 20 --power-lost --why "power lost"')
    assert not stands(welding)


def test_a_correction_that_speaks_of_the_power_is_asked_about(welding: Any) -> None:
    """Its reason is no field of the run: the field is named."""
    welding.ok("seam finish A1 --to 20")
    hint = "If the power was lost, say so: weldcal amend R1 power_lost yes"
    assert hint in said(welding, 'amend R1 end 19 --why "power lost"')
    assert hint in said(welding, 'amend R1 why "power lost" --why "said later"')
    assert "power" not in said(welding, 'amend R1 end 18 --why "misread"')
    assert "say so" not in said(welding, 'amend R1 power_lost yes --why "power lost"')
    assert "say so" not in said(welding, 'amend R1 end 19 --why "power lost"')
