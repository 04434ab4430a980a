"""Sized cases, each beside the least that could be spent on it: `python -m benchmarks`, or `make bench`.

Each case checks that it measured the right thing, by counts and by truths that the invented data were made with. No
time is ever asserted: the machine is noted in the report, and a reader compares like with like.
"""
