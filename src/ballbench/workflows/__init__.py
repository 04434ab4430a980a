"""Rank 7: one module a user action: judge, compare, demo, specs. The shells call these and nothing below."""
