from __future__ import annotations

import doctest
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from doc_pages import flat, page, section
from opened_bench import SHOWN_PORT, opened

from ballbench.web.app import make_app
from ballbench.web.settings import Settings
from ballbench.workflows.opening import Notebook, open_notebook
from ballbench.workflows.sittings import MARKS

API = page("docs/api.md")


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    made = open_notebook(tmp_path_factory.mktemp("notebook"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def described(notebook: Notebook) -> dict[str, Any]:
    """The description that a bench gives of its interface."""
    return make_app(notebook, Settings(frozenset())).openapi()


def test_the_examples_run_against_an_open_bench(tmp_path: Path) -> None:
    """Every example of the page runs on a new notebook, one after another, and prints what stands below it."""
    with opened(tmp_path) as bench:
        text = API.replace(f"127.0.0.1:{SHOWN_PORT}", f"127.0.0.1:{bench.port}")
        examples = doctest.DocTestParser().get_doctest(text, {}, "api.md", "docs/api.md", 0)
        runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
        told: list[str] = []
        done = runner.run(examples, out=told.append)
        assert done.failed == 0, "".join(told)
        assert done.attempted > 20
    assert bench.status == 0


def test_the_page_lists_every_route_and_no_other(described: dict[str, Any]) -> None:
    """Its table and the description of the interface name the same addresses and methods."""
    listed = re.findall(r"`((?:GET|POST) /api/[^`?]*)`", section(API, "Everything there is"))
    there = {f"{method.upper()} {path}" for path, methods in described["paths"].items() for method in methods}
    assert sorted(listed) == sorted(there)


def test_the_page_explains_every_status(described: dict[str, Any]) -> None:
    """Each status of a problem that the description names stands in the table, and 500 beside them."""
    rows = re.findall(r"^\| ([\d, ]+) \|", section(API, "Errors"), re.MULTILINE)
    told = {status for row in rows for status in row.split(", ")}
    answers = {s for methods in described["paths"].values() for one in methods.values() for s in one["responses"]}
    assert told == {status for status in answers if status >= "400"} | {"500"}


def test_the_page_names_what_every_act_carries(described: dict[str, Any]) -> None:
    """The fields of its table are those that every act at the bench needs."""
    shapes = described["components"]["schemas"]
    common = set.intersection(*(set(shapes[name]["properties"]) for name in ("NewEntry", "NewMark", "NewTest")))
    rows = re.findall(r"^\| `(\w+)` \|", section(API, "What an act carries"), re.MULTILINE)
    assert set(rows) == common


def test_the_page_names_every_kind_of_mark() -> None:
    """What can be noted, in the page's words and in the workflow's."""
    told = re.search(r"`marks` of these kinds: (.*?); `value`", flat(API))
    assert told is not None
    assert set(re.findall(r"`([^`]+)`", told[1])) == set(MARKS)


def test_the_bounds_on_bodies_are_those_of_the_server() -> None:
    """1 MiB of JSON and 64 MiB of files, a heartbeat of 15 s."""
    usual = Settings(frozenset())
    assert (usual.json_bytes, usual.upload_bytes, usual.heartbeat_s) == (2**20, 64 * 2**20, 15.0)
    assert "1 MiB of JSON, 64 MiB of files" in flat(API)
    assert "at least every 15 s" in flat(API)
