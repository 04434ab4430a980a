"""Rank 8: the command line, a thin shell: options in, one workflow, presentation out."""
