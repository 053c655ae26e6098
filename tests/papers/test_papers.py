"""The sheet says what the record says, in every rendering, and never more."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, replace
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest

from jawright import record_json
from jawright.floor.measured import characteristics
from jawright.job.model import ToleranceAsk
from jawright.papers import bundle, sheet
from jawright.papers.content import Content, content
from jawright.papers.drawing import drawings
from jawright.papers.facts import stop_fact
from jawright.papers.inspection import checks
from jawright.papers.show import Break, Heading, Lines, words_of
from jawright.papers.steps import steps
from jawright.record import Record
from papers import sample

RECORDS = {
    "soft": sample.record(),
    "good": sample.good_record(),
    "inch": sample.good_record("inch"),
    "hard": sample.hard_record(),
    "refused": sample.refused_record(),
    "front": sample.record(verified=False, fixed_jaw_rear=False),
}
each = pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS.keys())


def squash(text: str) -> str:
    """Words without the places where lines break."""
    return re.sub(r"\s+|\ufffe|\u00ad", "", text)


def pdf_text(raw: bytes) -> list[str]:
    with pypdfium2.PdfDocument(raw) as doc:
        pages = []
        for page in doc:
            text = page.get_textpage()
            pages.append(text.get_text_range())
            text.close()
            page.close()
        return pages


class Text(HTMLParser):
    """The words a browser shows, and every tag and attribute met."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {a for a, _ in attrs}
        self._hidden += tag in ("style", "title")

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "title")

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.words.append(data)


def html_text(text: str) -> Text:
    parser = Text()
    parser.feed(text)
    parser.close()
    return parser


@each
def test_pdf_and_html_say_everything_the_content_holds(record: Record) -> None:
    wanted = [w for b in sheet.make(record).blocks for w in words_of(b)]
    assert len(wanted) > 20
    printed = squash("".join(pdf_text(sheet.pdf(record))))
    shown = squash("".join(html_text(sheet.html(record)).words))
    assert [w for w in wanted if squash(w) not in printed] == []
    assert [w for w in wanted if squash(w) not in shown] == []


@each
def test_same_record_same_bytes_and_again_from_its_file(record: Record) -> None:
    first = bundle.files(record)
    again = bundle.files(record_json.loads(record_json.dumps(record)))
    assert first == again


def test_only_the_date_changes_with_the_date() -> None:
    one, two = sample.good_record(), replace(sample.good_record(), made="2031-12-24")
    a, b = drawings(one), drawings(two)
    assert a == b
    assert "2031-12-24" in "".join(pdf_text(sheet.pdf(two)))


def test_each_group_of_content_says_what_it_is_for() -> None:
    assert [f.name for f in fields(Content) if len(f.metadata.get("help", "")) < 15] == []


@pytest.mark.parametrize("inch", [False, True], ids=["A4", "letter"])
@pytest.mark.parametrize("lines", [8, 14, 38, 59])
def test_pages_are_numbered_in_order_and_break_where_little_of_a_page_is_left(lines: int, inch: bool) -> None:
    text = ("a line",) * lines
    blocks = (
        Lines("", text),
        *(b for n in range(3) for b in (Break(), Heading(f"part {n}"), Lines("", text))),
    )
    pages = pdf_text(sheet.typeset(blocks, title="t", ready=True, inch=inch, kind="pdf")[0])
    feet = [re.search(r"(\d+) / (\d+)", p) for p in pages]
    assert [f and f.groups() for f in feet] == [(str(n), str(len(pages))) for n in range(1, len(pages) + 1)]
    heads = [n for n, p in enumerate(pages) if "part " in p]
    assert len(heads) == (2 if lines == 8 else 3)  # eight lines end above 70 mm: nothing turns the page there


@each
def test_a_record_that_is_not_ready_cannot_be_mistaken(record: Record) -> None:
    pages = pdf_text(sheet.pdf(record))
    page = html_text(sheet.html(record))
    if record.ready:
        assert "NOT READY" not in "".join(pages)
        assert "NOT READY" not in "".join(page.words)
        return
    assert "NOT READY: do not cut from this sheet" in pages[0]
    assert all("NOT READY" in p for p in pages)
    assert "".join(page.words).count("NOT READY") >= 2
    assert content(record).reasons


def test_reasons_name_the_open_question_and_the_program() -> None:
    reasons = " ".join(content(RECORDS["front"]).reasons)
    assert "coolant nozzle: unknown" in reasons
    assert "Supply: the lowest point of the coolant nozzle" in reasons
    assert "line 212" in reasons


def test_a_failed_proof_is_said_first() -> None:
    base = sample.record()
    failed = replace(base.proofs[2], verdict="fail")
    record = replace(base, proofs=(*base.proofs[:2], failed, *base.proofs[3:]), verdict="fail")
    assert content(record).reasons[0].startswith("Sits, floor lift: fail.")
    assert "FAIL" in "".join(pdf_text(sheet.pdf(record)))


@each
def test_no_promise_and_no_tick(record: Record) -> None:
    everything = (
        sheet.html(record) + "".join(drawings(record).values()) + "".join(pdf_text(sheet.pdf(record)))
    )
    assert not re.search(r"\bsafe(ly)?\b", everything, re.IGNORECASE)
    assert not re.search("[\u2713\u2714\u2705\u2611]", everything)


def all_facts(c: Content) -> Iterator[str]:
    for group in (c.first, c.holding, c.zero, c.jaws, c.stack):
        for fact in group:
            yield from (fact.value, fact.note)
    for grid in (c.part_cutters, c.jaw_cutters, c.checks, *c.corners, c.jaw_features):
        yield from grid.heads
        for row in grid.rows:
            yield from row
    yield from c.steps


def test_one_sheet_one_unit() -> None:
    inch = " | ".join(all_facts(content(RECORDS["inch"])))
    assert not re.search(r"\d mm\b|N·m|\[mm", inch)
    assert " in" in inch
    assert "lbf·ft" in inch
    metric = " | ".join(all_facts(content(RECORDS["good"])))
    assert not re.search(r"\d in\b|lbf|\[in", metric)


def test_lengths_stand_in_inches_by_their_definition() -> None:
    """25.4 mm is an inch (international yard and pound agreement, 1959): 6.5 mm reads 0.256 in."""
    facts = {f.label: f.value for f in content(RECORDS["inch"]).holding}
    assert facts["Grip depth"] == f"{6.5 / 25.4:.3f} in"
    facts = {f.label: f.value for f in content(RECORDS["good"]).holding}
    assert facts["Grip depth"] == "6.50 mm"


def test_first_page_sets_the_job_up() -> None:
    """What a machinist needs stands on the first page and nowhere later."""
    page = squash(pdf_text(sheet.pdf(RECORDS["good"]))[0])
    for words in (
        "DW-114", "Revision B", "rear left", "28 N·m", "least 14 · most 46 N·m", "G54", "A down, model +Z up",
        "OPERATOR STANDS HERE", "2 × A25", "P6x32", "0.00 to 32.00 mm above bed", "at least 0.20 mm",
        "25.930 to 26.070 mm", "paper at each corner", "X0 Y0 at the bored tooling hole", "T6", "back face",
        "hand on feed hold", "datum B",
    ):  # fmt: skip
        assert squash(words) in page, words


def test_hard_jaws_have_parallels_a_stop_and_no_jaw_pages() -> None:
    c = content(RECORDS["hard"])
    assert c.jaws == ()
    assert c.stack == ()
    assert "2 × P6x40" in {f.value for f in c.holding}
    assert {f.label: f.note for f in c.first}["Stop corner"] == "side stop"
    assert set(drawings(RECORDS["hard"])) == {"plan", "front"}


def test_nothing_held_gives_a_short_sheet_with_the_reason() -> None:
    text = pdf_text(sheet.pdf(RECORDS["refused"]))
    assert "Do not hold it in a vise" in text[0]
    assert drawings(RECORDS["refused"]) == {}


HOSTILE = (
    "<script>alert(1)</script>",
    "</title></style><img src=x onerror=alert(1)>",
    '" onload="alert(1)',
    '#import "x.typ": *; $ sum $ *bold* _it_ `raw` @ref // \\ [x] #panic()',
    "bell \x07 and null \x00 end",
    "Größe Ø é 日本語 עברית",
)


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_names_stay_words(words: str) -> None:
    base = sample.good_record()
    hold, jaws, program = base.hold, base.jaws, base.program
    assert hold is not None and jaws is not None and program is not None
    record = replace(
        base,
        job=replace(base.job, name=words, part_number=words, revision=words, material=words, notes=(words,)),
        hold=replace(
            hold,
            features=tuple(replace(m, name=words) for m in hold.features),
            contacts=tuple(replace(c, name=words) for c in hold.contacts),
        ),
        jaws=replace(jaws, text=(words, words)),
        proofs=tuple(replace(p, name=words, sentence=words, assumptions=(words,)) for p in base.proofs),
        program=replace(program, name=words),
    )
    page = html_text(sheet.html(record))
    plain = html_text(sheet.html(base))
    assert page.tags == plain.tags
    assert page.attributes == plain.attributes
    for svg in drawings(record).values():
        ElementTree.fromstring(svg)
    text = squash("".join(pdf_text(sheet.pdf(record))))
    if words.isascii() and "\x00" not in words:
        assert squash(words) in text
    names = bundle.files(record)
    assert all(re.fullmatch(r"[A-Za-z0-9._-]+", n) for n in names)


def test_html_needs_nothing_from_outside() -> None:
    text = sheet.html(RECORDS["good"])
    assert "<script" not in text
    assert re.findall(r'(?:href|src)\s*=\s*"', text) == []
    assert [u for u in re.findall(r"https?://[^\s\"<]+", text) if "www.w3.org" not in u] == []
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    for name in re.findall(r"url\(#([^)]+)\)", text):
        assert name in ids


def test_bundle_names_a_program_that_did_not_verify_so_that_no_control_loads_it() -> None:
    assert "DW114B-JAWS.nc" in bundle.files(RECORDS["good"])
    names = set(bundle.files(RECORDS["front"]))
    assert "DW114B-JAWS-NOT-VERIFIED.txt" in names
    assert not any(n.endswith(".nc") for n in names)


def test_bundle_is_written_with_what_the_doors_add(tmp_path: Path) -> None:
    extra = {"jaw-fixed.step": b"ISO-10303-21;", "jaws.dxf": b"0\nEOF\n"}
    names = bundle.write(RECORDS["good"], tmp_path / "out", extra)
    assert set(names) == {p.name for p in (tmp_path / "out").iterdir()}
    assert {"record.json", "setup-sheet.pdf", "setup-sheet.html", "drawing-plan.svg", *extra} <= set(names)
    assert record_json.load(tmp_path / "out" / "record.json").job.part_number == "DW-114"
    with pytest.raises(AssertionError):
        bundle.files(RECORDS["good"], {"record.json": b""})


def test_first_article_rows() -> None:
    """Basic distances follow from datum planes; a gauge reads a tenth (common practice, no source)."""
    rows = {(c.feature, c.characteristic): c for c in checks(RECORDS["good"])}
    bore = rows["pivot bore", "position"]
    # the bore stands at (13, -8); B is the plane y = 6, C the plane x = -30
    assert bore.nominal == "basic 14.000 mm from B, 43.000 mm from C"
    assert bore.limits == "within Ø0.100 mm"
    assert bore.resolution == "0.010 mm"
    size = rows["pivot bore", "diameter"]
    assert (size.nominal, size.limits, size.resolution) == ("Ø10.000 mm", "± 0.015 mm", "0.003 mm")
    record = RECORDS["good"]
    assert record.hold is not None
    asks = (
        ToleranceAsk("pivot bore", "size", 0.03, (), False, middle=0.035),
        ToleranceAsk("pivot bore", "distance", 0.2, ("B",), False),
    )
    other = replace(record, hold=replace(record.hold, tolerances=asks))
    limits = {c.characteristic: (c.nominal, c.limits) for c in checks(other) if c.feature == "pivot bore"}
    assert limits["diameter"] == ("Ø10.000 mm", "+0.050/+0.020 mm")  # ± 0.1 is a zone of 0.2, as a job says
    assert limits["distance from B"] == ("14.000 mm", "± 0.100 mm")
    read = {c.what: (c.nominal, c.low, c.high) for c in characteristics(other) if c.feature == "pivot bore"}
    assert read["diameter"] == pytest.approx((10.0, 10.02, 10.05))
    assert read["distance from B"] == pytest.approx((14.0, 13.9, 14.1))
    assert rows["spring hole", "position"].limits == "within Ø0.100 mm at maximum material"
    assert [c.balloon for c in checks(RECORDS["good"])] == list(range(1, len(rows) + 1))


def test_numbers_to_type_follow_from_the_programs_zero() -> None:
    facts = {f.label: f.value for f in content(RECORDS["good"]).zero}
    # zero is at (45, 14, 50): the wall y = 6, the stop x = -30, the floor z = 43.5
    assert facts["Datum B, fixed jaw"] == "Y-8.000 mm"
    assert facts["Datum C, stop"] == "X-75.000 mm"
    assert facts["Floor"] == "Z-6.500 mm"
    assert facts["Part top"] == "Z5.500 mm"


def test_a_turned_program_turns_the_numbers_too() -> None:
    base = sample.good_record()
    assert base.program is not None
    record = replace(base, program=replace(base.program, turned=True))
    facts = {f.label: f.value for f in content(record).zero}
    assert facts["Datum B, fixed jaw"] == "Y8.000 mm"
    assert facts["Datum C, stop"] == "X75.000 mm"
    assert facts["Floor"] == "Z-6.500 mm"


def test_stop_corner_turns_with_the_fixed_jaw() -> None:
    assert {f.label: f.value for f in content(RECORDS["good"]).first}["Stop corner"] == "rear left"
    assert {f.label: f.value for f in content(RECORDS["front"]).first}["Stop corner"] == "front right"


def test_long_names_are_cut_short_in_drawings_and_whole_in_tables() -> None:
    base = sample.good_record()
    long = "counterbored and spot-faced clearance hole for the return spring of the second pawl, " * 3
    assert base.hold is not None
    record = replace(
        base,
        job=replace(base.job, name=long, material=long[:60]),
        hold=replace(base.hold, features=tuple(replace(m, name=long) for m in base.hold.features)),
    )
    for svg in drawings(record).values():
        words = [t.text or "" for t in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]
        assert max(map(len, words)) < 100
    assert squash(long) in squash("".join(pdf_text(sheet.pdf(record))))


def test_another_order_of_operations_is_never_ready() -> None:
    base = sample.good_record()
    assert base.ready
    record = replace(base, decision=replace(base.decision, kind="another order of operations"))
    assert "NOT READY: do not cut from this sheet" in pdf_text(sheet.pdf(record))[0]
    assert content(record).reasons == ("Decision: another order of operations.",)


@pytest.mark.parametrize(
    ("on", "value", "step"),
    [
        ("fixed", "pocket", "Push it straight back (the pocket places it along X), snug"),
        ("floating", "V", "Push it straight back (the V places it along X), snug"),
        ("", "none", "Place it along X by its mark, snug"),
    ],
)
def test_without_a_stop_the_sheet_says_what_places_the_part_along_x(on: str, value: str, step: str) -> None:
    """A part in a nest was to be placed by a mark that nobody had made."""
    base = sample.good_record()
    assert base.hold is not None
    seats = [c for c in base.hold.contacts if c.on in (on, "floor")]
    walls = [replace(c, normal=(x, 0.7, 0.0)) for c in seats if c.on == on for x in (-0.7, 0.7)]
    walls += [c for c in base.hold.contacts if c.on not in (on, "stop", "floor")]
    hold = replace(base.hold, stop=None, side_stop=None, contacts=(*walls, *seats))
    found = replace(base, hold=hold)
    fact = stop_fact(found)
    assert (fact.label, fact.value, fact.level) == ("Stop", value, "" if on else "caution")
    assert any(step in line for line in steps(found))


def test_the_order_of_doing_says_what_the_spacers_stand_on() -> None:
    base = sample.good_record()
    assert base.jaws is not None
    found = next(line for line in steps(base) if line.startswith("Spacer"))
    under = base.jaws.stack.risers
    assert (" on " in found) is bool(under)
    low = replace(base.jaws.stack, risers=base.jaws.stack.spacers[:1] * 2)
    name = low.risers[0].id
    told = next(line for line in steps(replace(base, jaws=replace(base.jaws, stack=low))) if "Spacer" in line)
    assert f" on 2 × {name}, " in told
