"""`python -m weldcal`: the same start as the command `weldcal`."""

from weldcal.cli.start import run

run()
