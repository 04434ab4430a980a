from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import CHECKS
from schemathesis.generation.modes import GenerationMode
from schemathesis.python.asgi import HOST
from servers import Silent, act, new_test

from ballbench.web.app import make_app
from ballbench.web.settings import Settings
from ballbench.workflows.bench_requests import Entry
from ballbench.workflows.measure import enter
from ballbench.workflows.opening import Notebook, open_notebook

PLACES = 18
EXAMPLES = 12
"""For each operation, good and bad; they are the same every time."""
HELD = (
    "not_a_server_error", "status_code_conformance", "content_type_conformance", "response_schema_conformance",
    "negative_data_rejection", "allow_header_conformance",
)  # fmt: skip
"""What is checked of every answer."""
GOOD = {
    "by": "E",
    "text": "42.70",
    "reason": "a draught",
    "kind": "impact",
    "value": 2,
    "quantity": "diameter",
    "axis": "seam",
    "csv": "product,ball,angle,low,high\nA,1,90,0,0.03\n",
    "spec": "",
}


def filled(notebook: Notebook) -> None:
    """Set up two tests, one of them blind, and read some of the balls."""
    for blind in (False, True):
        test = new_test(notebook, blind=blind)
        for place, text in enumerate(("42.70", "45.50", "nonsense"), 1):
            sent = act()
            request = Entry(sent["key"], sent["client"], "E", sent["at"], place + (test - 1) * PLACES, text)
            try:
                enter(notebook, test, request)
            except ValueError:
                assert text == "nonsense"


def local(app: Callable[..., Awaitable[None]]) -> Callable[..., Awaitable[None]]:
    """Let requests come from this machine: the client of the test says no address."""

    async def at_home(scope: dict[str, Any], receive: Any, send: Any) -> None:
        if scope["type"] == "http":
            scope["client"] = ("127.0.0.1", 1)
        await app(scope, receive, send)

    return at_home


@pytest.fixture(scope="module")
def interface(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The interface's own description, with a notebook behind it that holds two tests."""
    notebook = open_notebook(tmp_path_factory.mktemp("notebook"))
    filled(notebook)
    app = local(make_app(notebook, Settings(frozenset({HOST}))))
    yield schemathesis.openapi.from_asgi("/api/openapi.json", app)
    notebook.close()


def near(body: Any) -> Any:
    """Send acts about places, readings and balls that there are, and every second time a good reading and a name."""
    if not isinstance(body, dict):
        return body
    most = {"place": PLACES, "reading": 4, "ball": 6}
    made = {
        name: 1 + value % most[name] if name in most and type(value) is int else value for name, value in body.items()
    }
    if len(str(body)) % 2:
        made |= {name: good for name, good in GOOD.items() if name in body}
    return made


def inputs() -> dict[str, bool]:
    """Every operation of the interface but the stream, and whether there are inputs that do not fit its description.

    The stream has no end: `test_live.py` is about it.
    """
    paths = make_app(Silent(), Settings(frozenset({HOST}))).openapi()["paths"]
    found = {}
    for path, own in paths.items():
        for method, operation in own.items():
            bounds = [set(one["schema"]) - {"title", "description"} for one in operation.get("parameters", [])]
            found[f"{method.upper()} {path}"] = "requestBody" in operation or any(len(one) > 1 for one in bounds)
    return {label: wrong for label, wrong in found.items() if not label.endswith("/live")}


CASES = [(label, mode) for label, wrong in inputs().items() for mode in GenerationMode if mode.is_positive or wrong]


@pytest.mark.parametrize(("label", "mode"), CASES, ids=str)
def test_every_operation_keeps_to_its_description(interface: Any, label: str, mode: GenerationMode) -> None:
    """Made-up requests, good and bad, get no 5xx, and no status, kind or shape that the description does not name."""
    method, path = label.split(" ")
    operation = interface[path][method]
    test = 2 if path.endswith("/finish") else 1
    there = {"path_parameters": {"t": test}} if mode.is_positive and "{t}" in path else {}

    @settings(
        max_examples=EXAMPLES, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck)
    )
    @given(case=operation.as_strategy(mode, **there))
    def ask(case: Any) -> None:
        if mode.is_positive:
            case.body = near(case.body)
        case.call_and_validate(headers={"Origin": f"http://{HOST}"}, checks=[CHECKS.get_one(name) for name in HELD])

    ask()
