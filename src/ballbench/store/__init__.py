"""Rank 6: the notebook. SQL is written here and nowhere else.

`opening` makes or opens it and brings its tables up to date; `notebook` is the door through which everything is
written; the other modules each know a few tables.
"""

from __future__ import annotations

from ballbench.store.notebook import Change, Notebook, Reply, Tx
from ballbench.store.opening import open_notebook

__all__ = ["Change", "Notebook", "Reply", "Tx", "open_notebook"]
