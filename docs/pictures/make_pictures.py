"""Make the pictures of the documentation: `make pictures`.

A bench is opened on a new notebook, the invented winter league is laid out in it (`winter_scene.py`), and every page is
photographed in a real browser in three widths, light and dark. The README's picture of findings is taken from the
report of `ballbench demo` in the same way. So no picture shows anything that the tool does not print.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from winter_scene import CLIENT, NOW, SOUND, Interface, Scene, lay_out, with_drops

from ballbench.cli.demonstrating import run_demo

HERE = Path(__file__).parent
WIDTHS = {1440: 900, 768: 1024, 390: 844}
"""Widths and heights of the pictures, px: a desk, a tablet held upright, a phone."""
SCHEMES = ("light", "dark")
COLOURS = 128
"""Colours a picture keeps: enough for flat drawings, and a third of the size."""
PATIENCE_MS = 60_000
DRAWN_ALIKE = [
    "--no-sandbox", "--disable-gpu", "--disable-partial-raster", "--num-raster-threads=1",
    "--font-render-hinting=none", "--disable-lcd-text", "--force-color-profile=srgb",
]  # fmt: skip
"""Settings with which the browser draws the same page in the same dots each time."""
REPORT_WIDTH, REPORT_HEIGHT = 1100, 1180
TWO_FRAMES = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
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


@contextmanager
def open_bench(notebook: Path) -> Iterator[str]:
    """Open a bench as a person does, and give its address."""
    words = ("open", "--notebook", str(notebook), "--port", "0", "--no-browser")
    command = [sys.executable, "-m", "ballbench.cli.main", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:  # noqa: S603 - the tool itself
        try:
            address = next(iter(process.stdout or ()), "").rpartition(" ")[2].strip()
            if not address.startswith("http://127.0.0.1:"):
                raise RuntimeError("the bench did not open; its own message stands above")
            yield address
        finally:
            process.terminate()


def pages_of(scene: Scene) -> dict[str, str]:
    """Give every page by the name of its pictures."""
    return {
        "home": "/",
        "choose": "/tests/new",
        "set-up": "/tests/new?requirement=table-tennis-plastic",
        "test": f"/tests/{scene.half}",
        "test-blind": f"/tests/{scene.blind}",
        "judge": f"/tests/{scene.league}/judge",
        "judge-blind": f"/tests/{scene.blind}/judge",
        "compare": f"/tests/{scene.league}/compare",
        "corrections": f"/tests/{scene.half}/corrections",
        "library": "/tests",
        "boxes": "/boxes",
        "instruments": "/qualify",
        "repeat-study": "/qualify/new?requirement=table-tennis-plastic",
        "qualify": f"/tests/{scene.study}/qualify",
        "plan-form": "/plan?requirement=table-tennis-plastic",
        "plan": f"/plans/{scene.plan}",
        "box": f"/boxes/{scene.box}",
        "quick": "/quick",
        "quick-result": f"/quick/{scene.quick}",
        "share": "/share",
        "vee": "/vee",
        "press": "/press",
        "roll": "/roll",
        "trace": "/trace",
        "watch": "/watch",
        "measure-blind": f"/tests/{scene.blind}/measure",
        "measure": f"/tests/{scene.half}/measure",
    }


def photograph(browser: Browser, address: str, scene: Scene, bench: Interface) -> None:
    """Take every page in every width, light and dark; what leaves something on other pages comes last."""
    context = browser.new_context(timezone_id="UTC", locale="en-GB", reduced_motion="reduce")
    context.add_init_script(
        f"localStorage.setItem('ballbench.by', 'E'); sessionStorage.setItem('ballbench.client', '{CLIENT}');"
    )
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.clock.set_fixed_time(NOW)
    for name, path in pages_of(scene).items():
        take(page, name, address + path)
    page.set_viewport_size({"width": 1440, "height": 900})
    page.get_by_test_id("entry").fill("42.07")
    page.get_by_test_id("entry").press("Enter")
    page.get_by_test_id("ask").wait_for()
    take(page, "measure-asked", f"{address}/tests/{scene.half}/measure")
    recorded(page, "listen", f"{address}/listen", "What it tells")
    recorded(page, "recordings", f"{address}/tests/{with_drops(bench)}/recordings", "Send and read it")
    context.close()


def recorded(page: Page, name: str, address: str, button: str) -> None:
    """Photograph a page on which a sound was read, from what was heard on; one impact is in hand."""
    page.goto(address)
    page.locator("#listen-ball").fill("40.2 mm, 2.72 g")
    page.locator("#listen-drop_height").fill("305 mm")
    page.locator("#file").set_input_files(SOUND)
    page.get_by_role("button", name=button).click()
    page.get_by_role("slider", name="Impact 2 of drop 1", exact=True).focus()
    in_all_sizes(page, name, "document.getElementById('mend-part').scrollIntoView()")


def take(page: Page, name: str, address: str) -> None:
    """Photograph one page; what follows the width of the window has drawn itself anew two frames later."""
    page.goto(address)
    if "/measure" in address:
        page.get_by_test_id("where").filter(has_text="Ball").wait_for()
    if name == "measure-asked":
        page.get_by_test_id("ask").wait_for()
    in_all_sizes(page, name)


def in_all_sizes(page: Page, name: str, first: str = "") -> None:
    """Photograph what stands on a page in every width, light and dark, after a script has put it in its place."""
    for width, height in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            page.evaluate(first or "null")
            page.evaluate(TWO_FRAMES)
            keep(page.screenshot(animations="disabled", caret="hide"), HERE / f"{name}-{width}-{scheme}.png")


def keep(picture: bytes, target: Path) -> None:
    """Write a picture with few colours."""
    target.write_bytes(picture)
    with Image.open(target) as whole:
        flat = whole.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    flat.save(target, optimize=True)


def picture_of_report(browser: Browser, report: Path) -> None:
    """Photograph one product of the report, light and dark."""
    page = browser.new_page(viewport={"width": REPORT_WIDTH, "height": REPORT_HEIGHT})
    for scheme, name in (("light", "findings.png"), ("dark", "findings-dark.png")):
        page.emulate_media(color_scheme=scheme)
        page.goto(report.resolve().as_uri())
        page.evaluate(KEEP_ONE_PRODUCT)
        bottom = page.evaluate("() => document.querySelector('article.decision').getBoundingClientRect().bottom")
        clip = {"x": 0, "y": 0, "width": REPORT_WIDTH, "height": min(bottom + 6, REPORT_HEIGHT)}
        keep(page.screenshot(clip=clip), HERE / name)


def main() -> int:
    """Write all pictures beside this file."""
    chromium = shutil.which("chromium")
    if chromium is None:
        print("no chromium on this machine; the pictures stay as they are", file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as browsers:
        browser = browsers.chromium.launch(executable_path=chromium, args=DRAWN_ALIKE)
        run_demo(Path(folder), seed=1)
        picture_of_report(browser, Path(folder) / "judgement.html")
        with open_bench(Path(folder) / "notebook") as address:
            bench = Interface(address)
            photograph(browser, address, lay_out(bench), bench)
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
