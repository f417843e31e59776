"""Tables again from saved rows: `python -m tests.bench.retally FOLDER [subject]`."""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from tests.bench.tally import Row, report

TEXT = {"kind", "method", "stage"}
VALUES = {"True": True, "False": False, "": None}


def load(path: Path) -> list[Row]:
    """Rows of a CSV file of the bench, with their types."""
    with path.open(newline="", encoding="utf-8") as file:
        return [
            {k: v if k in TEXT else _value(v) for k, v in r.items()} for r in csv.DictReader(file)
        ]


def _value(text: str) -> object:
    if text in VALUES:
        return VALUES[text]
    return int(text) if text.lstrip("-").isdigit() else float(text)


def main() -> None:
    folder = Path(sys.argv[1])
    subject = sys.argv[2] if len(sys.argv) > 2 else "weldcal"
    print(report(load(folder / "mornings.csv"), load(folder / "predictions.csv"), subject))


if __name__ == "__main__":
    main()
