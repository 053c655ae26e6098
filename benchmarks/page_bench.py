"""How long somebody at the browser waits, and how heavy the pages are.

    python benchmarks/page_bench.py

A server and a Chromium on this machine. Waits until something is shown are told by the page itself, from the
click until it is drawn: the browser's driver hears of it a quarter of a second later. The baseline is one
small file fetched by the same browser from the same server, so a ratio tells what the answer itself costs.
Waits are medians of wall clock and grow with whatever else the machine does; the aims are for two cores with
nothing else to do. Needs a Chromium.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

FLAGS = ["--no-sandbox"]
"""As anybody starts it: with all drawing done by software it took 2.7 s of processor time more."""
PATIENCE_MS = 300_000
TIMES = 15
FETCH = """async () => { const t = performance.now();
  await (await fetch('/static/mark.svg', {cache: 'no-store'})).text(); return performance.now() - t; }"""
SLIDE = """async (value) => { const s = document.querySelector('#taper-slide');
  const out = document.querySelector('.taper output');
  const changed = new Promise(done => { const w = new MutationObserver(() => { w.disconnect(); done(); });
    w.observe(out, {childList: true, subtree: true, characterData: true}); });
  const t = performance.now(); s.value = value; s.dispatchEvent(new Event('input', {bubbles: true}));
  await changed; return performance.now() - t; }"""
TURN = """async (value) => { const s = document.querySelector('input[data-for="try-hold-turn"]');
  const img = document.querySelector('figure.plan img'), body = document.body;
  const seen = (at, what, good) => new Promise(done => { const w = new MutationObserver(() => {
    if (good()) { w.disconnect(); done(performance.now()); } }); w.observe(at, what); });
  body.dataset.proven = 'no';
  const drawn = seen(img, {attributes: true}, () => true)
    .then(() => img.decode()).then(() => performance.now());
  const proven = seen(body, {attributes: true}, () => body.dataset.proven === 'yes');
  const t = performance.now(); s.value = value; s.dispatchEvent(new Event('input', {bubbles: true}));
  return [await drawn - t, await proven - t]; }"""


SHOWN = """() => { if (window.top !== window) return;
  const note = (name) => { const had = JSON.parse(sessionStorage.shown || '{}');
    if (!(name in had)) sessionStorage.shown = JSON.stringify({...had, [name]: Date.now()}); };
  const drawn = (name, pictures) => Promise.all(pictures.map(p => p.decode().catch(() => 0)))
    .then(() => requestAnimationFrame(() => setTimeout(() => note(name), 0)));
  const marks = {"part": "#face, #stage canvas", "drawings": "#so-far, #glance",
    "answers": "#so-far[data-answered=yes], #glance", "sheet": "#glance"};
  const look = () => { for (const [name, mark] of Object.entries(marks)) {
    const there = document.querySelectorAll(mark).length;
    if (name in seen || there < (name === "part" ? 2 : 1)) continue;
    seen[name] = true;
    drawn(name, name === "part" ? [] : [...document.querySelectorAll("figure.plan img")]); } };
  const seen = {};
  new MutationObserver(look).observe(document, {childList: true, subtree: true, attributes: true});
  document.addEventListener("click", (e) => { const on = e.target.closest("button");
    if (on) note(on.textContent.includes("demo part") ? "dropped" : "asked"); }, true); }"""
TOLD = """() => new Promise(done => { const t = setInterval(() => {
  const at = JSON.parse(sessionStorage.shown);
  if ("sheet" in at) { clearInterval(t); done(at); } }, 20); })"""


def first_sheet(page: Page) -> dict[str, float]:
    """The demo: its part dropped and read, then planned until its sheet is shown, as it comes [s].

    The whole counts what the driver takes to see the part and to press the button, as somebody would.
    """
    page.add_init_script(f"({SHOWN})()")
    page.goto("/jobs")
    page.wait_for_timeout(1500)  # nobody drops a file while the list of jobs is still being drawn
    page.get_by_role("button", name="or start with the demo part").click()
    page.wait_for_selector("#face")
    page.wait_for_selector("#stage canvas")
    page.get_by_role("button", name="Plan this job").click()
    page.wait_for_selector("#glance", timeout=PATIENCE_MS)
    at = page.evaluate(TOLD)
    out = {"part dropped to part shown": at["part"] - at["dropped"]}
    for words, mark in (("its drawings", "drawings"), ("six answers", "answers"), ("whole sheet", "sheet")):
        out[f"plan asked to {words}"] = at[mark] - at["asked"]
    for words, mark in (("drawings", "drawings"), ("six answers", "answers"), ("whole sheet", "sheet")):
        out[f"together, part dropped to {words}"] = at[mark] - at["dropped"]
    return {name: ms / 1e3 for name, ms in out.items()}


def weights(page: Page, job: str) -> list[tuple[str, float, float]]:
    """Every page with all it loads: kB over the line and unpacked."""
    at, out = f"/jobs/{job}", []
    for path in ("/jobs", at, f"{at}/sheet", f"{at}/machine", f"{at}/first", f"{at}/diagnosis", "/rack"):
        fresh = page.context.browser.new_context(base_url=page.url.split("/jobs")[0])  # type: ignore[union-attr]
        tab, packed, answers = fresh.new_page(), [0.0], []
        line = fresh.new_cdp_session(tab)
        line.send("Network.enable")
        line.on(
            "Network.loadingFinished", lambda e, p=packed: p.__setitem__(0, p[0] + e["encodedDataLength"])
        )
        tab.on("response", lambda r, a=answers: a.append(r))
        tab.goto(path, wait_until="networkidle")
        whole = sum(len(r.body()) for r in answers if r.ok)
        out.append((path.replace(job, "JOB"), packed[0] / 1e3, whole / 1e3))
        fresh.close()
    return out


def measure(page: Page) -> None:
    """All figures, printed."""
    waits = first_sheet(page)
    job = page.url.split("/")[-2]
    page.wait_for_selector(".taper svg")
    base = statistics.median(page.evaluate(FETCH) for _ in range(TIMES))
    low, high = (float(page.locator("#taper-slide").get_attribute(k) or 0) for k in ("min", "max"))
    slides = [page.evaluate(SLIDE, low + (high - low) * k / (TIMES + 1)) for k in range(1, TIMES + 1)]
    start = float(page.locator('input[data-for="try-hold-turn"]').input_value())
    sign = -1 if start > 0 else 1
    turns = [page.evaluate(TURN, start + sign * 0.5 * k) for k in range(1, 8)]
    rows = [
        (name, 1e3 * s, "6000" if name.endswith("dropped to whole sheet") else "")
        for name, s in waits.items()
    ]
    rows.append(("slider to new taper", statistics.median(slides), "100"))
    rows.append(("turned stance redrawn", statistics.median(t[0] for t in turns[1:]), "300"))
    rows.append(("turned stance, quick proofs", statistics.median(t[1] for t in turns[1:]), "1000"))
    print(f"{'wait':40} {'ms':>8} {'aim':>6} {'times the baseline':>20}")
    print(f"{'baseline: a small file fetched':40} {base:8.1f}")
    for name, ms, aim in rows:
        print(f"{name:40} {ms:8.1f} {aim:>6} {ms / base:20.1f}")
    print(f"\n{'page':28} {'kB over the line':>18} {'kB unpacked':>14}   (aim 1500)")
    for path, packed, whole in weights(page, job):
        print(f"{path:28} {packed:18.0f} {whole:14.0f}")


def main() -> None:
    """Start a server and a browser, measure, and end both."""
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if chromium is None:
        print("no Chromium here: nothing measured")
        return
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "jawright", "serve", "--port", "0", "--folder", str(Path(folder))]
        env = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
        with (
            subprocess.Popen(
                command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=env
            ) as server,
            sync_playwright() as play,
        ):
            assert server.stdout is not None
            address = next(w for w in server.stdout.readline().split() if w.startswith("http://")).rstrip("/")
            time.sleep(4)  # its first worker starts ahead, as it has when somebody opens the page
            browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
            page = browser.new_page(base_url=address, viewport={"width": 1440, "height": 900})
            page.set_default_timeout(PATIENCE_MS)
            measure(page)
            browser.close()
            server.terminate()


if __name__ == "__main__":
    main()
