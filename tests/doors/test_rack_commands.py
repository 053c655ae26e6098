"""The register and the diagnosis from the command line."""

from __future__ import annotations

import hashlib
import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from floor import test_sources
from floor.simulate import make
from jawright import record_json
from jawright.doors.cli import inputs
from jawright.doors.cli.main import main
from jawright.rack import label
from jawright.rack.store import Rack
from jawright.shop.read import read_shop
from papers import sample
from rack import made


@pytest.fixture
def db(tmp_path: Path) -> str:
    path = tmp_path / "rack.db"
    with Rack(path) as rack:
        rack.add(replace(made.pair(1), id=""))
    return str(path)


def test_out_and_in_by_one_short_command(db: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rack", "out", "J-0001", "--to", "mill 2", "--db", db]) == 0
    assert main(["rack", "list", "--db", db]) == 0
    assert "out to mill 2" in capsys.readouterr().out
    assert main(["rack", "out", "J-0001", "--db", db]) == 2
    assert "is out since" in capsys.readouterr().err
    assert main(["rack", "in", "J-0001", "--parts", "12", "--db", db]) == 0
    assert main(["rack", "seat", "J-0001", "--x", "0.01 mm", "--y", "-0.0004 in", "--db", db]) == 0
    photo = str(Path(db).parent / "j1.jpg")
    note = ["rack", "note", "J-0001", "--picture", photo, "--place", "B-2", "--db", db]
    assert main(note) == 2 and "no such picture" in capsys.readouterr().err
    Path(photo).write_bytes(b"photo")
    assert main(note) == 0
    assert main(["rack", "note", "J-0001", "--db", db]) == 2
    assert main(["rack", "show", "J-0001", "--db", db, "--units", "inch"]) == 0
    out = capsys.readouterr().out
    assert "12 parts run" in out and "re-seated 1 time:" in out
    assert main(["rack", "show", "J-0001", "--json", "--db", db]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["parts_run"] == 12 and len(data["history"]) == 5
    assert (data["picture"], data["place"]) == (photo, "B-2")
    assert data["reseats"][0]["y_mm"] == pytest.approx(-0.01016)


def test_a_plan_goes_on_the_rack_in_one_step(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = sample.good_record()
    file = tmp_path / "record.json"
    file.write_text(record_json.dumps(record), "utf-8")
    db = ["--db", str(tmp_path / "rack.db")]
    assert main(["rack", "add", str(file), "--place", "A-3-2", "--note", "mill 2 only", *db]) == 0
    with Rack(tmp_path / "rack.db") as rack:
        pair = rack.get("J-0001")
    assert record.jaws is not None and record.hold is not None and record.program is not None
    cut = pair.cuts[0]
    assert cut.jaws == replace(record.jaws, notes=())
    assert cut.outline is not None and cut.outline.outer == record.hold.outline.outer
    assert (cut.part_number, cut.grip_depth) == (record.job.part_number, record.hold.grip_depth)
    assert cut.program == hashlib.sha256(record.program.text.encode()).hexdigest()
    assert (pair.place, pair.note, pair.vise) == ("A-3-2", "mill 2 only", record.hold.vise.id)
    assert main(["rack", "add", str(file), "--to-pair", "J-0001", "--side", "back", *db]) == 0
    assert "back" in capsys.readouterr().out
    file.write_text(record_json.dumps(sample.hard_record()), "utf-8")
    assert main(["rack", "add", str(file), *db]) == 2
    assert "no soft jaws" in capsys.readouterr().err


def test_files(db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    export, copy, other = (str(tmp_path / n) for n in ("rack.json", "copy.db", "other.db"))
    assert main(["rack", "export", export, "--db", db]) == 0
    assert main(["rack", "import", export, "--db", other]) == 0
    assert main(["rack", "backup", copy, "--db", db]) == 0
    assert main(["rack", "check", "--db", copy]) == 0
    capsys.readouterr()
    listed = []
    for d in (db, other, copy):
        assert main(["rack", "list", "--json", "--db", d]) == 0
        listed.append(json.loads(capsys.readouterr().out))
    bad = tmp_path / "bad.csv"
    bad.write_text("part,x_mm\n")
    assert main(["rack", "import", str(bad), "--db", str(tmp_path / "never.db")]) == 2
    assert not (tmp_path / "never.db").exists()
    capsys.readouterr()
    assert listed[0] == listed[1] == listed[2] and len(listed[0]) == 1
    assert main(["rack", "remove", "J-0001", "--why", "cracked", "--db", other]) == 0
    assert main(["rack", "list", "--db", other]) == 0
    assert "no pairs" in capsys.readouterr().out


def test_the_register_may_be_named_by_the_environment(
    db: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("JAWRIGHT_RACK", db)
    assert main(["rack", "list"]) == 0
    assert "J-0001" in capsys.readouterr().out
    monkeypatch.setenv("JAWRIGHT_RACK", db + ".none")
    assert main(["rack", "list"]) == 2


def test_a_pair_by_hand_from_a_drawing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = ezdxf.new(units=ezdxf.units.MM)
    corners = [(-20, -18), (20, -18), (20, 12), (-20, 12)]
    drawing.modelspace().add_lwpolyline(corners, close=True)
    file = tmp_path / "pocket.dxf"
    drawing.saveas(file)
    shop = str(inputs.demo_folder() / "shop.toml")
    hand = ["--shop", shop, "--blank", "A25x50", "--gap", "6 mm", "--depth", "6.5 mm", "--part", "P-1"]
    db = ["--db", str(tmp_path / "rack.db")]
    assert main(["rack", "add", str(file), *hand, *db, "--id", "K-1"]) == 0
    with Rack(tmp_path / "rack.db") as rack:
        pair = rack.get("K-1")
    jaws = pair.cuts[0].jaws
    assert jaws.pocket.outer.box == pytest.approx((-20, -18, 20, 12))
    assert (jaws.gap, jaws.top - jaws.floor) == (6.0, 6.5)
    assert {z.purpose for z in jaws.zones} == {"locate", "stop", "grip"}
    capsys.readouterr()
    assert main(["rack", "add", str(file), *db]) == 2
    assert "needs --shop" in capsys.readouterr().err
    wide = [*hand[:5], "40 mm", *hand[6:]]
    assert main(["rack", "add", str(file), *wide, *db]) == 2
    assert "not cut into both jaws" in capsys.readouterr().err


def test_a_label_carries_the_id(db: str, tmp_path: Path) -> None:
    file = tmp_path / "label.svg"
    assert main(["rack", "label", "J-0001", "--out", str(file), "--db", db]) == 0
    tree = ET.fromstring(file.read_text())
    assert tree.attrib["width"] == "60mm"
    assert any(t.text == "J-0001" for t in tree.iter("{http://www.w3.org/2000/svg}text"))
    nasty = replace(made.pair(2), id='<"&>' + "x" * 60)
    ET.fromstring(label.svg(nasty))


def run_csv(path: Path, cause: str, parts: int) -> str:
    run = make(cause, "command line", parts=parts).run
    rows = ["part,time_min,size_mm,pin_x_mm,pin_y_mm"]
    for k, part in enumerate(run.parts):
        size = 42 + run.sizes[0].values[k]
        x, y = (s.values[k] for s in run.measured)
        rows.append(f"{part},{run.minutes[k]:.2f},{size:.4f},{x:.4f},{y:.4f}")
    path.write_text("\n".join(rows) + "\n")
    return str(path)


def test_diagnose(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = run_csv(tmp_path / "run.csv", "self-centering", 40)
    assert main(["diagnose", file, "--tolerance", "0.05 mm", "--gauge", "0.02 mm"]) == 0
    out = capsys.readouterr().out
    assert "self-centering" in out and "Cpk" in out and "do not chase" in out
    assert "20% of the tolerance" in out
    assert main(["diagnose", file, "--gauge", "-0.02 mm"]) == 2
    assert "not above 0" in capsys.readouterr().err
    assert main(["diagnose", file, "--units", "inch", "--gauge", "0.02 mm"]) == 0
    out = capsys.readouterr().out
    assert " in " in out and " mm" not in out
    inch = Path(file).with_name("inch.csv")
    rows = [line.split(",") for line in Path(file).read_text().splitlines()]
    lengths = [k for k, name in enumerate(rows[0]) if name.endswith("_mm")]
    for row in rows[1:]:
        row[:] = [str(float(v) / 25.4) if k in lengths and v else v for k, v in enumerate(row)]
    inch.write_text("\n".join(",".join(r) for r in rows).replace("_mm", "_in"))
    assert main(["diagnose", str(inch)]) == 0
    out = capsys.readouterr().out
    assert "self-centering" in out and " mm" not in out  # as the file says
    assert main(["diagnose", file, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["false_alarm_parts"] == pytest.approx(91.75, abs=0.01)
    assert {"series", "count", "mean_mm", "sd_mm"} <= set(data["seen"][0])
    assert "self-centering" in {n["cause"] for n in data["named"]}


def test_diagnose_says_when_there_is_not_enough(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = run_csv(tmp_path / "few.csv", "self-centering", 4)
    assert main(["diagnose", file]) == 1
    out = capsys.readouterr().out
    assert "Not enough to tell" in out and "Measure next" in out
    assert main(["diagnose", str(tmp_path / "none.csv")]) == 2
    (tmp_path / "first.csv").write_text("balloon,result_mm\n1,2\n")
    assert main(["diagnose", str(tmp_path / "first.csv")]) == 2
    assert "--record" in capsys.readouterr().err


def test_first_article_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = tmp_path / "record.json"
    record.write_text(record_json.dumps(sample.good_record()), "utf-8")
    table = tmp_path / "first.csv"
    assert main(["first", str(record), "--out", str(table)]) == 0
    assert main(["first", str(record), "--results", str(table), "--no-keep"]) == 1  # nothing was measured
    assert "not measured" in capsys.readouterr().out
    assert not list(tmp_path.glob("first-article*"))
    assert main(["first", str(record), "--results", str(table), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == "jawright-first-article" and (tmp_path / "first-article-1.json").exists()
    assert main(["first", str(record), "--results", str(tmp_path / "none.csv")]) == 2


def test_adopt_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = tmp_path / "record.json"
    record.write_text(record_json.dumps(test_sources.planned()), "utf-8")
    run = test_sources.run("command", drill=0.02, clamp=0.004)
    rows = [",".join(["part", *(f"{s.name}_mm" for s in run.measured)])]
    rows += [",".join([p, *(f"{s.values[k]:.5f}" for s in run.measured)]) for k, p in enumerate(run.parts)]
    csv = tmp_path / "run.csv"
    csv.write_text("\n".join(rows) + "\n")
    shop = tmp_path / "shop.toml"
    text = (inputs.demo_folder() / "shop.toml").read_text("utf-8")
    shop.write_text(text, "utf-8")
    ask = ["adopt", str(csv), "--record", str(record), "--shop", str(shop)]
    assert main(ask) == 0
    assert "would write" in capsys.readouterr().out and shop.read_text("utf-8") == text
    assert main([*ask, "--write", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["written"] and data["changes"][0]["key"] == "drilled_position"
    assert read_shop(shop).drilled_position.set == pytest.approx(0.02, rel=0.2)
    assert "# measured: run.csv" in shop.read_text("utf-8")
    assert main([*ask[:-1], str(tmp_path / "none.toml"), "--write"]) == 2
