"""Sized cases beside the least that could be spent on them; `python -m benchmarks` (`make bench`) reports, judges nothing.

Each case checks that it measured the right thing, by counts and by truths that the invented data were made with. No
time is ever asserted: the machine is noted in the report, and a reader compares like with like.
"""
