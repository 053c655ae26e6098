"""The register: what is committed stays, what is not leaves no trace, and history is not rewritten."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from jawright.errors import JawrightError
from jawright.rack import exchange, plain, schema
from jawright.rack.model import Pair
from jawright.rack.store import Rack
from rack import made

TESTS = Path(__file__).resolve().parent.parent


@pytest.fixture
def rack(tmp_path: Path):
    ticks = iter(range(10_000))
    with Rack(tmp_path / "rack.db", now=lambda: f"2026-03-01T08:{next(ticks) // 60:02d}:00Z") as r:
        yield r


def code_of(call, *args, **more) -> str:
    with pytest.raises(JawrightError) as caught:
        call(*args, **more)
    return caught.value.code


def test_what_is_kept_is_what_was_given(rack: Rack) -> None:
    pair = made.pair(3)
    assert rack.add(pair) == pair
    assert rack.get(pair.id) == pair
    assert plain.pair_from_dict(plain.pair_to_dict(pair), "test") == pair


def test_ids_are_given_in_order_and_never_twice(rack: Rack) -> None:
    pairs = [rack.add(replace(made.pair(k), id="")) for k in range(3)]
    assert [p.id for p in pairs] == ["J-0001", "J-0002", "J-0003"]
    rack.remove("J-0003", "cracked")
    assert rack.add(replace(made.pair(9), id="")).id == "J-0004"
    assert code_of(rack.add, replace(made.pair(4), id="J-0001")) == "rack-state"


def test_out_and_in(rack: Rack) -> None:
    rack.add(made.pair(1, "J-1"))
    out = rack.out("J-1", "mill 2")
    assert (out.out_to, out.out_since[:10]) == ("mill 2", "2026-03-01")
    assert code_of(rack.out, "J-1", "mill 3") == "rack-state"
    back = rack.back("J-1", parts=40, status="skim", why="wall worn 0.03", place="B-1")
    assert (back.out_to, back.parts_run, back.status, back.why, back.place) == (
        "", 40, "skim", "wall worn 0.03", "B-1",
    )  # fmt: skip
    rack.back("J-1", status="dead", why="cracked")
    assert code_of(rack.out, "J-1", "mill 2") == "rack-state"
    assert code_of(rack.back, "J-1", status="broken") == "value-bad"
    assert code_of(rack.back, "J-1", parts=-1) == "value-bad"
    assert code_of(rack.out, "J-9", "mill 2") == "rack-missing"


def test_every_change_is_kept_with_what_was_before(rack: Rack) -> None:
    rack.add(made.pair(1, "J-1"))
    rack.out("J-1", "mill 2")
    rack.back("J-1", parts=5)
    rack.note("J-1", note="soft", picture="j1.jpg")
    rack.reseated("J-1", 0.01, -0.004, 0.0)
    assert code_of(rack.reseated, "J-1", 50.0, 0.0, 0.0) == "value-bad"
    rack.remove("J-1", "lost")
    past = rack.history("J-1")
    assert [c.what for c in past] == [
        "added", "out to mill 2", "in, 5 parts run", "note, picture changed",
        "re-seated, hole off by X +0.0100 mm, Y -0.0040 mm, Z +0.0000 mm", "removed: lost",
    ]  # fmt: skip
    assert past[2].before == '{"out_to":"mill 2","out_since":"2026-03-01T08:00:00Z","parts_run":0}'
    assert '"parts_run":5' in past[-1].before  # all that was known of it
    for statement in ("UPDATE change SET what = 'x'", "DELETE FROM change"):
        with pytest.raises(sqlite3.IntegrityError, match="history"):
            rack.db.execute(statement)
    assert code_of(rack.history, "J-2") == "rack-missing"


def test_a_side_cut_anew_keeps_the_old_pocket_in_history(rack: Rack) -> None:
    first = rack.add(made.pair(1, "J-1"))
    assert first.free_side == "back"
    cut = made.pair(2).cuts[0]
    both = rack.add_cut("J-1", replace(cut, side="back"))
    assert [c.side for c in both.cuts] == ["front", "back"] and both.free_side is None
    again = rack.add_cut("J-1", cut, height=43.0)
    assert again.height == 43.0 and again.cuts[0].part_number == "W-2"
    assert '"part_number":"W-1"' in rack.history("J-1")[-1].before
    assert [c.side for c in again.cuts] == ["front"]  # faced: the other side's pocket is gone too
    assert '"faced_away":[{"side":"back"' in rack.history("J-1")[-1].before
    assert code_of(rack.add_cut, "J-1", cut, height=50.0) == "rack-state"


def test_a_change_that_fails_leaves_nothing(rack: Rack) -> None:
    rack.add(made.pair(1, "J-1"))
    with pytest.raises(RuntimeError), rack.write() as db:
        db.execute("UPDATE pair SET place = 'nowhere'")
        raise RuntimeError
    assert rack.get("J-1").place == "A-1"
    assert len(rack.history("J-1")) == 1


def test_export_and_import_give_the_same_register(rack: Rack, tmp_path: Path) -> None:
    for k in range(4):
        rack.add(made.pair(k))
    rack.out("T-00002", "mill 1")
    rack.reseated("T-00001", 0.01, 0.02, 0.0)
    rack.reseated("T-00001", 0.02, 0.01)  # its height was not touched off: unknown, not zero
    assert [s.z for s in rack.reseats("T-00001")] == [0.0, None]
    text = exchange.export(rack)
    with Rack(tmp_path / "other.db") as other:
        assert exchange.bring_in(other, text) == (4, 0)
        assert other.all() == rack.all()
        assert other.reseats("T-00001") == rack.reseats("T-00001")
        assert [c.what for c in other.history("T-00002")] == [
            "added",
            "out to mill 1",
            "imported from export",
        ]
        assert exchange.bring_in(other, text) == (0, 4)
        other.back("T-00002", parts=3)
        other.remove("T-00003", "test")
        assert code_of(exchange.bring_in, other, text) == "rack-state"
        assert "T-00003" not in other.ids()  # all or nothing
    assert exchange.export(rack) == text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "not valid JSON"),
        ("{}", "not an export"),
        ('{"format":"jawright-rack","schema_version":9}', "schema version is 9"),
        ('{"format":"jawright-rack","schema_version":1,"pairs":[{}]}', "'changes' is absent"),
        (
            '{"format":"jawright-rack","schema_version":1,"pairs":[{}],"changes":[],"reseats":[]}',
            "is absent",
        ),
    ],
)
def test_a_damaged_export_is_refused(rack: Rack, text: str, says: str) -> None:
    with pytest.raises(JawrightError, match=says) as caught:
        exchange.bring_in(rack, text)
    assert caught.value.code == "rack-bad"
    assert rack.ids() == ()


def test_files_that_are_no_register(tmp_path: Path) -> None:
    assert code_of(Rack, tmp_path / "none.db", create=False) == "rack-missing"
    assert not (tmp_path / "none.db").exists()
    junk = tmp_path / "junk.db"
    junk.write_bytes(b"this is no database, though it is long enough to be looked at as one" * 30)
    assert code_of(Rack, junk) == "rack-bad"
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as db:
        db.execute("CREATE TABLE song (title TEXT)")
    assert code_of(Rack, other) == "rack-bad"
    newer = tmp_path / "newer.db"
    Rack(newer).close()
    with sqlite3.connect(newer) as db:
        db.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    assert code_of(Rack, newer) == "rack-bad"
    assert code_of(Rack, tmp_path / "no folder" / "rack.db") == "rack-bad"


def test_a_height_kept_as_nought_by_the_first_version_is_unknown(tmp_path: Path) -> None:
    """Version 1 could not leave Z out and kept 0 for it."""
    path = tmp_path / "rack.db"
    with Rack(path) as r:
        r.add(made.pair(1, "J-1"))
        new = r.db.execute("SELECT sql FROM sqlite_schema WHERE name = 'reseat'").fetchone()
    with sqlite3.connect(path) as db:  # the table as version 1 made it
        db.execute("DROP TABLE reseat")
        db.execute(new[0].replace("z_mm        REAL  ", "z_mm        REAL NOT NULL  "))
        for k, z in ((3, 0.0), (4, 0.012)):
            db.execute("INSERT INTO reseat VALUES (?, 'then', 'J-1', 0.01, 0.02, ?)", (k, z))
        db.execute("PRAGMA user_version = 1")
    db.close()
    with Rack(path) as r:
        assert [s.z for s in r.reseats("J-1")] == [None, 0.012]
        r.reseated("J-1", 0.03, 0.0)
        assert [s.z for s in r.reseats("J-1")] == [None, 0.012, None]
        now = r.db.execute("SELECT sql FROM sqlite_schema WHERE name LIKE 'reseat%'").fetchall()
        assert now == [new]


def test_an_older_register_is_brought_up_to_date(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two steps of a version to come: each whole with its number, or not at all."""
    path = tmp_path / "rack.db"
    with Rack(path) as r:
        r.add(made.pair(1, "J-1"))

    def add_color(db: sqlite3.Connection) -> None:
        db.execute("ALTER TABLE pair ADD COLUMN color TEXT NOT NULL DEFAULT ''")

    def break_off(db: sqlite3.Connection) -> None:
        db.execute("UPDATE pair SET color = 'red'")
        raise RuntimeError

    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 2)
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, add_color, break_off))
    with pytest.raises(RuntimeError):
        Rack(path)
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (schema.VERSION - 1,)
        assert db.execute("SELECT color FROM pair").fetchall() == [("",)]
    db.close()
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS[:-1], lambda _: None))
    with Rack(path) as r:
        assert r.get("J-1").id == "J-1"
        assert r.db.execute("PRAGMA user_version").fetchone() == (schema.VERSION,)


def test_durable_settings(rack: Rack) -> None:
    assert rack.db.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert rack.db.execute("PRAGMA synchronous").fetchone()[0] == 2
    assert rack.check() == "ok"


def test_backup_while_others_write(rack: Rack, tmp_path: Path) -> None:
    for k in range(5):
        rack.add(made.pair(k))
    with Rack(rack.path) as writer, writer.write() as db:
        db.execute("UPDATE pair SET note = 'half done'")
        assert rack.backup(tmp_path / "copy.db") > 0
    with Rack(tmp_path / "copy.db", create=False) as copy:
        assert copy.all() == tuple(made.pair(k) for k in range(5))
        assert copy.check() == "ok"
    assert not list(tmp_path.glob(".copy*"))
    assert code_of(rack.backup, tmp_path / "no folder" / "copy.db") in ("file-write", "rack-bad")


EIGHTH = """
import sys
sys.path.insert(0, sys.argv[2])
from dataclasses import replace
from pathlib import Path
from rack import made
from jawright.rack.store import Rack
who = int(sys.argv[3])
with Rack(Path(sys.argv[1])) as rack:
    for k in range(5):
        pair = rack.add(replace(made.pair(10 * who + k), id=""))
        rack.out(pair.id, f"mill {who}")
        rack.back(pair.id, parts=who)
"""


def test_eight_writers_at_once(tmp_path: Path) -> None:
    """Eight programs, each adds, checks out and in; none is lost, none collides."""
    path = tmp_path / "rack.db"
    writers = [
        subprocess.Popen([sys.executable, "-c", EIGHTH, str(path), str(TESTS), str(who)]) for who in range(8)
    ]
    assert [w.wait(timeout=300) for w in writers] == [0] * 8
    with Rack(path) as r:
        assert len(r.ids()) == 40
        assert r.ids() == tuple(f"J-{k:04d}" for k in range(1, 41))
        assert sorted(p.parts_run for p in r.all()) == sorted(list(range(8)) * 5)
        assert all(len(r.history(i)) == 3 for i in r.ids())
        assert r.check() == "ok"


WRITER = """
import sys
sys.path.insert(0, sys.argv[2])
from dataclasses import replace
from pathlib import Path
from rack import made
from jawright.rack.store import Rack
with Rack(Path(sys.argv[1])) as rack:
    base = made.pair(1)
    while True:
        pair = rack.add(replace(base, id=""))
        print(pair.id, flush=True)      # said only when it is committed
        rack.out(pair.id, "mill")
        print(pair.id + " out", flush=True)
"""


def kill_some(path: Path, times: int, seed: int) -> int:
    """Start a writer, kill it hard in mid-work, and compare what it said with what is there."""
    promised: set[str] = set()
    for n in range(times):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(TESTS)], stdout=subprocess.PIPE, text=True
        ) as process:
            assert process.stdout is not None
            first = process.stdout.readline()  # it is at work now
            time.sleep(0.001 * ((seed + 37 * n) % 60))
            os.kill(process.pid, signal.SIGKILL)
            said = [first, *process.stdout.read().split("\n")]
        said = said[:-1]  # what follows the last line's end was cut off by the kill
        promised |= {s.strip() for s in said if s.strip()}
        with Rack(path) as r:
            assert r.check() == "ok"
            ids = set(r.ids())
            for s in promised:
                assert s.split()[0] in ids, s
                if s.endswith(" out"):
                    assert r.get(s.split()[0]).out_to == "mill", s
            for pair_id in ids:  # a pair and its history are there together or not at all
                assert r.history(pair_id)[0].what == "added"
    return len(promised)


def test_ten_kills_lose_nothing_committed(tmp_path: Path) -> None:
    assert kill_some(tmp_path / "rack.db", 10, seed=3) >= 10


@pytest.mark.long
def test_two_hundred_kills_lose_nothing_committed(tmp_path: Path) -> None:
    assert kill_some(tmp_path / "rack.db", 200, seed=11) >= 200


def test_a_dead_or_unknown_pair_has_no_free_side() -> None:
    pair = made.pair(1)
    assert pair.free_side == "back"
    fixed = replace(pair, blank=replace(pair.blank, reversible=False))
    assert fixed.free_side is None
    assert Pair("X", fixed.blank, 50.0, "V1", (), "").free_side == "front"


def test_a_register_whose_own_names_are_damaged_is_refused_in_one_sentence(tmp_path: Path) -> None:
    """The names in the file's schema are no text any more: SQLite's complaint itself cannot be decoded."""
    path = tmp_path / "rack.db"
    with Rack(path) as rack:
        rack.add(made.pair(1))
        rack.db.execute("PRAGMA journal_mode = DELETE")
    whole = path.read_bytes()
    at = whole.index(b"CREATE TABLE")
    refused = 0
    for k in range(0, 60, 3):
        damaged = bytearray(whole)
        damaged[at + k] ^= 0x80
        path.write_bytes(bytes(damaged))
        try:
            with Rack(path) as rack:
                rack.all()
        except JawrightError as e:
            assert e.code == "rack-bad" and "\n" not in str(e)
            refused += 1
    assert refused > 5
