"""Heat, dew and power: pure functions, a source in each docstring.

Invariant: nothing is read but the published tables beside this file; heat works on plain
numbers and on numpy arrays alike.
"""
