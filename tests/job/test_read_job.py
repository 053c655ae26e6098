"""Job files: what is read, what stands in, and one clear sentence for each thing that is wrong."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright.errors import JawrightError
from jawright.job import schema
from jawright.job.gaps import check_names, gaps, stand_ins
from jawright.job.model import GeneralTolerances
from jawright.job.read import read_job

LEAST = """
[job]
quantity = 40
[part]
file = "pawl.step"
material = "6061-T6"
"""

FULL = """
units = "mm"

[job]
name = "Pawl"
part_number = "DW-114"
revision = "B"
operation = "OP 20"
quantity = 40
units = "inch"
notes = ["first line", "second line"]

[part]
file = "sub/pawl.step"
material = "6061 T651"
thickness = 12
body = 2
unit = "mm"

[hold]
up = [0, 0, 2]
vise = "V150"
kind = "soft jaws"
turn = "30 deg"
shift = -5
blank = "A25"
grip_depth = "0.25 in"
torque = "25 lbf·ft"
stop = "-X"
marks_allowed = false

[[datum]]
letter = "A"
at = [1, 2, "0.5 in"]

[[feature]]
name = "back"
kind = "face"
depth = 0.6

[[feature]]
name = "bore"
kind = "bore"
at = [20, -11, 6]
diameter = 10
pilot = 9.5
through = true
cutter = "BB6"
feed_per_tooth = 0.05
radial = 0.25
axial = 12
depth = 12

[[tolerance]]
feature = "bore"
kind = "position"
zone = "0.10 mm"
datums = ["A"]
material = "maximum"

[[tolerance]]
feature = "back"
kind = "parallelism"
zone = 0.05

[incoming]
profile = 0.4
wall_form = 0.01
edge_break = 0.3
"""


def write(folder: Path, text: str | bytes, name: str = "job.toml") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def refused(folder: Path, text: str | bytes) -> JawrightError:
    with pytest.raises(JawrightError) as e:
        read_job(write(folder, text))
    return e.value


def test_a_job_of_three_answers(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, LEAST))
    assert (job.quantity, job.material, job.units) == (40, "6061-T6", "mm")
    assert job.part_file == tmp_path / "pawl.step"
    assert job.name == "job"
    assert job.up is None and job.datums == () and job.tolerances == () and job.hold.vise == ""
    assert job.features_assumed and [(f.name, f.kind) for f in job.features] == [("top face", "face")]
    assert job.marks_allowed
    assert [g.key for g in gaps(job)] == ["hold.up", "datum", "feature", "tolerance", "hold.vise"]
    assert [g.key for g in gaps(job, datums_in_file=3, tolerances_in_file=1)] == [
        "hold.up",
        "feature",
        "hold.vise",
    ]
    for key, value, basis in stand_ins(job):
        assert value > 0 and basis.startswith("default: ") and len(basis) > 30, key
    assert [k for k, _, _ in stand_ins(job)] == [
        f"incoming.{k.name}" for k in schema.INCOMING.keys if k.kind == "length"
    ]


def test_everything_a_job_can_say(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, FULL))
    assert (job.name, job.part_number, job.revision, job.operation) == ("Pawl", "DW-114", "B", "OP 20")
    assert (job.units, job.notes, job.marks_allowed) == ("inch", ("first line", "second line"), False)
    assert (job.material, job.thickness, job.body, job.part_unit) == ("6061-T6", 12.0, 2, "mm")
    assert job.part_file == tmp_path / "sub" / "pawl.step"
    assert job.up == (0.0, 0.0, 1.0)
    h = job.hold
    assert (h.vise, h.kind, h.blank, h.stop) == ("V150", "soft jaws", "A25", "-X")
    assert h.turn == pytest.approx(math.pi / 6)
    assert (h.shift, h.grip_depth) == (-5.0, 6.35)
    assert h.torque == pytest.approx(33.895, abs=1e-3)  # 25 lbf·ft
    assert job.datums[0].letter == "A" and job.datums[0].pick.at == (1.0, 2.0, 12.7)
    bore = job.features[1]
    assert (bore.diameter, bore.pilot, bore.through, bore.cutter) == (10.0, 9.5, True, "BB6")
    assert (bore.feed_per_tooth, bore.radial, bore.axial, bore.depth) == (0.05, 0.25, 12.0, 12.0)
    assert not job.features_assumed
    first, second = job.tolerances
    assert (first.zone, first.diametral, first.datums, first.material) == (0.1, True, ("A",), "maximum")
    assert (second.zone, second.diametral, second.datums) == (0.05, False, ())
    assert job.incoming.profile.value == 0.4 and job.incoming.profile.basis == "job"
    # the stock is what the face feature says it takes off
    assert job.incoming.stock_on_top.value == 0.6 and "back" in job.incoming.stock_on_top.basis
    assert job.source == "job.toml" and len(job.sha256) == 64
    # what is written reaches the model: each field differs from a job that says nothing
    quiet = read_job(write(tmp_path, LEAST, "quiet.toml"))
    same = {f.name for f in dataclasses.fields(job) if getattr(job, f.name) == getattr(quiet, f.name)}
    assert same == {"quantity", "material", "reachable", "general", "projection"}  # the next tests have these


REACH = """
[job]
quantity = 40
features = "reachable"
general = "ISO 2768-m"
[part]
file = "pawl.step"
material = "6061-T6"
[hold]
up = "+Z"
[incoming]
model = "sub/first-side.step"
[[tolerance]]
feature = "hole 3"
kind = "position"
zone = "0.1 mm"
"""


def test_everything_that_is_reached_and_general_tolerances(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, REACH))
    assert job.reachable and job.features == () and not job.features_assumed
    assert job.incoming.model == tmp_path / "sub" / "first-side.step"
    assert job.incoming.stock_on_top.basis.startswith("default: ")
    assert job.general == GeneralTolerances("m")
    (t,) = job.tolerances  # of a feature that is only found on the part
    assert (t.feature, t.diametral) == ("hole 3", True)
    decimals = REACH.replace('"ISO 2768-m"', '"by decimals"\ndecimals_1 = "0.5 mm"\ndecimals_3 = "0.005 in"')
    general = read_job(write(tmp_path, decimals)).general
    assert general is not None and general.grade == ""
    assert [n for n, _ in general.decimals] == [1, 3]
    assert [v for _, v in general.decimals] == pytest.approx([0.5, 0.127])


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ('up = "+Z"', "", "key-missing", "say what is up"),
        ('"ISO 2768-m"', '"ISO 2768-x"', "value-bad", "ISO 2768-f"),
        ('"ISO 2768-m"', '"by decimals"', "value-bad", "no ± is given"),
        ('"ISO 2768-m"', '"ISO 2768-m"\ndecimals_2 = "0.1 mm"', "value-bad", "only with general"),
        ('"reachable"', '"all"', "value-bad", "named"),
    ],
)
def test_what_such_a_job_must_not_say(tmp_path: Path, old: str, new: str, code: str, says: str) -> None:
    e = refused(tmp_path, REACH.replace(old, new))
    assert e.code == code and says in str(e)


def test_a_boss_has_a_size_and_a_pattern_a_lower_line(tmp_path: Path) -> None:
    text = (
        'units = "mm"\n'
        + LEAST
        + """
[[datum]]
letter = "A"
at = [1, 2, 3]
[[feature]]
name = "boss"
kind = "profile"
at = [5, 2, 3]
[[tolerance]]
feature = "boss"
kind = "size"
zone = "0.05 mm"
[[tolerance]]
feature = "boss"
kind = "position"
zone = "0.1 mm"
diametral = true
material = "maximum"
datums = ["A"]
composite = true
"""
    )
    size, place = read_job(write(tmp_path, text)).tolerances
    assert (size.kind, size.zone, size.composite) == ("size", 0.05, False)
    assert (place.diametral, place.material, place.composite) == (True, "maximum", True)


def test_without_a_face_there_is_no_stock(tmp_path: Path) -> None:
    text = LEAST + '[[feature]]\nname = "h"\nkind = "drill"\nat = ["1 mm", "2 mm", "3 mm"]\n'
    assert read_job(write(tmp_path, text)).incoming.stock_on_top.value == 0.0


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "says"),
    [
        ("quantity = 40", "", "key-missing", 4, "quantity"),
        ("quantity = 40", "quantity = 0", "value-bad", 9, "at least 1"),
        ("quantity = 40", "quantity = 4.5", "value-bad", 9, "whole number"),
        ("quantity = 40", "quantity = true", "value-bad", 9, "whole number"),
        ("quantity = 40", 'quantity = "40"', "value-bad", 9, "whole number"),
        ("quantity = 40", "quantty = 40", "key-unknown", 9, 'did you mean "quantity"?'),
        ("quantity = 40", f"quantity = {'9' * 400}", "value-bad", 9, "whole number"),
        ("[hold]", "[holt]", "key-unknown", 20, 'did you mean "hold"?'),
        ("[hold]", "[[hold]]", "value-bad", 20, "single brackets"),
        ("[[datum]]", "[datum]", "value-bad", 32, "double brackets"),
        ('letter = "A"', 'letter = "AA"', "value-bad", 33, "capital letter"),
        ('letter = "A"', "letter = 1", "value-bad", 33, "text in quotes"),
        ('at = [1, 2, "0.5 in"]', "at = [1, 2]", "value-bad", 34, "three numbers"),
        ('at = [1, 2, "0.5 in"]', 'at = "A"', "value-bad", 34, "three numbers"),
        ('at = [1, 2, "0.5 in"]', "at = [1, 2, nan]", "value-bad", 34, "sensible number"),
        ('units = "mm"\n\n', 'units = "cm"\n\n', "value-bad", 2, "known: mm, inch"),
        ('material = "6061 T651"', 'material = "6161"', "value-bad", 15, 'did you mean "6061-T6"?'),
        ('material = "6061 T651"', "", "key-missing", 13, "material"),
        ('file = "sub/pawl.step"', 'file = ""', "value-bad", 14, "text in quotes"),
        ("thickness = 12", "thickness = 0", "value-bad", 16, "above 0 mm"),
        ("thickness = 12", "thickness = -3", "value-bad", 16, "above 0 mm"),
        ("thickness = 12", 'thickness = "120 in"', "value-bad", 16, "inch and millimeter"),
        ("body = 2", "body = -1", "value-bad", 17, "at least 0"),
        ("up = [0, 0, 2]", "up = [0, 0, 0]", "value-bad", 21, "no direction"),
        ("up = [0, 0, 2]", 'up = "Z"', "value-bad", 21, "+Z"),
        ('kind = "soft jaws"', 'kind = "soft jaw"', "value-bad", 23, 'did you mean "soft jaws"?'),
        ('turn = "30 deg"', "turn = 30", "unit-missing", 24, '"30 deg"'),
        ('turn = "30 deg"', 'turn = "30 mm"', "unit-bad", 24, "deg"),
        ('grip_depth = "0.25 in"', 'grip_depth = "6,5 mm"', "value-bad", 27, "decimal point"),
        ('grip_depth = "0.25 in"', "grip_depth = -6", "value-bad", 27, "above 0 mm"),
        ('torque = "25 lbf·ft"', "torque = 25", "unit-missing", 28, "N·m"),
        ('torque = "25 lbf·ft"', 'torque = "25 lbf"', "unit-bad", 28, "lbf·ft"),
        ('stop = "-X"', 'stop = "left"', "value-bad", 29, "-X"),
        ("marks_allowed = false", 'marks_allowed = "no"', "value-bad", 30, "true or false"),
        ('name = "bore"', 'name = "back"', "value-bad", 42, 'two features are called "back"'),
        ("at = [20, -11, 6]", "", "key-missing", 41, "does not say where"),
        ("pilot = 9.5", "pilot = 10", "value-bad", 46, "not smaller"),
        ("depth = 0.6", "diameter = 5", "value-bad", 39, "has no diameter"),
        ('feature = "bore"', 'feature = "bores"', "value-bad", 55, 'did you mean "bore"?'),
        ('kind = "position"', 'kind = "true position"', "value-bad", 56, 'did you mean "position"?'),
        ('kind = "parallelism"', 'kind = "size"', "value-bad", 63, "neither hole nor boss"),
        (
            'kind = "parallelism"',
            'kind = "parallelism"\ncomposite = true',
            "value-bad",
            64,
            "no composite frame",
        ),
        ("zone = 0.05", "zone = 0.0", "value-bad", 64, "a zone of 0"),
        ('datums = ["A"]', 'datums = ["A", "D"]', "value-bad", 58, "datum D is not picked"),
        ('datums = ["A"]', 'datums = ["A", "A"]', "value-bad", 58, "twice"),
        ('datums = ["A"]', 'datums = "A"', "value-bad", 58, "list of texts"),
        ("profile = 0.4", "profile = -0.4", "value-bad", 67, "at least 0 mm"),
        ("profile = 0.4", "profil = 0.4", "key-unknown", 67, 'did you mean "profile"?'),
        ('name = "Pawl"', 'name = "Pawl\\nM30"', "value-bad", 5, "one line"),
        ("quantity = 40", "quantity 40", "toml-syntax", 9, "not valid TOML"),
    ],
)
def test_each_mistake_is_named_with_its_line(
    tmp_path: Path, old: str, new: str, code: str, line: int, says: str
) -> None:
    assert FULL.count(old) >= 1
    error = refused(tmp_path, FULL.replace(old, new, 1))
    assert error.code == code
    assert says in str(error)
    assert error.where.split(": ")[0] == f"job.toml:{line}"
    assert "\n" not in str(error)


def test_lengths_need_a_unit(tmp_path: Path) -> None:
    error = refused(tmp_path, FULL.replace('units = "mm"\n\n', "\n", 1))
    assert error.code == "unit-missing"
    assert 'units = "mm"' in error.todo


def test_the_stated_unit_counts(tmp_path: Path) -> None:
    text = 'units = "inch"\n' + LEAST + "[hold]\nup = '+Z'\ngrip_depth = 0.25\n"
    job = read_job(write(tmp_path, text))
    assert job.hold.grip_depth == 6.35
    assert job.units == "inch"


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "file-empty"),
        (b"  \n\t\n", "file-empty"),
        (b"\xff\xfe\x00j", "toml-syntax"),
        (b"ISO-10303-21;\nHEADER;\n", "toml-syntax"),
        (b"# " + b"x" * 1_000_001, "file-too-large"),
        (b"a = " + b"[" * 5000, "toml-syntax"),
        (b"a = " + b"9" * 5000, "toml-syntax"),
        (b"quantity = 40\n", "key-unknown"),
    ],
)
def test_files_that_are_no_jobs(tmp_path: Path, content: bytes, code: str) -> None:
    assert refused(tmp_path, content).code == code


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(JawrightError) as e:
            read_job(path)
        assert e.value.code == "file-missing"


def test_a_file_from_another_editor(tmp_path: Path) -> None:
    """A byte-order mark and Windows line ends are no mistake, and lines still count right."""
    job = read_job(write(tmp_path, b"\xef\xbb\xbf" + LEAST.replace("\n", "\r\n").encode()))
    assert job.quantity == 40
    bad = refused(tmp_path, LEAST.replace("= 40", "= 0").replace("\n", "\r\n").encode())
    assert bad.where == "job.toml:3: job.quantity"


def test_names_must_be_the_shops(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, FULL))
    job = replace(job, hold=replace(job.hold, spacers=("P6",)))
    good = {"vises": ["V150"], "blanks": ["A25"], "cutters": ["BB6"], "parallels": ["P6"]}
    check_names(job, **good)
    for what in good:
        with pytest.raises(JawrightError, match="the shop has no") as e:
            check_names(job, **{**good, what: ["V-150", "A-25", "BB-6", "P-6"]})
        assert "did you mean" in e.value.todo


def test_the_hold_can_be_pinned_to_the_spacers(tmp_path: Path) -> None:
    pins = """[hold]
    spacer_height = "1.25 in"
    spacers = ["P6x32", "P3x14"]
    fixed_jaw_datum = "B"
    jaw_cutter = "E8"
    jaw_material = "6061"
    """
    hold = read_job(write(tmp_path, LEAST + pins)).hold
    assert hold.spacer_height == pytest.approx(31.75)
    assert hold.spacers == ("P6x32", "P3x14")
    assert (hold.fixed_jaw_datum, hold.jaw_cutter) == ("B", "E8")
    assert hold.jaw_material == "6061-T6"  # by the handbook's own name
    for bad, where in (
        ('fixed_jaw_datum = "front"', "fixed_jaw_datum"),
        ('jaw_material = "cheese"', "jaw_material"),
        ("spacer_height = 0", "spacer_height"),
    ):
        assert where in refused(tmp_path, (LEAST + "[hold]\n" + bad).encode()).where


@given(st.text(max_size=200))
def test_any_text_is_a_job_or_one_sentence(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.mktemp("any") / "job.toml"
    path.write_bytes((LEAST + text).encode("utf-8", "surrogatepass"))
    try:
        read_job(path)
    except JawrightError as error:
        assert error.where.startswith("job.toml")


def test_projection_and_parts_in_a_row(tmp_path: Path) -> None:
    text = LEAST.replace("[job]", '[job]\nprojection = "first angle"')
    text += '\n[hold]\nparts = 3\nmirrored = true\nspacing = "15 mm"\n'
    job, quiet = read_job(write(tmp_path, text)), read_job(write(tmp_path, LEAST, "quiet.toml"))
    assert (job.projection, quiet.projection) == ("first angle", "third angle")
    assert (job.hold.parts, job.hold.mirrored, job.hold.spacing) == (3, True, 15.0)
    assert (quiet.hold.parts, quiet.hold.mirrored, quiet.hold.spacing) == (1, False, None)


@pytest.mark.parametrize(
    ("hold", "says"),
    [
        ("mirrored = true", "several parts side by side; add parts = 2"),
        ('spacing = "15 mm"', "several parts side by side; add parts = 2"),
        ('parts = 2\nkind = "hard jaws"', "are held in soft jaws, and the job asks for hard jaws"),
    ],
)
def test_what_goes_with_several_parts_is_not_passed_over(tmp_path: Path, hold: str, says: str) -> None:
    error = refused(tmp_path, LEAST + f"[hold]\n{hold}\n")
    assert error.code == "value-bad" and says in str(error)
    assert read_job(write(tmp_path, LEAST + "[hold]\nmirrored = false\n")).hold.parts == 1
