"""Intake: other people's files, row by row; nothing is guessed unseen.

Invariant: every row of a file is either a record or a refusal that names the row,
the column, the value and what would be accepted. Cells are text: nothing in a
file is run or interpreted.
"""
