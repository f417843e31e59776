"""Heat at the lap and at the heater: pure functions, a source in each docstring.

Invariant: no function here reads or writes anything, and each works on plain
numbers and on numpy arrays alike.
"""
