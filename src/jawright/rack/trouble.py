"""What SQLite complains of, told as errors of ours."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from jawright.errors import JawrightError

WAIT = 20.0
"""Seconds a writer waits for another to finish."""


@contextmanager
def told(path: Path) -> Iterator[None]:
    """SQLite's errors as ours."""
    try:
        yield
    except sqlite3.OperationalError as e:
        raise failed(e, path) from None
    except (sqlite3.DatabaseError, UnicodeDecodeError) as e:
        # in a damaged file not even the names that SQLite complains of are text
        words = "its text is damaged" if isinstance(e, UnicodeDecodeError) else str(e)
        raise JawrightError(
            "rack-bad",
            what=f"the register cannot be used ({words})",
            where=path.name,
            todo="if the file is damaged, put the last backup in its place",
        ) from None


def failed(error: sqlite3.OperationalError, path: Path) -> JawrightError:
    """The error of ours for a register that is locked, or cannot be opened or written."""
    if "locked" in str(error) or "busy" in str(error):
        return JawrightError(
            "rack-busy",
            what=f"somebody else has been writing for {WAIT:.0f} seconds",
            where=path.name,
            todo="try again; nothing of this command was written",
        )
    return JawrightError(
        "rack-bad",
        what=f"the register cannot be opened or written ({error})",
        where=path.name,
        todo="name a file in a folder that exists and may be written, on a local disk, with --db",
    )
