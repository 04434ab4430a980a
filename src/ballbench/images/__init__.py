"""Pixels become the outline of a ball: where it is, its edge below a pixel, rays, scale, and why it is refused.

`finding.py` is the way through: `round_things.py` finds what is round on a reduced picture, `ray_search.py` lays rays
over it, `edge_fit.py` fits the blurred edge to the pixels themselves, in the coordinates of `view.py`, which takes lens
and perspective out; `refusals.py` says when the result is worth nothing. `outline.py` holds the result.
"""
