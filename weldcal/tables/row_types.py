"""Kept only until the branches in flight import `weldcal.row_types`."""

# ruff: noqa: F403
from weldcal.row_types import *
from weldcal.row_types import TABLES as TABLES
