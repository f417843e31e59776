"""What is written under docs/ is run, drawn and checked here; `python -m tests.pages` writes it anew.

Invariant: no output and no picture under docs/ is made by hand; each comes from
the program's own run on an invented roof under a clock that is set.
"""
