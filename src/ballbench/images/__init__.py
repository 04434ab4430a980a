"""Pixels become the outline of a ball: where it is, its edge below a pixel, rays, scale, and why it is refused."""
