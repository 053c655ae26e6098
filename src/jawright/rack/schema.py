"""The register's tables as one commented SQL text, its version, and the steps from older versions."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from jawright.errors import JawrightError

APPLICATION = 0x4A57_5241
"""SQLite's application id of a register ("JWRA"): another program's database is refused by it."""

SCHEMA = """
-- One row a pair of jaws. What can change in daily use stands in columns; lengths are mm.
CREATE TABLE pair (
    id          TEXT PRIMARY KEY,       -- engraved on both jaws, printed on the label
    blank_json  TEXT NOT NULL,          -- the blank as bought: size, bolt pattern, material
    height_mm   REAL NOT NULL,          -- height left now: less than the blank's after a re-cut
    vise        TEXT NOT NULL,          -- id of the vise the pair was cut in, '' unknown
    place       TEXT NOT NULL,          -- rack-shelf-bin
    status      TEXT NOT NULL CHECK (status IN ('usable', 're-qualify', 'skim', 'dead')),
    why         TEXT NOT NULL,          -- reason of the status, in words
    out_to      TEXT NOT NULL,          -- '' when it lies in its place
    out_since   TEXT NOT NULL,
    picture     TEXT NOT NULL,          -- path of a photo, '' none
    parts_run   INTEGER NOT NULL CHECK (parts_run >= 0),
    note        TEXT NOT NULL
) STRICT;

-- One row a pocket: what is cut in one side of a pair. A pair that was flipped has two.
CREATE TABLE cut (
    pair_id     TEXT NOT NULL REFERENCES pair (id) ON DELETE CASCADE,
    side        TEXT NOT NULL CHECK (side IN ('front', 'back')),
    part_number TEXT NOT NULL,
    revision    TEXT NOT NULL,
    operation   TEXT NOT NULL,
    outline     TEXT NOT NULL,          -- SHA-256 of the outline the pocket was cut for, '' unknown
    cut_json    TEXT NOT NULL,          -- pocket, stack, tooling hole, date, torque
    -- the short signature of the pocket, from which a search makes its short list
    width_mm    REAL NOT NULL,          -- along the jaws
    across_mm   REAL NOT NULL,          -- square to them, gap as cut
    area_mm2    REAL NOT NULL,
    perimeter_mm REAL NOT NULL,
    depth_mm    REAL NOT NULL,          -- from the jaws' top to the floor
    gap_mm      REAL NOT NULL,
    stop        INTEGER NOT NULL,       -- -1, 0 none, +1: at which end a part is stopped
    walls       BLOB NOT NULL,          -- both walls sampled along X, and the stop along Y: float32
    PRIMARY KEY (pair_id, side)
) STRICT;

CREATE INDEX cut_by_part ON cut (part_number, revision);

-- Every change, in order: when and what. Never written over.
CREATE TABLE change (
    number      INTEGER PRIMARY KEY AUTOINCREMENT,
    at          TEXT NOT NULL,          -- UTC
    pair_id     TEXT NOT NULL,
    what        TEXT NOT NULL,          -- one phrase
    before_json TEXT NOT NULL           -- the columns that changed, as they were
) STRICT;

CREATE INDEX change_of_pair ON change (pair_id, number);

-- What was measured when a pair was put back: the spread that may be expected next time.
CREATE TABLE reseat (
    number      INTEGER PRIMARY KEY AUTOINCREMENT,
    at          TEXT NOT NULL,
    pair_id     TEXT NOT NULL,
    x_mm        REAL NOT NULL,          -- tooling hole against the kept work offset
    y_mm        REAL NOT NULL,
    z_mm        REAL                    -- NULL: not measured
) STRICT;

CREATE TRIGGER change_stays BEFORE UPDATE ON change
BEGIN SELECT RAISE(ABORT, 'history is not rewritten'); END;
CREATE TRIGGER change_kept BEFORE DELETE ON change
BEGIN SELECT RAISE(ABORT, 'history is not removed'); END;
"""

VERSION = 2


def _height_unknown(db: sqlite3.Connection) -> None:
    """Let a re-seating be without Z. A 0 of version 1 is mostly one not measured: unknown from here on."""
    db.execute("ALTER TABLE reseat RENAME TO reseat_1")
    table = next(s for s in statements(SCHEMA) if "CREATE TABLE reseat " in s)
    db.execute(table)
    db.execute("INSERT INTO reseat SELECT number, at, pair_id, x_mm, y_mm, nullif(z_mm, 0.0) FROM reseat_1")
    db.execute("DROP TABLE reseat_1")


MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (_height_unknown,)
"""Step k brings version k + 1 to k + 2, in one transaction together with its version number."""


def prepare(db: sqlite3.Connection, where: str) -> None:
    """Make the tables of an empty file, or bring an older register up to date.

    Raises ``rack-bad`` for a database that is no register or is newer than this program.
    """
    if (_number(db, "application_id"), _number(db, "user_version")) == (APPLICATION, VERSION):
        return
    db.execute("BEGIN IMMEDIATE")
    try:
        # read again: another writer may have been first
        kind, version = _number(db, "application_id"), _number(db, "user_version")
        if kind == 0 and version == 0 and not _tables(db):
            for statement in statements(SCHEMA):
                db.execute(statement)
            db.execute(f"PRAGMA application_id = {APPLICATION}")
            db.execute(f"PRAGMA user_version = {VERSION}")
            db.execute("COMMIT")
            return
        _check(kind, version, where)
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise
    for step in range(version, VERSION):
        _migrate(db, step)


def statements(text: str) -> list[str]:
    """The single statements of an SQL text; a trigger's body stays in one."""
    out, pending = [], ""
    for line in text.splitlines(keepends=True):
        pending += line
        if sqlite3.complete_statement(pending):
            out.append(pending.strip())
            pending = ""
    assert not _bare(pending), pending
    return out


def _bare(text: str) -> str:
    return "".join(line for line in text.splitlines() if not line.strip().startswith("--")).strip()


def _check(kind: int, version: int, where: str) -> None:
    if kind != APPLICATION:
        raise JawrightError(
            "rack-bad",
            what="this database is not a register of jaws",
            where=where,
            todo="name another file with --db; a file that does not exist is made",
        )
    if version > VERSION:
        raise JawrightError(
            "rack-bad",
            what=f"the register is of version {version}, this program knows {VERSION}",
            where=where,
            todo="use the newer program",
        )


def _migrate(db: sqlite3.Connection, step: int) -> None:
    db.execute("BEGIN IMMEDIATE")
    try:
        if _number(db, "user_version") == step:  # nobody else has done it meanwhile
            MIGRATIONS[step - 1](db)
            db.execute(f"PRAGMA user_version = {step + 1}")
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise


def _number(db: sqlite3.Connection, name: str) -> int:
    return int(db.execute(f"PRAGMA {name}").fetchone()[0])


def _tables(db: sqlite3.Connection) -> int:
    return int(db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0])
