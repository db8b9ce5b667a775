"""Drawings made for the pages, as SVG text without scripts or inline styles."""
