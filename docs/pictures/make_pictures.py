"""Make the pictures of the README from the demonstration: `make pictures`.

The report of the invented winter league is opened in a real browser, and what is seen of one undecided product is
kept, so that the picture never shows anything that the tool does not print.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from ballbench.cli.judging import run_demo

HERE = Path(__file__).parent
WIDTH, HEIGHT = 1100, 1180
KEEP_ONE_PRODUCT = """
() => {
  const heads = [...document.querySelectorAll("main h2")];
  const last = heads.find(h => h.textContent.trim() === "Plover");
  const rest = [...document.querySelectorAll("main > *")];
  const start = rest.indexOf(heads[0]), here = rest.indexOf(last);
  rest.slice(start, here).forEach(e => e.remove());
  document.querySelectorAll("article.decision").forEach(a => {
    if (!a.querySelector(".word").textContent.includes("undecided")) a.remove();
  });
}
"""


def picture(page: Page, report: Path, dark: bool, target: Path) -> None:
    """Photograph one product of the report, light or dark."""
    page.emulate_media(color_scheme="dark" if dark else "light")
    page.goto(report.resolve().as_uri())
    page.evaluate(KEEP_ONE_PRODUCT)
    bottom = page.evaluate("() => document.querySelector('article.decision').getBoundingClientRect().bottom")
    page.screenshot(path=target, clip={"x": 0, "y": 0, "width": WIDTH, "height": min(bottom + 6, HEIGHT)})


def main() -> int:
    """Write findings.png and findings-dark.png beside this file."""
    chromium = shutil.which("chromium")
    if chromium is None:
        print("no chromium on this machine; the pictures stay as they are", file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as browsers:
        run_demo(Path(folder), seed=1)
        browser = browsers.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        for dark, name in ((False, "findings.png"), (True, "findings-dark.png")):
            picture(page, Path(folder) / "judgement.html", dark, HERE / name)
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
