"""Judgement: seam state, coverage, the go-ahead. Pure functions on plain values."""
