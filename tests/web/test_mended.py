from __future__ import annotations

from pathlib import Path

import pytest
from servers import bench_server

from ballbench.store import open_notebook

UNPRINTABLE = ["%00", "a%00b", "%07", "%E2%80%A8"]


@pytest.mark.parametrize("word", UNPRINTABLE)
def test_a_search_for_what_cannot_be_printed_is_refused(tmp_path: Path, word: str) -> None:
    """The list of tests answers 422 with a fault at `search`, the page of past tests is the page that says so."""
    notebook = open_notebook(tmp_path / "notebook")
    with bench_server(notebook) as server:
        told = server.ask("GET", f"/api/tests?search={word}")
        assert told.status == 422
        (fault,) = told.json()["faults"]
        assert (fault["where"], fault["allowed"]) == ("search", "printable characters on one line")
        page = server.ask("GET", f"/tests?search={word}")
        assert page.status == 422
        assert page.headers["content-type"].startswith("text/html")
        assert server.ask("GET", "/tests?search=%C3%89").status == 200
    notebook.close()
