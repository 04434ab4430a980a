"""Rank 6: findings become JSON, terminal text, page, PDF and pictures; rounding for print happens here alone.

This package imports nothing heavy by itself; import the submodule that is needed.
"""
