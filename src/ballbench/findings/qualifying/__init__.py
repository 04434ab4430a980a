"""Qualify an instrument: repeat study, checks against reference pieces, squeeze; together they make its bench entry."""
