"""Open the notebook that a person works in."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_data_path

from ballbench.store import Notebook, open_notebook
from ballbench.store.bench import notebook_name

__all__ = ["Notebook", "name_of", "open_notebook", "usual_folder"]


def usual_folder() -> Path:
    """Give the folder of the notebook where none is named: that which the platform keeps for a program's data."""
    return user_data_path("ballbench", appauthor=False) / "notebook"


def name_of(notebook: Notebook) -> str:
    """Give the random name of a notebook, made when its tables were."""
    with notebook.read() as tx:
        return notebook_name(tx)
