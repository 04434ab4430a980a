"""Rank 4: what jaws, weights and temperature do to a ball.

`jaw_forces` says with what force the jaws closed, `jaw_contact` how much a hollow and a solid ball ought to give way,
`squeeze` how large the ball is without any force, `thermal` how large at another temperature. `deformation` keeps
readings of a press, which stand for that press alone.
"""
