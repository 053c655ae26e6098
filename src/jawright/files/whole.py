"""Write a folder whole or not at all.

The files are written to a new folder beside the target, flushed to the disk, and then the
folder is renamed into place. A reader sees the old folder or the new one, never a mixture;
an error leaves what was there. ``contents.sha256`` in the folder lists what was written
(the format of common checksum tools), and is how a later run knows its own work. Files that
somebody added stay when their names are of a kind that the caller keeps.
"""

from __future__ import annotations

import fnmatch
import hashlib
import os
import secrets
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path, PurePosixPath

from jawright.errors import JawrightError

CONTENTS = "contents.sha256"
_HEAD = "# written by jawright; check with: sha256sum -c contents.sha256"


def write_folder(target: Path, files: Mapping[str, bytes], *, keep: Sequence[str] = ()) -> tuple[str, ...]:
    """Make ``target`` a folder that holds exactly ``files`` and their list, and what it keeps.

    Parameters
    ----------
    target : the folder; its parent is made when absent. It may exist when it is empty, or when
        it holds exactly what an earlier call wrote, beside files that are kept.
    files : relative names ("record.json", "jaws/fixed.step") and contents.
    keep : patterns ("first-article-*.json") of names of files, in the folder or in one within it, that are
        carried over to the new one as they are, when somebody added them.

    Returns
    -------
    names written, the list itself included.

    Raises ``file-write``; then the target is as it was before.
    """
    for name in files:
        _check_name(name)
    target = Path(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        kept = _kept(target, keep, files)
        _refuse_foreign(target, kept)
        beside = target.parent / f".{target.name}.{secrets.token_hex(6)}.new"
        try:
            _write_all(beside, {**files, CONTENTS: _listing(files)})
            for name in kept:
                (beside / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(target / name, beside / name)
            _put_in_place(beside, target, keep)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    except OSError as e:
        raise JawrightError(
            "file-write",
            what=f"the folder could not be written ({e.strerror or e})",
            where=target.name,
            todo="nothing was changed; see that the disk has room and the folder may be written",
        ) from e
    return (*files, CONTENTS)


def write_file(target: Path, data: bytes) -> None:
    """Write one file whole or not at all: beside the target, flushed, then renamed.

    Raises ``file-write``; then what was there is still there.
    """
    target = Path(target)
    beside = target.parent / f".{target.name}.{secrets.token_hex(6)}.new"
    try:
        with beside.open("xb") as f:
            f.write(data)
            f.flush()
            os.fsync(f.fileno())
        beside.replace(target)
        _flush_folder(target.parent)
    except OSError as e:
        raise JawrightError(
            "file-write",
            what=f"the file could not be written ({e.strerror or e})",
            where=target.name,
            todo="nothing was changed; see that the folder exists, has room and may be written",
        ) from None
    finally:
        beside.unlink(missing_ok=True)


def _check_name(name: str) -> None:
    parts = PurePosixPath(name).parts
    bad = not parts or name.startswith("/") or "\\" in name or "\0" in name or name == CONTENTS
    assert not bad and ".." not in parts and "/".join(parts) == name, f"not a name for a result: {name!r}"


def _listing(files: Mapping[str, bytes]) -> bytes:
    rows = [f"{hashlib.sha256(data).hexdigest()}  {name}" for name, data in sorted(files.items())]
    return ("\n".join([_HEAD, *rows]) + "\n").encode("utf-8")


def _kept(target: Path, keep: Sequence[str], files: Mapping[str, bytes]) -> list[str]:
    """Relative names of plain files in the folder and below it that are of a kept kind."""
    if not keep or target.is_symlink() or not target.is_dir():
        return []
    kind = [p for p in target.rglob("*") if any(fnmatch.fnmatchcase(p.name, k) for k in keep)]
    plain = (p.relative_to(target).as_posix() for p in kind if p.is_file() and not p.is_symlink())
    return sorted(name for name in plain if name not in files)


def _refuse_foreign(target: Path, kept: Sequence[str] = ()) -> None:
    """Refuse to replace anything we did not write, or that somebody changed since."""
    if not target.exists() and not target.is_symlink():
        return
    say = "choose another folder, or move this one away"
    if target.is_symlink() or not target.is_dir():
        what = "it exists and is not a plain folder"
        raise JawrightError("file-write", what=what, where=target.name, todo=say)
    have = sorted(
        p.relative_to(target).as_posix() for p in target.rglob("*") if p.is_symlink() or not p.is_dir()
    )
    if not have:
        return
    wrote = _read_listing(target / CONTENTS)
    if wrote is None:
        raise JawrightError(
            "file-write", what="the folder holds files of somebody else", where=target.name, todo=say
        )
    for name in have:
        if name == CONTENTS or name in kept:
            continue
        path = target / name
        if name not in wrote or path.is_symlink():
            what = f"the folder holds a file that was added to it, {name}"
            raise JawrightError("file-write", what=what, where=target.name, todo=say)
        if hashlib.sha256(path.read_bytes()).hexdigest() != wrote[name]:
            raise JawrightError(
                "file-write", what=f"the file {name} in it was changed by hand", where=target.name, todo=say
            )


def _read_listing(path: Path) -> dict[str, str] | None:
    if not path.is_file() or path.is_symlink():
        return None
    lines = path.read_text("utf-8", errors="replace").splitlines()
    if not lines or lines[0] != _HEAD:
        return None
    pairs = [line.split("  ", 1) for line in lines[1:]]
    return {p[1]: p[0] for p in pairs if len(p) == 2}


def _write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir()
    folders = {folder}
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        folders |= {p for p in path.parents if folder in p.parents}
        with path.open("xb") as f:
            f.write(data)
            f.flush()
            os.fsync(f.fileno())
    for p in folders:
        _flush_folder(p)


def _put_in_place(new: Path, target: Path, keep: Sequence[str] = ()) -> None:
    if not target.exists():
        new.rename(target)
        _flush_folder(target.parent)
        return
    old = target.parent / f".{target.name}.{secrets.token_hex(6)}.old"
    target.rename(old)
    try:
        new.rename(target)
    except OSError:
        old.rename(target)
        raise
    for name in _kept(old, keep, {}):  # what was added while this was written
        if not (target / name).exists():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(old / name, target / name)
    _flush_folder(target.parent)
    shutil.rmtree(old, ignore_errors=True)


def _flush_folder(folder: Path) -> None:
    """A rename is durable only once its folder is flushed; not every system lets one open a folder."""
    try:
        fd = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(fd)
    finally:
        os.close(fd)
