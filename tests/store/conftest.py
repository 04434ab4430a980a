from __future__ import annotations

import shutil
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from database_server import PROGRAMS, Server, running_server
from places import NotebookPlace

from ballbench.store import Notebook, open_notebook

LEFT_OUT = "LEFT OUT: no PostgreSQL server on this machine, so the notebook was not tried on one"


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server of this run's own."""
    if PROGRAMS is None:
        pytest.skip(LEFT_OUT)
    with running_server() as running:
        yield running


@pytest.fixture
def on_server(server: Server) -> NotebookPlace:
    """An empty database."""
    name = f"n{uuid.uuid4().hex}"
    server.make(name)
    return NotebookPlace(server.address(name), server, name)


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> NotebookPlace:
    """Where a notebook can be made: a folder, then an empty database of a server."""
    if request.param == "postgresql":
        return request.getfixturevalue("on_server")
    return NotebookPlace(str(tmp_path / "notebook"))


@pytest.fixture(scope="session")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A notebook in which nothing is yet, to be copied: making one takes ten times as long."""
    folder = tmp_path_factory.mktemp("blank") / "notebook"
    open_notebook(folder).close()
    return folder


@pytest.fixture
def notebook(place: NotebookPlace, blank: Path) -> Iterator[Notebook]:
    """A new notebook, on one database after the other."""
    if place.server is None:
        shutil.copytree(blank, place.address)
    opened = open_notebook(place.address)
    yield opened
    opened.close()
