"""Photograph every page of the server at two sizes, to be looked at: ``make screenshots``.

Starts the server on a fresh folder, plans the built-in demo by clicking, fills the rack and the floor with
a little, and takes a picture of each page at 1024 × 768 and 1440 × 900. With ``--readme`` the three pictures
of the README are written to docs/img as well.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
SIZES = ((1024, 768), (1440, 900))
FLAGS = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--hide-scrollbars"]
PATIENCE_MS = 240_000
README = {"sheet": "page-sheet.png", "sheet-grips": "page-grips.png", "machine": "page-machine.png"}


@contextlib.contextmanager
def server(folder: Path) -> Iterator[str]:
    """A server on a folder; gives its address."""
    command = [sys.executable, "-m", "jawright", "serve", "--port", "0", "--folder", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=dict(os.environ)) as process:
        assert process.stdout is not None
        try:
            yield next(w for w in process.stdout.readline().split() if w.startswith("http://")).rstrip("/")
        finally:
            process.terminate()


def planned_demo(browser: Browser, address: str) -> str:
    """The demo as a job, planned; gives its id."""
    page = browser.new_page(base_url=address, viewport={"width": 1440, "height": 900})
    page.set_default_timeout(PATIENCE_MS)
    page.goto("/jobs")
    page.get_by_role("button", name="or start with the demo part").click()
    page.wait_for_url("**/jobs/*")
    job = page.url.rsplit("/", 1)[-1]
    page.wait_for_selector("#face")
    page.get_by_role("button", name="Plan this job").click()
    page.get_by_role("heading", name="The six questions").wait_for()
    page.close()
    return job


def fill(page: Page, job: str) -> None:
    """A second job without answers, a pair on the rack, a few readings."""
    page.goto("/jobs")
    page.set_input_files("#part-file", str(ROOT / "src" / "jawright" / "data" / "demo" / "pawl.step"))
    page.wait_for_selector("#face")
    page.goto(f"/jobs/{job}/machine/measure")
    page.locator(".choose a", has_text="position").first.click()
    for text in ("0.012", "0.020", "0.016"):
        for box in page.locator(".asks input").all():
            box.fill(text)
        page.get_by_role("button", name="Enter", exact=True).click()
        page.get_by_role("button", name="Keep", exact=True).click()
    page.goto("/rack")
    page.locator("#rack-job").select_option(job)
    page.locator("#rack-place").fill("Drawer 3, tray B")
    page.locator("#rack-id").fill("DW-114-1")
    page.get_by_role("button", name="Put this pair on the rack").click()
    page.wait_for_url("**/rack/DW-114-1")
    page.locator("#to").fill("mill 2")
    page.get_by_role("button", name="Out", exact=True).click()
    page.get_by_role("heading", name="Put it back", exact=True).wait_for()
    rows = "\n".join(
        f"{k},{0.01 * (k % 5):.3f},{0.005 * (k % 5) + 0.0001 * (k * k % 7):.4f}" for k in range(1, 31)
    )
    page.goto(f"/jobs/{job}/diagnosis")
    page.locator("#run-text").fill(f"part,size_mm,pivot_y_mm\n{rows}\n")
    page.get_by_role("button", name="Diagnose").click()
    page.get_by_role("heading", name="It says").wait_for()
    page.goto(f"/jobs/{job}/first")
    page.locator('[name="reading.1"]').first.fill("0.012")
    page.locator('[name="unsure.1"]').fill("0.004")
    page.get_by_role("button", name="Judge and keep").click()
    page.locator("form.touched").wait_for(state="detached")


def shoot(browser: Browser, address: str, job: str, out: Path) -> list[Path]:
    """Every page at both sizes."""
    at = f"/jobs/{job}"
    pages = {
        "jobs": "/jobs",
        "job": at,
        "job-empty": "/jobs/pawl",
        "sheet": f"{at}/sheet",
        "sheet-try": f"{at}/sheet#try",
        "sheet-grips": f"{at}/sheet#grips",
        "sheet-locates": f"{at}/sheet#locates",
        "sheet-rivals": f"{at}/sheet#rivals",
        "sheet-see": f"{at}/sheet#see",
        "sheet-files": f"{at}/sheet#files",
        "first-article": f"{at}/first",
        "diagnosis": f"{at}/diagnosis",
        "rack": "/rack",
        "rack-pair": "/rack/DW-114-1",
        "rack-find": f"/rack/find?job={job}",
        "shop-vises": "/shop/vises",
        "shop-vise": "/shop/vises/0",
        "shop-cutters": "/shop/cutters",
        "shop-machine": "/shop/machine",
        "machine": f"{at}/machine",
        "machine-dark": f"{at}/machine",
        "machine-steps": f"{at}/machine/steps",
        "machine-measure": f"{at}/machine/measure",
        "machine-one": f"{at}/machine/measure/6",
        "machine-wrong": f"{at}/machine/wrong",
        "machine-answer": f"{at}/machine/wrong/rocks?a=0.1&b=0.01",
        "not-found": "/jobs/nothing-here",
        "specimen": "/specimen",
    }
    made = []
    for width, height in SIZES:
        for name, path in pages.items():
            page = browser.new_page(
                base_url=address,
                viewport={"width": width, "height": height},
                color_scheme="dark" if name.endswith("dark") else "light",
            )
            page.set_default_timeout(PATIENCE_MS)
            page.goto(path, wait_until="networkidle")
            _open(page, name)
            file = out / f"{name}-{width}x{height}.png"
            page.screenshot(path=file)
            made.append(file)
            page.close()
    return made


def _open(page: Page, name: str) -> None:
    """What has to be opened before it is seen."""
    if name == "sheet-see":
        page.locator("[data-view] [data-open]").click()
        page.wait_for_selector("[data-drawn]")
        page.locator("#times").fill("200")
        page.locator("[data-play] [data-open]").click()
        page.wait_for_selector("[data-play] canvas", state="visible")
        page.wait_for_timeout(300)
        page.locator("#when").fill("300")
        page.locator("#see").scroll_into_view_if_needed()
    if name == "sheet-try":
        page.locator("#try-hold-turn").fill("183 deg")
        page.wait_for_selector("body.tried")
        page.wait_for_timeout(2500)
    if name == "sheet-grips":
        page.wait_for_selector(".taper svg")
    if "#" in page.url:
        page.evaluate("document.querySelector(location.hash)?.scrollIntoView()")


def main() -> None:
    """Take all pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", default=str(ROOT / "out" / "screens"))
    parser.add_argument("--readme", action="store_true", help="write the README's three pictures as well")
    parser.add_argument("--address", default="", help="photograph a server that runs already")
    parser.add_argument("--job", default="", help="planned job on that server")
    parser.add_argument("--fill", action="store_true", help="fill its rack and floor as well")
    args = parser.parse_args()
    out = Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    with contextlib.ExitStack() as stack:
        address = args.address
        if not address:
            folder = stack.enter_context(tempfile.TemporaryDirectory())
            address = stack.enter_context(server(Path(folder)))
        play = stack.enter_context(sync_playwright())
        browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
        job = args.job or planned_demo(browser, address)
        if args.fill or not args.job:
            page = browser.new_page(base_url=address)
            page.set_default_timeout(PATIENCE_MS)
            fill(page, job)
            page.close()
        made = shoot(browser, address, job, out)
        browser.close()
    print(f"{len(made)} pictures in {out}")
    if args.readme:
        for name, to in README.items():
            shutil.copyfile(out / f"{name}-1440x900.png", ROOT / "docs" / "img" / to)


if __name__ == "__main__":
    main()
