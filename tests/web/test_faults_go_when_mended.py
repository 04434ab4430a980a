"""A fault stands beside its field until the field is edited, and no longer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from servers import bench_server

from ballbench.workflows.opening import open_notebook


def test_a_fault_goes_with_the_first_edit_of_its_field(browser: Any, tmp_path: Path) -> None:
    """An empty study form marks its fields; filling one takes away its own fault, its mark and its line on top."""
    notebook = open_notebook(tmp_path / "notebook")
    with bench_server(notebook) as server:
        page = browser.new_page()
        page.goto(f"http://{server.host}/qualify/new?requirement=golf")
        page.get_by_role("button", name="Set it up").click()
        summary, make = page.locator(".faults h2"), page.locator('[name="make"]')
        count = int(summary.inner_text().split()[0])
        beside = page.locator("p.fault")
        assert beside.count() == count >= 3
        assert "Found an empty field. Allowed: an entry; this field is needed." in beside.first.inner_text()
        assert make.get_attribute("aria-invalid") == "true"
        make.fill("Curlew")
        assert make.get_attribute("aria-invalid") is None
        assert beside.count() == count - 1
        assert summary.inner_text() == f"{count - 1} things cannot be used yet"
        page.get_by_role("button", name="Set it up").click()
        assert beside.count() == count - 1
        page.close()
    notebook.close()
