"""Rank 2: values with unit and uncertainty, the quantities of the trade, and rounding for print."""
