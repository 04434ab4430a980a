"""Sheets of paper for the bench: what is written on by hand, cut out, stuck on or laid under a ball."""
