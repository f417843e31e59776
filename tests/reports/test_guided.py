"""Talks of the guided day, every question explained first: `?`, then the answer, as on a screen."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pages.program import Program
from tests.reports import approved

JOB = (
    'weldcal job new "School roof (invented)" --units UNITS --zone America/Denver --by "Ana Ruiz" '
    '--sheet "base: SBS base sheet" --machine "blue: SPEED" --instrument "tape: tape" '
    '--person "Ana Ruiz: AR, operator" --person "Ben Okoro: BO, inspector" '
    '--person "Cleo Marsh: CM, foreman"'
)
US = (JOB.replace("UNITS", "us").replace("SPEED", "ft/min 1-20 step 0.5"), "33ft")
SI = (JOB.replace("UNITS", "si").replace("SPEED", "m/min 0.5-6 step 0.1"), "10m")
TALKS = {
    "us operator": (
        US,
        "operator",
        "AR|no|60|66|4|55||4711|228|932|5.5|1/4,3/16,1/4|none|||932||1/4",
    ),
    "us inspector": (US, "inspector", "BO|2|A1|3|4|void|probed|||||"),
    "us foreman": (US, "foreman", "CM|1-9,12||yes|||||"),
    "si operator": (SI, "operator", "AR|16|19|2|55|||225|500|1.5|6mm,5,6|heavy|||||"),
}


@pytest.mark.parametrize("name", TALKS)
def test_a_talk_with_every_question_explained(name: str, tmp_path: Path) -> None:
    """What is asked, what it means, how it is typed, what else can be typed there."""
    (new, long), role, answers = TALKS[name]
    program = Program(tmp_path)
    for line in (new, 'weldcal me "Ana Ruiz"', f"weldcal seam add A1-A3 --length {long}"):
        program.run(line)
    each = enumerate(answers.split("|"))
    typed = [(f"07:{n:02}", text) for n, answer in each for text in ("?", answer)]
    shown = program.seen(f"weldcal day --for {role}", typed, 80)
    approved.held("guided", name, shown.partition("\n")[2])
