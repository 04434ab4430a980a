"""Rank 4: from arrays of readings to what the balls are.

The model of one quantity of one product, for ball i, axis j, repeat r::

    y_ijr = mu + a_j + b_i + f_ij + s + e_ijr

`study` holds the arrays and what is known of the noise; `grids` lays the model out on grids; `posterior` draws
exactly and independently from them; `effects` adds axis effects and shared errors with several levels; `latent`
handles coarse displays and extremes found by turning; `reductions` turns draws into the statistics of clauses;
`whole_ball` adds the form that the axes did not see. The other modules are classical statistics, one method each.
"""
