"""Measure samples of sports balls and say, clause by clause, what the readings can and cannot show."""

__all__ = ["__version__"]

__version__ = "0.1.0"
