"""Steps from one shape of the notebook to the next; the first makes it."""
