"""The page as somebody uses it: with the mouse, with the keyboard, with gloves."""

from __future__ import annotations

import contextlib
import http.client
import re
import socket
import time
import urllib.error
import urllib.request
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from browser.conftest import PATIENCE_MS, ROOT, Served
from jawright.doors.web.store import demo
from jawright.proof.model import QUESTIONS
from jawright.rack import entry
from jawright.rack.store import Rack
from papers import sample

AXE = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
PLAN_MS = 150_000  # a busy machine; alone it takes a tenth
OVER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
DECODED = """async () => { const all = [...document.querySelectorAll('figure img')];
  for (const i of all) i.loading = 'eager';
  return Promise.all(all.map(i => i.decode().then(() => i.naturalWidth > 0, () => false))); }"""
WORD = re.compile("PASS|CAUTION|FAIL|UNKNOWN")
WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}
GLOVE_PX = 57  # 15 mm at the 96 px to the inch that style sheets count in


@pytest.fixture
def pawl(tmp_path: Path) -> Path:
    path = tmp_path / "winch pawl.step"
    path.write_bytes(demo("pawl.step"))
    return path


def choose(tab: Page, words: str, use: str) -> None:
    """Choose a face in the list and use it."""
    option = tab.locator("#face option", has_text=words).first
    button = tab.locator("#pick").get_by_role("button", name=use, exact=True)
    tab.locator("#face").select_option(option.get_attribute("value"))
    expect(button).to_be_enabled()
    with tab.expect_response(re.compile(r"/pick$")):
        button.click()


def kept(tab: Page, served: Served, job: str, *said: str) -> None:
    """Wait until the server has what was said in the job's own text."""
    ends = time.monotonic() + PATIENCE_MS / 1000
    while not all(words in served.store.job(job).text() for words in said):
        assert time.monotonic() < ends, (said, served.store.job(job).text())
        tab.wait_for_timeout(50)  # what the tab asks meanwhile is answered, as no plain sleep would


def test_from_a_dropped_part_to_the_downloaded_package(tab: Page, served: Served, pawl: Path) -> None:
    tab.goto("/jobs")
    tab.set_input_files("#part-file", pawl)
    expect(tab.get_by_role("heading", name="winch pawl")).to_be_visible()
    expect(tab.locator("#face")).to_be_visible()
    expect(tab.locator("#stage[data-drawn]")).to_be_visible()  # before, a click meets no face

    # pick the top in the 3-D view, as seen from above
    tab.get_by_role("button", name="top view").click()
    box = tab.locator("#stage canvas").bounding_box()
    assert box is not None
    tab.mouse.click(box["x"] + 0.42 * box["width"], box["y"] + 0.62 * box["height"])
    expect(tab.locator("#stage .hover")).to_contain_text("faces +Z")
    tab.get_by_role("button", name="the face that is up").click()
    expect(tab.locator("#hold-up")).to_have_value("+Z")

    choose(tab, "faces -Z", "datum A")
    choose(tab, "faces +Y", "datum B")
    choose(tab, "faces -X", "datum C")
    expect(tab.locator(".datums li")).to_have_count(3)
    expect(tab.locator("#stage .tag")).to_have_count(3)
    choose(tab, "hole Ø10.00", "drill")
    tab.locator("#part-material").select_option("6061-T6")
    tab.locator("#job-quantity").fill("12")
    tab.locator("#job-quantity").press("Tab")
    tab.locator("#hold-vise").select_option("V150")
    kept(tab, served, "winch-pawl", '"6061-T6"', "quantity = 12", '"V150"')
    go = tab.get_by_role("button", name="Plan this job")
    expect(go).to_be_enabled()
    go.click()

    expect(tab.locator(".banner.going")).to_be_visible()
    tab.reload()  # in the middle of it
    expect(tab.get_by_role("heading", name="The six questions")).to_be_visible(timeout=PLAN_MS)
    expect(tab.locator(".question")).to_have_count(6)
    drawn = tab.evaluate(DECODED)
    assert len(drawn) > 5 and all(drawn), drawn
    with tab.expect_download() as download:
        tab.get_by_role("link", name="Download the package").click()
    names = zipfile.ZipFile(download.value.path()).namelist()
    assert any(n.endswith("setup-sheet.pdf") for n in names)
    assert any(n.endswith("job.toml") for n in names)

    plan = tab.locator("figure.plan img")
    planned = plan.get_attribute("src")
    # other spacers move the taper number at once, without a plan
    taper = tab.locator(".taper output b")
    expect(taper).to_contain_text(" mm")
    before = taper.inner_text()
    slider = tab.locator("#taper-slide")
    low = slider.get_attribute("min")
    slider.fill(low or "")
    expect(taper).not_to_have_text(before)
    expect(tab.locator("#grips-hold-spacer_height")).not_to_have_value("")
    tab.locator("#taper-owned").select_option(index=1)

    # another stance is drawn in place, and the quick questions are asked of it
    turn = float(tab.locator('input[data-for="try-hold-turn"]').input_value())
    tab.locator('input[data-for="try-hold-turn"]').fill(str(turn - 1 if turn > 0 else turn + 1))
    expect(tab.locator("body.tried")).to_have_count(1)
    expect(plan).to_have_attribute("src", re.compile("^data:image/svg"))
    strip = tab.locator("[data-trial]")
    expect(strip.locator('[data-tried="clears"] .verdict')).to_have_text(WORD)
    expect(tab.locator('[data-said="loads"]')).to_contain_text("as tried")
    strip.get_by_role("button", name="Back to the plan").click()
    expect(plan).to_have_attribute("src", planned or "")

    # torque turned in one section moves with its like in the others, and all six answer in place
    tab.locator('input[data-for="holds-hold-torque"]').fill("1")
    expect(tab.locator("#grips-hold-torque")).to_have_value("1 N·m")
    expect(tab.locator("#try-hold-torque")).to_have_value("1 N·m")
    expect(tab.locator('[data-said="holds"] .verdict')).to_have_text("FAIL")
    for q in QUESTIONS:
        expect(strip.locator(f'[data-tried="{q}"] .verdict')).to_have_text(WORD)
    tab.locator("#try-hold-fixed_jaw_datum").select_option("A")
    expect(tab.locator('#try [data-field="hold.fixed_jaw_datum"] .problem')).to_contain_text("Datum A")
    strip.get_by_role("button", name="Back to the plan").click()
    expect(tab.locator(".as-turned")).to_have_count(0)

    # the best stances side by side, and one of them tried
    tab.get_by_role("button", name="Design the best ones").click()
    expect(tab.locator(".beside li")).to_have_count(4)
    tab.get_by_role("button", name="Try stance").first.click()
    expect(tab.locator("body.tried")).to_have_count(1)
    expect(tab.locator("#try-hold-turn")).not_to_have_value("")
    strip.get_by_role("button", name="Back to the plan").click()

    # the hold in 3-D with what the clamp does, and the program cutting
    with tab.expect_response(re.compile("solids.json")) as solids:
        tab.get_by_role("button", name="Show in 3-D").click()
    bodies = solids.value.json()["bodies"]
    assert all(len(b["moved_um"]) == len(b["points_mm"]) for b in bodies.values())
    assert 0.5 < max(map(abs, bodies["fixed"]["moved_um"])) < 100  # it bends, by micrometers
    expect(tab.locator("[data-view][data-drawn]")).to_have_count(1)
    tab.locator("#times").fill("200")
    expect(tab.locator("[data-times]")).to_have_text("200 times larger")
    tab.get_by_role("button", name="Play the program").click()
    tab.get_by_role("button", name="Hold").click()
    tab.locator("#when").fill("60")
    expect(tab.locator("[data-line]")).to_contain_text("1 min 00 s")

    # turning a knob pins it and starts anew; stopping leaves the sheet as it was
    knob = tab.locator("#holds-hold-grip_depth")
    knob.fill("5 mm")
    tab.locator("#holds").get_by_role("button", name="Pin and plan again").click()
    expect(tab.locator(".banner.old")).to_contain_text("older than the job")
    tab.get_by_role("button", name="Stop").click()
    expect(tab.locator("#run strong", has_text="Stopped.")).to_be_visible()
    kept(tab, served, "winch-pawl", 'grip_depth = "5 mm"')
    tab.get_by_role("button", name="Undo").click()
    expect(tab.locator(".banner.old")).to_have_count(0)


def test_a_bad_file_and_a_bad_answer_say_what_to_do(tab: Page, tmp_path: Path, pawl: Path) -> None:
    tab.goto("/jobs")
    bad = tmp_path / "letter.txt"
    bad.write_text("Dear customer")
    tab.set_input_files("#part-file", bad)
    expect(tab.locator("#drop-problem")).to_contain_text("Drop a file that ends in .step")
    broken = tmp_path / "broken.step"
    broken.write_text("ISO-10303-21; this is no part")
    tab.set_input_files("#part-file", broken)
    expect(tab.locator("#stage .problem")).to_be_visible()
    tab.goto("/jobs")
    tab.set_input_files("#part-file", pawl)
    expect(tab.locator("html.scripted #job-quantity")).to_be_visible()
    quantity = tab.locator("#job-quantity")
    quantity.fill("a few")
    quantity.press("Tab")
    expect(tab.locator('[data-field="job.quantity"] .problem')).to_contain_text("whole number")
    quantity.fill("5")
    quantity.press("Tab")
    expect(tab.locator('[data-field="job.quantity"] .problem')).to_have_count(0)


def test_a_material_of_ones_own_is_described_by_clicking(tab: Page, served: Served) -> None:
    job = served.planned()
    tab.goto(f"/jobs/{job}")
    tab.locator("#own-material summary").click()
    tab.locator("#own-name").fill("D2 annealed")
    tab.locator("#own-like").select_option("4140 annealed")
    tab.get_by_role("button", name="Use this material").click()
    told = tab.locator('[data-field="own.yield"] .problem')
    expect(told).to_contain_text("not stated")  # at its own field, and what was typed stays
    expect(tab.locator("#own-name")).to_have_value("D2 annealed")
    tab.locator("#own-yield").fill("350 MPa")
    tab.get_by_role("button", name="Use this material").click()
    said = "D2 annealed [like 4140 annealed, yield 350 MPa]"
    expect(tab.locator("#part-material")).to_have_value(said)
    tab.get_by_role("button", name="Undo").click()
    expect(tab.locator("#part-material")).to_have_value("6061-T6")


def test_what_is_typed_while_an_answer_is_on_its_way_is_kept_too(tab: Page, served: Served) -> None:
    """The server takes its time: the next field is typed and left meanwhile, and planning waits for both."""
    job = served.planned()
    tab.goto(f"/jobs/{job}")
    tab.locator("#papers summary").click()
    held: list[Route] = []
    slow = [True]
    tab.route("**/set", lambda route: held.append(route) if slow[0] else route.continue_())
    name, number = tab.locator("#job-name"), tab.locator("#job-part_number")
    name.fill("Pawl, left hand")
    with tab.expect_request("**/set"):
        name.press("Tab")
    number.fill("DW-999")
    number.press("Tab")
    tab.locator("#job-revision").fill("not left yet")
    slow[0] = False
    held.pop().continue_()
    kept(tab, served, job, "Pawl, left hand", "DW-999")
    expect(tab.locator("#job-revision")).to_have_value("not left yet")
    tab.locator("#job-revision").press("Tab")
    kept(tab, served, job, "not left yet")

    slow[0] = True
    tab.locator("#job-quantity").fill("55")
    with tab.expect_request("**/set"):
        tab.locator("#job-quantity").press("Tab")
    asked: list[str] = []
    tab.on("request", lambda r: asked.append(r.url) if r.url.endswith("/plan") else None)
    tab.get_by_role("button", name="Plan this job").click()
    assert asked == []
    slow[0] = False
    held.pop().continue_()
    tab.wait_for_url("**/sheet")
    assert len(asked) == 1 and "quantity = 55" in served.store.job(job).text()
    tab.get_by_role("button", name="Stop").click()
    expect(tab.locator("#run strong", has_text="Stopped.")).to_be_visible()


def test_by_keyboard_alone(tab: Page, served: Served) -> None:
    job = served.planned()
    tab.goto("/jobs")
    tab.keyboard.press("Tab")
    expect(tab.locator(":focus")).to_have_text("To the contents")
    tab.keyboard.press("Enter")
    tab.goto(f"/jobs/{job}")
    expect(tab.locator("#stage .tag").first).to_be_visible()
    canvas = tab.locator("#stage canvas")
    before = tab.locator("#stage .tag").first.get_attribute("style")
    canvas.focus()
    tab.keyboard.press("ArrowLeft")
    expect(tab.locator("#stage .tag").first).not_to_have_attribute("style", before or "")
    tab.locator("#job-quantity").focus()
    tab.keyboard.press("Control+a")
    tab.keyboard.type("77")
    with tab.expect_response(re.compile(r"/set$")):
        tab.keyboard.press("Enter")
    expect(tab.locator("#job-quantity")).to_be_focused()
    expect(tab.locator(".go .help")).to_contain_text("The job changed since")
    with tab.expect_response(re.compile(r"/undo$")):
        tab.get_by_role("button", name="Undo").press("Enter")
    expect(tab.locator("#job-quantity")).to_have_value("40")


def test_two_people_at_once(tab: Page, browser: Browser, served: Served) -> None:
    job = served.planned()
    other = browser.new_context(base_url=served.address).new_page()
    other.set_default_timeout(PATIENCE_MS)
    for page in (tab, other):
        page.goto(f"/jobs/{job}")
    with other.expect_response(re.compile(r"/set$")):
        other.locator("#hold-vise").select_option("V100")
    with tab.expect_response(re.compile(r"/set$")):
        tab.locator("#part-material").select_option("7075-T6")
    expect(tab.locator("#hold-vise")).to_have_value("V100")  # nobody's answer is lost
    # both change the same: the later one is told, and his stands only when he says so again
    with other.expect_response(re.compile(r"/set$")):
        other.locator("#job-quantity").fill("33")
        other.locator("#job-quantity").press("Tab")
    tab.locator("#job-quantity").fill("44")
    tab.locator("#job-quantity").press("Tab")
    expect(tab.locator('[data-field="job.quantity"] .problem')).to_contain_text("it says 33 now")
    assert "quantity = 33" in served.store.job(job).text()
    tab.locator("#job-quantity").press("Enter")
    expect(tab.locator('[data-field="job.quantity"] .problem')).to_have_count(0)
    assert "quantity = 44" in served.store.job(job).text()
    other.context.close()


def test_a_closed_browser_loses_nothing(browser: Browser, served: Served, pawl: Path) -> None:
    """A window shut in the middle of everything: what was answered and what goes on are there in the next."""
    context = browser.new_context(base_url=served.address)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto("/jobs")
    page.set_input_files("#part-file", pawl)
    expect(page.locator("#face")).to_be_visible()
    at = page.url
    expect(page.locator("html.scripted #part-material")).to_be_visible()
    page.locator("#part-material").select_option("6061-T6")
    page.locator("#job-quantity").fill("7")
    page.locator("#job-quantity").press("Tab")
    kept(page, served, at.rsplit("/", 1)[-1], '"6061-T6"', "quantity = 7")
    choose(page, "faces -Z", "datum A")
    expect(page.locator(".datums li")).to_have_count(1)
    page.get_by_role("button", name="Plan this job").click()
    expect(page.locator(".banner.going")).to_be_visible()
    context.close()
    context = browser.new_context(base_url=served.address)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(at)
    expect(page.locator("#job-quantity")).to_have_value("7")
    expect(page.locator(".datums li")).to_have_count(1)
    expect(page.locator(".banner.going")).to_be_visible()  # planning went on
    page.get_by_role("button", name="Stop").click()
    expect(page.locator("#run strong", has_text="Stopped.")).to_be_visible()
    context.close()


def test_inch_at_any_time(tab: Page, served: Served) -> None:
    job = served.planned()
    tab.goto(f"/jobs/{job}/sheet")
    expect(tab.locator(".tiles")).to_contain_text("N·m")
    tab.get_by_role("button", name="inch", exact=True).click()
    expect(tab.locator(".tiles")).to_contain_text("lbf·ft")
    for part in ("main", "#grips", "#rests"):  # sentences and assumptions as well as figures
        expect(tab.locator(part)).not_to_contain_text(re.compile(r"\d (mm|µm|N|N·m|MPa)(?![\w·/])"))
    tab.get_by_role("button", name="mm", exact=True).click()
    expect(tab.locator(".tiles")).to_contain_text("N·m")


def test_at_the_machine_with_gloves(tab: Page, served: Served) -> None:
    job = served.planned()
    at = f"/jobs/{job}/machine"
    for path in ("", "/steps", "/measure", "/wrong", "/wrong/rocks"):
        tab.goto(at + path)
        boxes = tab.evaluate(
            "[...document.querySelectorAll('a, button')].filter(e => e.offsetParent)"
            ".map(e => [e.textContent.trim(), e.offsetWidth, e.offsetHeight])"
        )
        assert len(boxes) > 4
        assert [b for b in boxes if min(b[1], b[2]) < GLOVE_PX] == [], path
        assert tab.evaluate(OVER) <= 0, path
    tab.goto(at)
    expect(tab.locator(".big dd")).to_have_count(4)
    assert tab.evaluate("document.documentElement.scrollHeight") <= 768  # seen at one look
    tab.get_by_role("link", name="Steps").click()
    tab.get_by_role("button", name="Done").click()
    expect(tab.locator(".dots a").first).to_have_text("✓")
    tab.get_by_role("link", name="Measure").click()
    tab.locator(".choose a", has_text="position").first.click()
    for _ in range(3):
        for key in ("0", ".", "0", "3", "next", "0", "Enter"):
            tab.get_by_role("button", name=key, exact=True).click()
        expect(tab.locator(".huge")).to_contain_text("0.030")
        tab.get_by_role("button", name="Keep").click()
    expect(tab.locator(".advice strong")).to_contain_text("MOVE IT X -0.030 mm")
    tab.get_by_role("link", name="Something is wrong").click()
    tab.get_by_role("link", name="Rocks").click()
    for key in ("0", ".", "1", "next", "0", ".", "0", "1", "Answer"):
        tab.get_by_role("button", name=key, exact=True).click()
    expect(tab.locator(".advice strong")).to_contain_text("A chip or a burr")


def test_every_picture_of_what_is_wrong_leads_to_an_answer(tab: Page, served: Served) -> None:
    at = f"/jobs/{served.planned()}/machine/wrong"
    typed = {
        "Lifts": ("0.03", "0.01", "hangs on its bolts"),
        "Chip under it": ("0.08", "0", "It was a chip"),
        "Marks": ("5", "0.02", "below what holds"),
        "Too tight": ("26.2", "26.2", "larger than the pocket takes"),
        "Too loose": ("26", "0.05", "stands 0.050 mm off the fixed jaw"),
        "Mismatch line": ("0.05", "0.05", "the zero is off by 0.050 mm"),
        "Size drifts": ("0.05", "20", "still warming up"),
    }
    for name, (one, two, said) in typed.items():
        tab.goto(at)
        tab.get_by_role("link", name=name).click()
        for key in (*one, "next", *two, "Answer"):
            tab.get_by_role("button", name=key, exact=True).click()
        expect(tab.locator(".advice strong").first).to_contain_text(said)
        assert tab.evaluate(OVER) <= 0, name


def test_a_pair_goes_out_and_in_by_the_keyboard_alone(tab: Page, served: Served) -> None:
    """As a reader of labels types: the id, then one more word each way, out or in within 20 seconds.

    A key takes a person about a fifth of a second (common knowledge, no source); a scanner types the id.
    """
    with Rack(served.store.folder / "rack.db") as rack:
        rack.add(entry.from_record(sample.good_record(), pair_id="DW-7", place="drawer 7"))
    keys = 0

    def typed(words: str) -> None:
        nonlocal keys
        tab.keyboard.type(words)
        tab.keyboard.press("Enter")
        keys += len(words) + 1

    for words, says in (("mill 2", "out to mill 2"), ("40", "in, 40 parts run")):
        keys = 0
        tab.goto("/rack")
        expect(tab.locator("#rack-q")).to_be_focused()
        typed("dw-7")
        tab.wait_for_url("**/rack/DW-7")
        # the address changes before the page is drawn: a key typed in between goes to no field
        expect(tab.locator("#to" if "mill" in words else "#parts")).to_be_focused()
        typed(words)
        expect(tab.get_by_role("cell", name=says)).to_be_visible()
        assert 0.2 * keys < 20.0 / 4, "and time to walk to the page"
    with Rack(served.store.folder / "rack.db") as rack:
        pair = rack.get("DW-7")
        assert (pair.out_to, pair.parts_run, pair.place) == ("", 40, "drawer 7")


def test_nothing_serious_for_those_who_see_or_hear_differently(browser: Browser, served: Served) -> None:
    """WCAG 2.1 A and AA as the open checker axe-core tests them; in the dark the rules colors decide."""
    at = f"/jobs/{served.planned()}"
    with Rack(served.store.folder / "rack.db") as rack:
        if "DW-1" not in rack.ids():
            rack.add(entry.from_record(sample.good_record(), pair_id="DW-1", place="drawer 3"))
    paths = [at, f"{at}/sheet", "/specimen", f"{at}/machine", f"{at}/machine/measure/1", "/jobs"]
    paths += ["/shop/cutters", "/shop/vises/0", f"{at}/machine/steps", f"{at}/machine/measure"]
    paths += [f"{at}/machine/wrong", f"{at}/machine/wrong/lifts", "/rack", "/rack/DW-1"]
    paths += [f"{at}/first", f"{at}/diagnosis", f"/rack/find?job={at[6:]}", "/jobs/none"]
    context = browser.new_context(base_url=served.address, viewport={"width": 1024, "height": 768})
    page = context.new_page()
    found = []
    for path in paths:
        page.emulate_media(color_scheme="light")
        page.goto(path)
        if path.endswith("/sheet"):  # as something is tried, with all that opens
            page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
            page.evaluate("document.querySelector('[data-trial]').hidden = false")
        page.evaluate(AXE.read_text("utf-8") + "; undefined")
        for scheme, rules in (("light", WCAG), ("dark", {"type": "rule", "values": ["color-contrast"]})):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            report = page.evaluate("rules => axe.run(document, {runOnly: rules})", rules)
            assert len(report["passes"]) >= (6 if scheme == "light" else 1), (path, scheme)
            found += [
                (path, scheme, v["id"], v["impact"], v["nodes"][0]["target"])
                for v in report["violations"]
                if v["impact"] in ("serious", "critical")
            ]
    context.close()
    assert found == []


def test_a_page_is_light_and_fits_a_tablet_and_a_wide_screen(browser: Browser, served: Served) -> None:
    job = served.planned()
    paths = ("/jobs", f"/jobs/{job}", f"/jobs/{job}/sheet", "/shop/vises/0", "/specimen", "/rack")
    for size in ({"width": 1024, "height": 768}, {"width": 1600, "height": 1000}):
        for path in paths:
            context = browser.new_context(base_url=served.address, viewport=size)  # type: ignore[arg-type]
            page, answers = context.new_page(), []
            page.on("response", lambda r, a=answers: a.append(r))
            page.goto(path, wait_until="networkidle")
            assert page.evaluate(OVER) <= 0, (path, size)
            weight = sum(len(r.body()) for r in answers if r.ok)  # unpacked, with fonts and drawings
            assert 100_000 < weight < 1_500_000, (path, weight)
            context.close()


def test_fifty_requests_at_once_are_answered(served: Served) -> None:
    job = served.planned()

    def ask(n: int) -> int:
        path = (f"/jobs/{job}", "/jobs", f"/jobs/{job}/sheet", f"/jobs/{job}/part.json")[n % 4]
        with urllib.request.urlopen(served.address + path, timeout=60) as answer:
            answer.read()
            return int(answer.status)

    with ThreadPoolExecutor(50) as pool:
        assert set(pool.map(ask, range(50))) == {200}


def _raw(served: Served) -> socket.socket:
    host, port = served.address.removeprefix("http://").split(":")
    return socket.create_connection((host, int(port)), timeout=60)


def test_those_who_only_hold_a_place_shut_nobody_out(served: Served) -> None:
    """More half requests than the server takes connections: they are let go, and it answers."""
    held = []
    try:
        for k in range(220):
            line = _raw(served)
            line.sendall(b"GET /jobs HTTP/1.1\r\nHost: " + (b"" if k % 2 else b"127.0.0.1\r\nX: "))
            held.append(line)
        ends = time.monotonic() + 120
        while time.monotonic() < ends:
            try:
                with urllib.request.urlopen(served.address + "/jobs", timeout=60) as answer:
                    assert answer.status == 200
                    break
            except OSError:  # full: until their time is over
                time.sleep(1)
        else:
            raise AssertionError("the server did not answer while half requests held its places")
    finally:
        for line in held:
            line.close()


def test_fifty_parts_one_after_the_other_leave_the_memory_as_it_was(served: Served) -> None:
    part, made = demo("pawl.step"), []

    def drop(n: int) -> None:
        head = {"origin": served.address, "accept": "application/json", "x-file-name": f"many {n}.step"}
        body = part + b" " * 2_000_000
        asked = urllib.request.Request(served.address + "/jobs", data=body, headers=head, method="POST")
        with contextlib.suppress(urllib.error.HTTPError), urllib.request.urlopen(asked, timeout=60) as answer:
            made.append(answer.status)  # some wait in vain for their turn to be read; the job is kept

    drop(0)
    before = served.memory_mb()
    for n in range(1, 51):
        drop(n)
    assert len(made) > 10
    assert served.memory_mb() < before + 60
    many = [j for j in served.store.ids() if j.startswith("many-")]
    assert len(many) == 51
    for job in many:
        served.store.put_away(job)
    assert urllib.request.urlopen(served.address + "/jobs", timeout=60).status == 200


def test_a_part_far_too_large_is_cut_off_and_the_memory_stays(served: Served) -> None:
    before = served.memory_mb()
    host = served.address.removeprefix("http://")
    line = http.client.HTTPConnection(host, timeout=60)
    line.putrequest("POST", "/jobs")
    for name, value in (
        ("origin", served.address),
        ("x-file-name", "a.step"),
        ("transfer-encoding", "chunked"),
    ):
        line.putheader(name, value)
    line.endheaders()
    sent, chunk = 0, b"\0" * 1_000_000
    with contextlib.suppress(BrokenPipeError, ConnectionResetError):  # the server hangs up when it has enough
        while sent < 200_000_000:
            line.send(b"%x\r\n%b\r\n" % (len(chunk), chunk))
            sent += len(chunk)
        line.send(b"0\r\n\r\n")
    with contextlib.suppress(OSError, http.client.HTTPException):
        assert line.getresponse().status == 413
    line.close()
    assert served.memory_mb() < before + 150
    assert urllib.request.urlopen(served.address + "/jobs", timeout=60).status == 200
