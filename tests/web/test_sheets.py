from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from servers import Running, bench_server, new_test

from ballbench.web.problems import MEDIA_TYPE
from ballbench.workflows.opening import open_notebook


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A bench with one blind test."""
    folder: Path = tmp_path_factory.mktemp("notebook")
    notebook = open_notebook(folder)
    assert new_test(notebook, blind=True) == 1
    with bench_server(notebook) as running:
        yield running
    notebook.close()


@pytest.mark.parametrize(
    "name",
    ["bench-sheet.pdf", "bench-sheet.pdf?paper=letter", "labels.pdf", "cup-strips.pdf?pitch=60",
     "labels.pdf?columns=5&rows=13&width=38&height=21&left=8&top=12&gap_across=0&first=4"],
)  # fmt: skip
def test_paper_is_shown_by_the_browser(server: Running, name: str) -> None:
    """A PDF, shown in place, under a name that tells the test."""
    answer = server.ask("GET", f"/api/tests/1/{name}")
    assert (answer.status, answer.headers["content-type"]) == (200, "application/pdf")
    assert answer.headers["content-disposition"] == f'inline; filename="test-1-{name.partition("?")[0]}"'
    assert answer.body.startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("name", "status", "where"),
    [
        ("2/bench-sheet.pdf", 404, ["notebook"]), ("2/labels.pdf", 404, ["notebook"]),
        ("2/cup-strips.pdf", 404, ["notebook"]), ("1/bench-sheet.pdf?paper=a3", 422, ["paper"]),
        ("1/labels.pdf?columns=9", 422, ["columns"]), ("1/labels.pdf?columns=0&width=2", 422, ["columns", "width"]),
        ("1/labels.pdf?width=nan", 422, ["width"]), ("1/labels.pdf?rows=many", 422, ["rows"]),
        ("1/cup-strips.pdf?pitch=2", 422, ["pitch"]),
    ],
)  # fmt: skip
def test_what_cannot_be_printed_is_a_problem(server: Running, name: str, status: int, where: list[str]) -> None:
    """Each fault names its field, in the one shape of a problem (RFC 9457)."""
    answer = server.ask("GET", f"/api/tests/{name}")
    assert (answer.status, answer.headers["content-type"]) == (status, MEDIA_TYPE)
    assert [fault["where"] for fault in json.loads(answer.body)["faults"]] == where


def test_pages_lead_to_the_paper(server: Running) -> None:
    """The page of a test and its list of numbers link to paper, and every such link is answered."""
    wanted = {"/tests/1": ("bench-sheet.pdf", "bench-sheet.pdf?paper=letter", "labels.pdf", "cup-strips.pdf"),
              "/tests/1/numbers": ("labels.pdf", "cup-strips.pdf")}  # fmt: skip
    for address, names in wanted.items():
        page = server.ask("GET", address).body.decode("utf-8")
        for name in names:
            assert f'href="/api/tests/1/{name}"' in page
            assert server.ask("GET", f"/api/tests/1/{name}").status == 200
