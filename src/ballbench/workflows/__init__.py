"""Rank 7: one module a user action: set up, measure, correct, judge, compare, keep. The shells call no other."""
