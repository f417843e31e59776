"""Pages to be handed on: what they say as plain data, then as HTML and as PDF.

Invariant: both are made from one document, so they say the same. What people
typed goes in as data and never as HTML, typst or SVG.
"""
