"""Recordings at the bench page: one is read, its picks are mended, its value is kept with it."""
