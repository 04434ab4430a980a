"""How a ball bounces: flights between impacts become restitution and rebound, of a drop, of a ball and of a product."""
