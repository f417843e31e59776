"""Colours and signs of all drawings, in one place.

Invariant: no meaning rests on colour alone: each has a shape, a dash or a sign
of its own, and the fills differ in lightness, so they part in grey as well.
Contrasts and distances under colour blindness are held by a test.
"""

from __future__ import annotations

PAPER = "#ffffff"
INK = "#1a1a1a"
MUTED = "#595959"  # axes, small print, lap not welded
PROBED = "#1d4e89"  # solid: probed; also the middle of a fit
UNPROBED = "#ffd166"  # hollow: welded and not probed
OPEN = "#b3001b"  # open finding; outside the limits
BAND = "#dbe6f3"  # an interval
