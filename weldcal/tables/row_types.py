"""Kept only until the branches in flight import `weldcal.row_types`."""

from weldcal.row_types import *  # noqa: F403
from weldcal.row_types import TABLES as TABLES
