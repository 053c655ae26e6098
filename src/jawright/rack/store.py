"""Durable reads and writes of the register: every change whole or not at all, several people at once.

SQLite in write-ahead mode lets readers work while one writes; full synchronization flushes the log at
each commit, so that what a command has reported done is on the disk when the power goes. A write
takes the lock at its start (BEGIN IMMEDIATE), so two writers wait for each other and never collide
halfway. The file belongs on a local disk: shared folders of a network do not keep its locks.
"""

from __future__ import annotations

import datetime
import json
import os
import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from jawright.errors import JawrightError
from jawright.jaws import sampled
from jawright.rack import plain, schema
from jawright.rack.model import STATUSES, Change, Cut, Pair, Reseat
from jawright.rack.trouble import WAIT, failed, told
from jawright.units import counted

FAR_OFF = 2.0
"""A tooling hole found farther off than this [mm] is a slip of the pen, or another pair."""

PAIR_COLUMNS = (
    "height_mm", "vise", "place", "status", "why", "out_to", "out_since", "picture", "parts_run", "note",
)  # fmt: skip


def _utc() -> str:
    return datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Rack:
    """The register in one file. Use it as a context manager.

    ``now`` gives the time written beside each change (UTC, ISO 8601).
    """

    def __init__(self, path: Path, *, create: bool = True, now: Callable[[], str] = _utc) -> None:
        if not create and not path.exists():
            raise JawrightError(
                "rack-missing",
                what="there is no register of jaws here yet",
                where=path.name,
                todo='add a pair with "jawright rack add record.json", or name the file with --db',
            )
        self.path = path
        self.now = now
        try:
            self.db = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
        except sqlite3.OperationalError as e:
            raise failed(e, path) from None
        try:
            with told(path):
                self.db.execute("PRAGMA foreign_keys = ON")
                self.db.execute("PRAGMA synchronous = FULL")
                self._wal()
                schema.prepare(self.db, path.name)
        except BaseException:
            self.db.close()
            raise

    def _wal(self) -> None:
        """Write-ahead mode; the switch does not wait by itself, so two that start together take turns."""
        if self.db.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
            return
        self.db.execute("BEGIN IMMEDIATE")
        self.db.execute("COMMIT")
        self.db.execute("PRAGMA journal_mode = WAL")

    def __enter__(self) -> Rack:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self.db.close()

    @contextmanager
    def write(self) -> Iterator[sqlite3.Connection]:
        """One transaction, locked from its start."""
        with told(self.path):
            self.db.execute("BEGIN IMMEDIATE")
            try:
                yield self.db
                self.db.execute("COMMIT")
            except BaseException:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                raise

    # -------------------------------------------------------------- reading

    def ids(self) -> tuple[str, ...]:
        """Every set id, in order."""
        with told(self.path):
            return tuple(r[0] for r in self.db.execute("SELECT id FROM pair ORDER BY id"))

    def get(self, pair_id: str) -> Pair:
        """One pair. Raises ``rack-missing``."""
        with told(self.path):
            return self.read(pair_id)

    def all(self) -> tuple[Pair, ...]:
        """Every pair, in the order of their ids."""
        return tuple(self.get(i) for i in self.ids())

    def history(self, pair_id: str) -> tuple[Change, ...]:
        """What was done to a pair, oldest first; also of a pair that was taken out of the register."""
        with told(self.path):
            rows = self.db.execute(
                "SELECT number, at, pair_id, what, before_json FROM change WHERE pair_id = ? ORDER BY number",
                (pair_id,),
            ).fetchall()
        if not rows:
            raise self._missing(pair_id)
        return tuple(Change(*r) for r in rows)

    def reseats(self, pair_id: str) -> tuple[Reseat, ...]:
        """What was measured each time the pair was put back, oldest first."""
        with told(self.path):
            rows = self.db.execute(
                "SELECT at, pair_id, x_mm, y_mm, z_mm FROM reseat WHERE pair_id = ? ORDER BY number",
                (pair_id,),
            )
            return tuple(Reseat(*r) for r in rows)

    def read(self, pair_id: str) -> Pair:
        """One pair, inside whatever transaction is open. Raises ``rack-missing``."""
        row = self.db.execute(
            f"SELECT blank_json, {', '.join(PAIR_COLUMNS)} FROM pair WHERE id = ?", (pair_id,)
        ).fetchone()
        if row is None:
            raise self._missing(pair_id)
        cuts = self.db.execute(
            "SELECT cut_json FROM cut WHERE pair_id = ? ORDER BY side DESC", (pair_id,)
        ).fetchall()
        data = dict(zip(PAIR_COLUMNS, row[1:], strict=True))
        data |= {"id": pair_id, "blank": json.loads(row[0]), "cuts": [json.loads(c[0]) for c in cuts]}
        return plain.pair_from_dict(data, pair_id)

    def _missing(self, pair_id: str) -> JawrightError:
        near = [i for i in self.ids() if pair_id.lower() in i.lower() or i.lower() in pair_id.lower()]
        known = f"known and alike: {', '.join(near[:5])}" if near else 'see "jawright rack list"'
        return JawrightError(
            "rack-missing", what=f'the register has no pair "{pair_id}"', where=self.path.name, todo=known
        )

    # -------------------------------------------------------------- writing

    def add(self, pair: Pair, what: str = "added") -> Pair:
        """Put a pair on the register; with an empty id the next free one is given. Returns it as kept.

        Raises ``rack-state`` when the id is taken.
        """
        with self.write() as db:
            pair_id = pair.id or self._next_id()
            if db.execute("SELECT 1 FROM pair WHERE id = ?", (pair_id,)).fetchone():
                raise JawrightError(
                    "rack-state",
                    what=f'the id "{pair_id}" is taken',
                    where=self.path.name,
                    todo='choose another with --id, or add a cut to that pair with "--to-pair"',
                )
            self.insert(pair, pair_id)
            self.changed(pair_id, what, {})
            return self.read(pair_id)

    def add_cut(self, pair_id: str, cut: Cut, *, height: float | None = None) -> Pair:
        """Note what was cut in a free side, or that a side was cut anew (then the old pocket is history).

        A pair that was faced to a lower ``height`` [mm] has lost what was cut in its other side too.
        Raises ``rack-state`` for a jaw higher than before.
        """
        with self.write() as db:
            pair = self.read(pair_id)
            old = next((c for c in pair.cuts if c.side == cut.side), None)
            before: dict[str, Any] = {"height_mm": pair.height}
            if old is not None:
                before["cut"] = plain.cut_to_dict(old)
                db.execute("DELETE FROM cut WHERE pair_id = ? AND side = ?", (pair_id, cut.side))
            if height is not None:
                if height > pair.height + 1e-9:
                    raise JawrightError("rack-state", what="a jaw does not grow", where=pair_id)
                if height < pair.height - 1e-6:
                    gone = [c for c in pair.cuts if c.side != cut.side]
                    before["faced_away"] = [plain.cut_to_dict(c) for c in gone]
                    db.execute("DELETE FROM cut WHERE pair_id = ? AND side != ?", (pair_id, cut.side))
                db.execute("UPDATE pair SET height_mm = ? WHERE id = ?", (height, pair_id))
            self._insert_cut(pair_id, cut)
            verb = "re-cut" if old is not None else "cut"
            self.changed(pair_id, f"{cut.side} {verb} for {_part_words(cut)}", before)
            return self.read(pair_id)

    def out(self, pair_id: str, to: str) -> Pair:
        """Check a pair out. Raises ``rack-state`` when it is out already or dead."""
        with self.write():
            pair = self.read(pair_id)
            if pair.out_to:
                raise JawrightError(
                    "rack-state",
                    what=f"{pair_id} is out since {pair.out_since}, to {pair.out_to}",
                    where=self.path.name,
                    todo=f'check it in first: "jawright rack in {pair_id}"',
                )
            if pair.status == "dead":
                raise JawrightError(
                    "rack-state",
                    what=f"{pair_id} is dead: {pair.why or 'no reason given'}",
                    where=self.path.name,
                    todo="use another pair, or mend the status with "
                    f'"jawright rack in {pair_id} --status usable"',
                )
            return self._set(pair, f"out to {to}", out_to=to, out_since=self.now())

    def back(  # "in" is a word of the language
        self, pair_id: str, *, parts: int = 0, status: str = "", why: str = "", place: str = ""
    ) -> Pair:
        """Check a pair in, with the parts it has run; also the way to change its status or place.

        Raises ``value-bad`` for no such status, or fewer parts than none.
        """
        if status and status not in STATUSES:
            raise JawrightError(
                "value-bad", what=f'"{status}" is not a status', where=pair_id, todo=", ".join(STATUSES)
            )
        if parts < 0:
            raise JawrightError("value-bad", what="parts run cannot be negative", where=pair_id)
        with self.write():
            pair = self.read(pair_id)
            new: dict[str, Any] = {"out_to": "", "out_since": "", "parts_run": pair.parts_run + parts}
            if status:
                new |= {"status": status, "why": why}
            elif why:
                new["why"] = why
            if place:
                new["place"] = place
            return self._set(pair, f"in, {parts} parts run" if parts else "in", **new)

    def note(self, pair_id: str, **columns: Any) -> Pair:
        """Change picture, note, vise or place of a pair."""
        assert set(columns) <= {"picture", "note", "vise", "place"}, columns
        with self.write():
            return self._set(self.read(pair_id), f"{', '.join(sorted(columns))} changed", **columns)

    def reseated(self, pair_id: str, x: float, y: float, z: float | None = None) -> None:
        """Keep where the tooling hole was found when the pair was put back [mm]; Z None: not measured.

        Raises ``value-bad`` for what no pair does that is seated at all.
        """
        if max(abs(v) for v in (x, y, z or 0.0)) > FAR_OFF:
            raise JawrightError(
                "value-bad",
                what=f"a tooling hole more than {FAR_OFF:g} mm off is not a pair that was put back",
                where=pair_id,
                todo="give what was found less what was kept, with its unit",
            )
        with self.write() as db:
            self.read(pair_id)
            db.execute(
                "INSERT INTO reseat (at, pair_id, x_mm, y_mm, z_mm) VALUES (?, ?, ?, ?, ?)",
                (self.now(), pair_id, x, y, z),
            )
            height = "Z not measured" if z is None else f"Z {z:+.4f} mm"
            self.changed(pair_id, f"re-seated, hole off by X {x:+.4f} mm, Y {y:+.4f} mm, {height}", {})

    def remove(self, pair_id: str, why: str) -> None:
        """Take a pair out of the register; its history stays, with all that was known of it."""
        with self.write() as db:
            pair = self.read(pair_id)
            db.execute("DELETE FROM pair WHERE id = ?", (pair_id,))
            self.changed(pair_id, f"removed: {why}", plain.pair_to_dict(pair))

    def _next_id(self) -> str:
        rows = self.db.execute("SELECT id FROM pair WHERE id GLOB 'J-[0-9]*'").fetchall()
        used = [n for r in rows if (n := counted(r[0][2:])) is not None]
        gone = self.db.execute("SELECT DISTINCT pair_id FROM change WHERE pair_id GLOB 'J-[0-9]*'").fetchall()
        used += [n for r in gone if (n := counted(r[0][2:])) is not None]  # an engraved id is not given twice
        return f"J-{max(used, default=0) + 1:04d}"

    def _set(self, pair: Pair, what: str, **columns: Any) -> Pair:
        have = plain.pair_to_dict(pair)
        before = {k: have[k] for k, v in columns.items() if have[k] != v}
        marks = ", ".join(f"{k} = ?" for k in columns)
        assert set(columns) <= set(PAIR_COLUMNS)
        self.db.execute(f"UPDATE pair SET {marks} WHERE id = ?", (*columns.values(), pair.id))
        self.changed(pair.id, what, before)
        return self.read(pair.id)

    def insert(self, pair: Pair, pair_id: str) -> None:
        """Write a pair's rows, inside an open transaction."""
        data = plain.pair_to_dict(pair)
        self.db.execute(
            f"INSERT INTO pair (id, blank_json, {', '.join(PAIR_COLUMNS)}) "
            f"VALUES (?, ?{', ?' * len(PAIR_COLUMNS)})",
            (pair_id, plain.dumps(data["blank"]), *(data[k] for k in PAIR_COLUMNS)),
        )
        for cut in pair.cuts:
            self._insert_cut(pair_id, cut)

    def _insert_cut(self, pair_id: str, cut: Cut) -> None:
        data = plain.cut_to_dict(cut)
        pocket = cut.jaws.pocket.outer
        x0, y0, x1, y1 = pocket.box
        w = sampled.of_pocket(cut.jaws)
        self.db.execute(
            "INSERT INTO cut VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                pair_id, cut.side, cut.part_number, cut.revision, cut.operation, data["outline_sha256"],
                plain.dumps(data), x1 - x0, y1 - y0, pocket.area, pocket.perimeter,
                cut.jaws.top - cut.jaws.floor, cut.jaws.gap, w.stop, w.blob(),
            ),
        )  # fmt: skip

    def changed(self, pair_id: str, what: str, before: dict[str, Any]) -> None:
        """Write one line of history, inside an open transaction."""
        self.db.execute(
            "INSERT INTO change (at, pair_id, what, before_json) VALUES (?, ?, ?, ?)",
            (self.now(), pair_id, what, plain.dumps(before)),
        )

    # -------------------------------------------------------------- files

    def backup(self, target: Path) -> int:
        """Copy the register to ``target`` while others go on working; checked, then renamed. Bytes written.

        Raises ``file-write`` when the copy cannot be made or does not check.
        """
        beside = target.parent / f".{target.name}.{secrets.token_hex(6)}.new"
        try:
            with told(self.path):
                copy = sqlite3.connect(beside)
                try:
                    self.db.backup(copy)
                    copy.execute("PRAGMA journal_mode = DELETE")
                    sound = copy.execute("PRAGMA integrity_check").fetchone()[0]
                finally:
                    copy.close()
            if sound != "ok":
                raise JawrightError("file-write", what=f"the copy is not sound: {sound}", where=target.name)
            with beside.open("rb") as f:
                os.fsync(f.fileno())
            size = beside.stat().st_size
            beside.replace(target)
            return size
        except OSError as e:
            raise JawrightError(
                "file-write", what=f"the copy could not be written ({e.strerror})", where=target.name
            ) from None
        finally:
            beside.unlink(missing_ok=True)

    def check(self) -> str:
        """ "ok", or what SQLite's own check of the file finds."""
        with told(self.path):
            return str(self.db.execute("PRAGMA integrity_check").fetchone()[0])


def _part_words(cut: Cut) -> str:
    return " ".join(w for w in (cut.part_number, cut.revision, cut.operation) if w) or "an unnamed part"
