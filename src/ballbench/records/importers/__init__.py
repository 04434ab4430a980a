"""Tables from the outside: one file a format (text, workbook), one a form (long, wide), then the same checks for all.

The bytes pass `file_intake`; `csv_text` or `xlsx` makes a `grid` of text cells; `long_form` or `wide_form` makes a
`draft`, one row a reading; `assembly` checks names, values, units and repeats column by column and makes the table.
"""

from __future__ import annotations

from ballbench.records.importers.reading_file import read_readings

__all__ = ["read_readings"]
