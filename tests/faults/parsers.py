"""100,000 malformed inputs to the parsers.

    python -m tests.faults.parsers [TRIES]

Quantities, several readings, stretches, choices, names, times, zones, seal codes,
payloads, entries and lines of packs; near misses made from true ones. Shows that
each answers with a value or its documented refusal. It cannot show that a value
is the right one: that is for the tests of quantities and fields.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.keeping import forge, malformed

if __name__ == "__main__":
    tries = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    newest = sorted((Path(__file__).parents[2] / "fixtures" / "books").glob("schema-*.sqlite"))[-1]
    entries = forge.entries_of(newest)
    parsers = len(malformed.attempts(entries))
    taken, wrong = malformed.faults(entries, -(-tries // parsers), seed=2)
    for name, count in taken.items():
        print(f"{name}: {count} of {-(-tries // parsers)} were readable")
    print("\n".join(wrong[:20]))
    print(f"{parsers * -(-tries // parsers)} inputs, {len(wrong)} answers that are not documented")
    sys.exit(bool(wrong))
