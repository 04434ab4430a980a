"""What a film shows of a drop: rebound by gravity as the ruler, with what speaks against the film."""
