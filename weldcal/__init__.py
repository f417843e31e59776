"""weldcal: find the travel speed for a hot-air lap, and keep the proof of every seam."""

__version__ = "0.1.0"
