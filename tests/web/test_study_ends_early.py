"""A repeat study with places left is finished and kept only by somebody who was asked once more."""

from __future__ import annotations

import re
import uuid
from pathlib import Path
from typing import Any

from servers import Running, act, bench_server

from ballbench.workflows.opening import open_notebook
from ballbench.workflows.set_up import (
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    SetUp,
    set_up_test,
)


def a_study(notebook: Any) -> int:
    """Set up three golf balls, each read twice by Ada, and a steel ball; nothing is read."""
    sent = act()
    return set_up_test(notebook, SetUp(
        str(uuid.uuid4()), sent["client"], sent["by"], sent["at"], "golf", (MakePlan("Curlew", (BoxPlan("C-1", 3),)),),
        (QuantityPlan("diameter", (), 2, "caliper"),), (InstrumentPlan("caliper", "diameter", "mm", 0.01),),
        references=(ReferencePlan("steel ball", "diameter", 42.7, 0.001, "mm", "caliper"),), title="A study",
        purpose="repeat study", people=("Ada",), blind=False, invented=True, seed=1,
    )).id  # fmt: skip


def test_finish_and_keep_each_ask_once_where_readings_are_left(browser: Any, tmp_path: Path) -> None:
    """One check and no reading: both forms say what is left and stay; the second press goes on."""
    notebook = open_notebook(tmp_path / "notebook")
    test = a_study(notebook)
    with bench_server(notebook) as server:
        state = server.ask("GET", f"/api/tests/{test}/bench").json()
        check = next(one["id"] for one in state["places"] if one["ball"] is None)
        assert server.post(f"/api/tests/{test}/readings", act(place=check, text="42.70")).json()["status"] == "kept"
        page = browser.new_page()
        page.goto(f"http://{server.host}/tests/{test}#finish")
        page.locator("#finish-by").fill("Ada")
        page.get_by_role("button", name="Finish the test").click()
        asked = page.locator("#finish-waits")
        asked.wait_for()
        assert re.search(r"Not taken of the plan: 6\sreadings and \d instrument checks?", asked.inner_text())
        assert server.ask("GET", f"/api/tests/{test}/bench").json()["test"]["stage"] != "finished"
        page.get_by_role("button", name="Finish all the same").click()
        page.wait_for_url(re.compile(r"/qualify$"))
        page.locator("#keep-by").fill("Ada")
        page.get_by_role("button", name="Keep this for the instrument").click()
        page.locator("#keep-asks").wait_for()
        assert page.locator("#keep-asks").inner_text().startswith("Taken: 1 of ")
        page.get_by_role("button", name="Keep it all the same").click()
        page.wait_for_url(f"http://{server.host}/qualify")
        page.close()
    notebook.close()


def read(server: Running, test: int, place: int) -> str:
    """Read a place as the person whose turn it is, and give what came of it."""
    reply = server.post(f"/api/tests/{test}/readings", act(by="Ada", place=place, text="42.70")).json()
    return str(reply["status"])


def test_a_program_is_told_what_was_left(tmp_path: Path) -> None:
    """Whoever ends a study or keeps it through the interface is told in the answer what of the plan was not taken."""
    notebook = open_notebook(tmp_path / "notebook")
    test = a_study(notebook)
    with bench_server(notebook) as server:
        places = server.ask("GET", f"/api/tests/{test}/bench").json()["places"]
        checks = [one["id"] for one in places if one["ball"] is None]
        own = [one["id"] for one in places if one["ball"] is not None]
        for place in (checks[0], *own[:4]):
            assert read(server, test, place) == "kept"
        keep = act()
        kept = server.post(f"/api/tests/{test}/qualification", keep)
        assert kept.status == 201, kept.body
        left = kept.json()["left"]
        assert (left["readings"], left["checks"]) == (len(own) - 4, len(checks) - 1)
        assert left["said"].startswith(f"Not taken of the plan: {len(own) - 4}")
        assert "rests on its repeats" in left["said"]
        ended = server.post(f"/api/tests/{test}/finish", act()).json()
        assert (ended["stage"], ended["left"]) == ("finished", left)
        server.post(f"/api/tests/{test}/finish", act(again=True))
        for place in (*own[4:], *checks[1:]):
            assert read(server, test, place) == "kept"
        assert server.post(f"/api/tests/{test}/finish", act()).json()["left"] == {
            "readings": 0, "checks": 0, "said": "",
        }  # fmt: skip
        again = server.post(f"/api/tests/{test}/qualification", keep)
        assert again.body == kept.body, "sent again, the same answer: as it was kept"
    notebook.close()
