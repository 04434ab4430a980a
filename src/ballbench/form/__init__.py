"""Rank 4: how far a ball is from round, as two-point readings, three-point readings and outlines show it.

`two_point` says how much of a diameter's variation so many axes catch, `display_floor` what a round ball shows of it
through noise and display. `vee_block` reads the lobes that no caliper sees. Of a whole outline `roundness_filter` says
what counts as form, `reference_circles` (on `circle_exchange`) what it is measured from, `form_interval` what noise
leaves open of it; `harmonics` gives the lobes, `predicted_diameters` what a caliper sees of them, and
`error_separation` tells the ball from the camera.
"""
