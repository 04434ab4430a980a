from __future__ import annotations

from pathlib import Path

from servers import running, settings_for

from ballbench.web.app import make_app
from ballbench.workflows.opening import name_of, open_notebook


def test_an_act_for_another_notebook_is_not_taken(tmp_path: Path) -> None:
    """What waited for one notebook is refused by another on the same address (409), and taken by its own."""
    mine, other = (open_notebook(tmp_path / name) for name in ("mine", "other"))
    with running(lambda port: make_app(mine, settings_for(port))) as server:
        for meant, status in ((name_of(mine), 201), (name_of(other), 409)):
            who = {"client": "7f2d0000-0000-4000-8000-000000000001", "by": "E", "at": "2026-11-25T10:00:00+00:00"}
            act = {**who, "key": f"7f2d0000-0000-4000-8000-000000000{status}"}
            answer = server.post("/api/example", act, {"Ballbench-Notebook": meant})
            assert answer.status == status
        assert [fault["where"] for fault in answer.json()["faults"]] == ["notebook"]
        assert len(server.ask("GET", "/api/tests").json()["tests"]) == 1
        assert server.ask("GET", "/api/tests/1/bench").json()["notebook"] == name_of(mine)
    mine.close()
    other.close()
