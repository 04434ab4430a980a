"""Rank 5: findings become JSON, terminal text, a page, a PDF and pictures. Rounding for print happens here and only here.

This package imports nothing heavy by itself; import the submodule that is needed.
"""
