"""The command line: what it prints, where, with which exit code, and what it leaves on the disk."""

from __future__ import annotations

import dataclasses
import json
import re
import subprocess
import sys
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

import jawright
from jawright.doors.cli import arguments, main, report, screen
from jawright.doors.cli import plan as plan_command
from jawright.errors import JawrightError
from jawright.record import Record, Whole
from papers import sample

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
PLANNED, OPEN, BAD_INPUT, DEFECT, STOPPED = 0, 1, 2, 70, 130


def process(*argv: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "jawright", *argv], capture_output=True, text=True, check=False
    )


def sentence(text: str) -> str:
    """The one line on standard error that is the message."""
    lines = [line for line in text.splitlines() if line.startswith("jawright: ")]
    assert len(lines) == 1, text
    return lines[0]


@pytest.fixture
def log_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state" / "jawright"


@pytest.fixture
def planning(monkeypatch: pytest.MonkeyPatch) -> Callable[[Any], None]:
    """Stand in for the conductor and the papers: commands are tested on a made-up record."""

    def put(outcome: Record | BaseException) -> None:
        def planned(job: Any, shop: Any, *, progress: Callable[[str], None], kept: Any = ()) -> Whole:
            progress("trying stances")
            if isinstance(outcome, BaseException):
                raise outcome
            return Whole(dataclasses.replace(outcome, job=dataclasses.replace(outcome.job, units=job.units)))

        def written(record: Record, out: Path, extra: Any, *, clampings: Any) -> tuple[str, ...]:
            out.mkdir(parents=True)
            (out / "record.json").write_text("{}")
            return ("record.json",)

        monkeypatch.setattr(plan_command, "whole", planned)
        monkeypatch.setattr(plan_command.bundle, "write", written)
        monkeypatch.setattr(plan_command, "jaw_files", lambda record: {})

    return put


# --- before a command is known


def test_help_and_version_load_nothing_heavy() -> None:
    code = (
        "import sys\nfrom jawright.doors.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit as e:\n    assert e.code == 0\n"
        "loaded = {m.split('.')[0] for m in sys.modules}\n"
        "heavy = loaded & {'numpy', 'scipy', 'OCP', 'shapely', 'ezdxf', 'typst', 'clarabel'}\n"
        "own = [m for m in sys.modules if m.startswith('jawright.') and not m.startswith('jawright.doors')]\n"
        "assert not heavy and own == ['jawright.errors'], (heavy, own)\n"
    )
    for argv in (["--help"], ["--version"], ["plan", "--help"]):
        done = subprocess.run(
            [sys.executable, "-W", "error", "-c", code, *argv], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
    assert jawright.__version__ in process("--version").stdout


def test_help_names_every_command_and_the_cautions() -> None:
    text = " ".join(arguments.parser().format_help().split())
    for command in ("plan", "demo", "check", "part", "report"):
        assert command in text
    for caution in ("guards", "eye protection", "reduced feed", "feed hold", "machine's manual"):
        assert caution in text


@pytest.mark.parametrize(
    "argv", [[], ["plann"], ["plan"], ["plan", "a.toml", "--unit", "mm"], ["part", "--x"]]
)
def test_a_wrong_command_line_leaves_with_2(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as e:
        main.main(argv)
    assert e.value.code == BAD_INPUT
    assert "usage: jawright" in capsys.readouterr().err


# --- bad input


def edited(tmp_path: Path, old: str, new: str, name: str = "pawl.toml") -> Path:
    """The demo's folder with one change in it."""
    folder = tmp_path / "job"
    folder.mkdir()
    for file in DEMO.iterdir():
        (folder / file.name).write_bytes(file.read_bytes())
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder / "pawl.toml"


@pytest.mark.parametrize(
    ("old", "new", "file", "says"),
    [
        ("quantity", "quantty", "pawl.toml", 'did you mean "quantity"?'),
        ('material = "6061-T6"', 'material = "6161-T6"', "pawl.toml", 'did you mean "6061-T6"?'),
        ('vise = "V150"', 'vise = "V15"', "pawl.toml", 'did you mean "V150"?'),
        ('file = "pawl.step"', 'file = "paw.step"', "pawl.toml", "paw.step"),
        ("at = [30, -18, 0]", "at = [30, -18, 500]", "pawl.toml", "pick-empty"),
        ("jaw_width = 150", "jaw_width = 150 mm", "shop.toml", "toml-syntax"),
    ],
)
def test_bad_input_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, file: str, says: str
) -> None:
    job = edited(tmp_path, old, new, file)
    out = tmp_path / "out"
    assert main.main(["check", str(job)]) == BAD_INPUT
    assert says in sentence(capsys.readouterr().err)
    assert main.main(["plan", str(job), "--out", str(out)]) == BAD_INPUT
    printed = capsys.readouterr()
    assert says in sentence(printed.err)
    assert printed.out == ""
    assert not out.exists()


def test_files_that_are_no_parts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, content, code in (
        ("empty.step", b"", "file-empty"),
        ("text.step", b"Dear customer, the model follows tomorrow.\n", "file-not-step"),
        ("none.step", None, "file-missing"),
    ):
        path = tmp_path / name
        if content is not None:
            path.write_bytes(content)
        assert main.main(["part", str(path)]) == BAD_INPUT
        assert f"[{code}]" in sentence(capsys.readouterr().err)


# --- a plan's outcomes


def test_a_ready_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None]
) -> None:
    planning(sample.good_record())
    out = tmp_path / "out"
    assert main.main(["plan", str(DEMO / "pawl.toml"), "--out", str(out)]) == PLANNED
    printed = capsys.readouterr()
    assert "trying stances" in printed.err and "trying stances" not in printed.out
    assert sample.good_record().decision.sentence.split()[0] in printed.out
    for question in ("loads", "sits", "grips", "holds", "locates", "clears"):
        assert re.search(rf"^{question} +(pass|caution)", printed.out, re.M), question
    assert "Not ready" not in printed.out
    assert "record.json" in printed.out
    assert (out / "record.json").exists()


def test_a_plan_that_is_not_ready_says_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None]
) -> None:
    record = sample.record(verified=False)
    planning(record)
    assert main.main(["plan", str(DEMO / "pawl.toml"), "--out", str(tmp_path / "o"), "--stances"]) == OPEN
    printed = " ".join(capsys.readouterr().out.split())
    assert "Not ready:" in printed and "The jaw program did not verify" in printed
    for rival in record.rivals:
        assert " ".join(rival.reason.split()[:3]) in printed
    for proof in record.proofs:
        if proof.verdict in ("fail", "unknown"):
            assert f"{proof.question.capitalize()}, {proof.name}" in printed


def test_no_vise_at_all(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None]
) -> None:
    planning(sample.refused_record())
    assert main.main(["plan", str(DEMO / "pawl.toml"), "--out", str(tmp_path / "o")]) == OPEN
    assert "Not ready:" in capsys.readouterr().out


def test_inches_are_shown_when_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None]
) -> None:
    planning(sample.good_record())
    main.main(["plan", str(DEMO / "pawl.toml"), "--out", str(tmp_path / "a"), "--units", "inch"])
    inch = capsys.readouterr().out
    main.main(["plan", str(DEMO / "pawl.toml"), "--out", str(tmp_path / "b")])
    assert re.search(r"\d\.\d{4} in\b", inch) and not re.search(r"\d\.\d{3} mm\b", inch)
    assert re.search(r"\d\.\d{3} mm\b", capsys.readouterr().out)


def test_the_demo_needs_no_file_of_the_user(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    planning: Callable[[Any], None],
) -> None:
    monkeypatch.chdir(tmp_path)
    planning(sample.good_record())
    assert main.main(["demo"]) == PLANNED
    assert (tmp_path / "out" / "demo" / "record.json").exists()


def test_which_shop_is_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None]
) -> None:
    planning(sample.good_record())
    job = edited(tmp_path, "quantity = 40", "quantity = 41")
    main.main(["plan", str(job), "--out", str(tmp_path / "a")])
    assert "stands in for yours" not in capsys.readouterr().err
    (job.parent / "shop.toml").unlink()
    main.main(["plan", str(job), "--out", str(tmp_path / "b")])
    assert "demo workshop" in sentence(capsys.readouterr().err)
    assert main.main(["plan", str(job), "--shop", str(tmp_path / "none.toml")]) == BAD_INPUT
    assert "none.toml" in sentence(capsys.readouterr().err)


def test_stopped_by_the_user(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None]
) -> None:
    planning(KeyboardInterrupt())
    assert main.main(["plan", str(DEMO / "pawl.toml"), "--out", str(tmp_path / "o")]) == STOPPED
    assert "nothing was written" in sentence(capsys.readouterr().err)
    assert not (tmp_path / "o").exists()


def test_a_defect_of_ours(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], planning: Callable[[Any], None], log_folder: Path
) -> None:
    planning(ZeroDivisionError("division by zero\nsecond line"))
    argv = ["plan", str(DEMO / "pawl.toml"), "--out", str(tmp_path / "o")]
    assert main.main(argv) == DEFECT
    line = sentence(capsys.readouterr().err)
    log = log_folder / main.LOG
    assert "ZeroDivisionError" in line and str(log) in line and "jawright report" in line
    kept = log.read_text()
    assert "Traceback" in kept and "second line" in kept and jawright.__version__ in kept
    assert main.main(["--debug", *argv]) == DEFECT
    assert "Traceback" in capsys.readouterr().err


def test_an_error_of_the_user_with_debug(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.main(["--debug", "check", "none.toml"]) == BAD_INPUT
    assert "Traceback" in capsys.readouterr().err


# --- check, part, report


def test_check_of_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.main(["check", str(DEMO / "pawl.toml")]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Nothing is missing." in text
    assert "Standing in" in text and "common practice, no source" in text
    # the picks meet the faces and holes they are meant for
    assert "datum A plane, 72.0 × 30.0 mm, faces -Z" in text
    assert "datum B plane, 46.0 × 12.0 mm, faces +Y" in text
    assert "datum C plane, 24.0 × 12.0 mm, faces -X" in text
    assert "pivot bore bore, hole Ø10.000 mm, through" in text
    assert text.count("hole Ø5.000 mm, through") == 2
    assert text.count("position Ø0.100 mm to A|B|C") == 2


def test_check_tells_how_many_walls_a_profile_all_round_has(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pawl.step").write_bytes((DEMO / "pawl.step").read_bytes())
    job = tmp_path / "pawl.toml"
    more = '[[feature]]\nname = "rim"\nkind = "profile"\n\n[[tolerance]]'
    job.write_text((DEMO / "pawl.toml").read_text("utf-8").replace("[[tolerance]]", more, 1), "utf-8")
    assert main.main(["check", str(job)]) == 0
    line = next(x for x in capsys.readouterr().out.splitlines() if x.startswith("rim "))
    assert re.search(r"profile, the whole outline, \d+ walls", line)


def test_check_says_what_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "pawl.step").write_bytes((DEMO / "pawl.step").read_bytes())
    job = tmp_path / "job.toml"
    job.write_text('[job]\nquantity = 1\n[part]\nfile = "pawl.step"\nmaterial = "6061"\n')
    assert main.main(["check", str(job), "--shop", str(DEMO / "shop.toml"), "--units", "inch"]) == 0
    text = capsys.readouterr().out
    for key in ("hold.up", "datum", "feature", "tolerance", "hold.vise", "incoming.profile"):
        assert re.search(rf"^  {re.escape(key)} ", text, re.M), key
    assert "2.835 in" in text


def test_part_in_words_and_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.main(["part", str(DEMO / "pawl.step")]) == 0
    words = capsys.readouterr().out
    assert "72.000 mm × 30.000 mm × 12.000 mm" in words
    assert words.count("\nhole ") == 2 and "2 × Ø5.000 mm through" in words  # alike ones stand together
    assert main.main(["part", str(DEMO / "pawl.step"), "--units", "inch"]) == 0
    assert "2.8346 in × 1.1811 in × 0.4724 in" in capsys.readouterr().out
    assert main.main(["part", str(DEMO / "pawl.step"), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["size_mm"] == pytest.approx([72.0, 30.0, 12.0])
    assert sorted(h["diameter_mm"] for h in data["holes"]) == pytest.approx([5.0, 5.0, 10.0])
    assert len(data["faces"]) == 14 and data["unit_of_file"] == "mm"
    features = data["features"]
    assert [len(features[k]) for k in ("drilled", "recesses", "breaks")] == [3, 1, 3]
    assert {e["kind"] for e in features["lower_edges"]} == {"sharp"}
    assert len(features["corners"]) >= 4


def test_part_lists_features_seen_from_any_side(capsys: pytest.CaptureFixture[str]) -> None:
    for way in ("+Z", "-Z"):
        assert main.main(["part", str(DEMO / "pawl.step"), f"--up={way}"]) == 0
        words = " ".join(capsys.readouterr().out.split())
        assert f"seen with {way} up" in words and "lower edge sharp under" in words
        assert re.search(r"corner \d+ convex", words)


def test_part_options_are_checked(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.main(["part", "plate.dxf", "--thickness", "12"]) == BAD_INPUT
    assert "[unit-missing]" in sentence(capsys.readouterr().err)


def test_report_names_libraries_and_no_paths(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(report.LIBRARIES, "not-a-library", "not_a_library")
    assert main.main(["report"]) == 0
    text = capsys.readouterr().out
    assert f"jawright {jawright.__version__}" in text
    assert re.search(r"^numpy \d+\.\d+.*, loads$", text, re.M)
    assert "not-a-library not installed, does not load: ModuleNotFoundError" in text
    assert str(Path.home()) not in text


def test_a_pipe_that_closes_early_is_no_error() -> None:
    done = subprocess.run(
        f'"{sys.executable}" -m jawright report | head -1',
        shell=True, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout.startswith("jawright ") and done.stderr == ""


# --- lines for the terminal


def test_a_table_keeps_to_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "70")
    rows = [("grips", "caution", "word " * 60), ("a", "b", "c")]
    lines = screen.table(rows)
    assert max(map(len, lines)) <= 70
    assert lines[1].startswith(" " * len("grips  caution  ") + "word")
    assert screen.table([]) == []


def test_the_worst_proof_speaks() -> None:
    proofs = sample.record().proofs
    for question in {p.question for p in proofs}:
        mine = [p for p in proofs if p.question == question]
        spoken = screen.worst_proof(mine)
        assert spoken is not None
        order = ("fail", "unknown", "caution", "pass")
        assert order.index(spoken.verdict) == min(order.index(p.verdict) for p in mine)
    assert screen.worst_proof([]) is None


def test_every_error_prints_as_one_line() -> None:
    text = str(JawrightError("value-bad", what="a", where="b", todo="c"))
    assert text == "b: a; c [value-bad]"


@pytest.mark.long
def test_the_demo_end_to_end(tmp_path: Path) -> None:
    done = process("demo", "--out", str(tmp_path / "demo"))
    assert done.returncode in (PLANNED, OPEN), done.stderr
    record = json.loads((tmp_path / "demo" / "record.json").read_text(encoding="utf-8"))
    assert {p["question"] for p in record["proofs"]} == {
        "loads",
        "sits",
        "grips",
        "holds",
        "locates",
        "clears",
    }
    assert (tmp_path / "demo" / "setup-sheet.pdf").read_bytes().startswith(b"%PDF")
