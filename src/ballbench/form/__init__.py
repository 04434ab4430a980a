"""Rank 4: how far a ball is from round, as two-point and three-point readings show it.

`two_point` says how much of a diameter's variation so many axes catch, `display_floor` what a round ball shows of it
through noise and display. `vee_block` reads the lobes that no caliper sees.
"""
