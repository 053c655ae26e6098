"""A folder is written whole or not at all."""

from __future__ import annotations

import errno
import hashlib
import os
import subprocess
from pathlib import Path

import pytest

from jawright.errors import JawrightError
from jawright.files import whole
from jawright.files.whole import CONTENTS, write_folder

FILES = {"a.txt": b"one", "sub/b.bin": bytes(range(256)), "c.json": b"{}"}


def tree(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_writes_everything_and_a_list_that_common_tools_check(tmp_path: Path) -> None:
    target = tmp_path / "new" / "out"
    write_folder(target, FILES)
    assert {k: v for k, v in tree(target).items() if k != CONTENTS} == FILES
    for line in (target / CONTENTS).read_text().splitlines()[1:]:
        digest, name = line.split("  ")
        assert hashlib.sha256(FILES[name]).hexdigest() == digest
    done = subprocess.run(["sha256sum", "-c", CONTENTS], cwd=target, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert [p.name for p in target.parent.iterdir()] == ["out"]


def test_replaces_its_own_folder_and_drops_what_is_no_longer_made(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write_folder(target, FILES)
    write_folder(target, {"a.txt": b"two"})
    assert set(tree(target)) == {"a.txt", CONTENTS}
    assert (target / "a.txt").read_bytes() == b"two"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_takes_an_empty_folder(tmp_path: Path) -> None:
    target = tmp_path / "out"
    target.mkdir()
    write_folder(target, FILES)
    assert (target / "a.txt").read_bytes() == b"one"


def refusals(target: Path) -> None:
    before = tree(target) if target.is_dir() else target.read_bytes()
    with pytest.raises(JawrightError) as e:
        write_folder(target, FILES)
    assert e.value.code == "file-write"
    assert str(target.parent) not in str(e.value)
    assert (tree(target) if target.is_dir() else target.read_bytes()) == before
    assert [p.name for p in target.parent.iterdir() if p.name.startswith(".")] == []


def test_refuses_a_folder_of_somebody_else(tmp_path: Path) -> None:
    target = tmp_path / "out"
    target.mkdir()
    (target / "thesis.txt").write_text("years of work")
    refusals(target)


def test_refuses_when_a_note_was_added(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write_folder(target, FILES)
    (target / "notes.txt").write_text("moved Y by 0.01")
    refusals(target)


def test_refuses_when_a_file_was_changed_by_hand(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write_folder(target, FILES)
    (target / "a.txt").write_text("edited at the machine")
    refusals(target)


def test_what_is_kept_stays_and_all_else_is_replaced(tmp_path: Path) -> None:
    """Measurements that were added are carried over; anything else that was added still refuses."""
    target, kinds = tmp_path / "out", ("first-article-*.json",)
    write_folder(target, FILES)
    (target / "first-article-1.json").write_text("measured")
    refusals(target)  # unless the caller says so
    write_folder(target, {"a.txt": b"two"}, keep=kinds)
    assert set(tree(target)) == {"a.txt", CONTENTS, "first-article-1.json"}
    assert (target / "first-article-1.json").read_text() == "measured"
    assert "first-article" not in (target / CONTENTS).read_text()
    write_folder(target, {"a.txt": b"three"}, keep=kinds)  # and once more
    assert (target / "first-article-1.json").read_text() == "measured"
    (target / "notes.txt").write_text("moved Y by 0.01")
    with pytest.raises(JawrightError, match=r"added to it, notes\.txt"):
        write_folder(target, FILES, keep=kinds)
    (target / "notes.txt").unlink()
    (target / "first-article-1.json").unlink()
    (target / "first-article-1.json").symlink_to(target / "a.txt")
    with pytest.raises(JawrightError, match=r"first-article-1\.json"):
        write_folder(target, FILES, keep=kinds)


def test_what_was_measured_in_a_folder_within_stays_too(tmp_path: Path) -> None:
    """Each clamping of a part that takes two has its own first article; it outlives another plan."""
    target, kinds = tmp_path / "out", ("first-article-*.json",)
    write_folder(target, {"a.txt": b"one", "clamping-1/record.json": b"{}"})
    (target / "clamping-1" / "first-article-1.json").write_text("measured")
    write_folder(target, {"a.txt": b"two", "clamping-1/record.json": b"[]"}, keep=kinds)
    assert (target / "clamping-1" / "record.json").read_bytes() == b"[]"
    write_folder(target, {"a.txt": b"three"}, keep=kinds)
    assert (target / "clamping-1" / "first-article-1.json").read_text() == "measured"
    assert not (target / "clamping-1" / "record.json").exists()
    (target / "clamping-1" / "notes.txt").write_text("mine")
    with pytest.raises(JawrightError, match=r"added to it, clamping-1/notes\.txt"):
        write_folder(target, {"a.txt": b"four"}, keep=kinds)


def test_a_result_that_is_added_while_the_folder_is_written_is_not_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target, kinds = tmp_path / "out", ("first-article-*.json",)
    write_folder(target, FILES)
    rename = Path.rename

    def late(self: Path, to: Path) -> Path:
        if self == target:
            (target / "first-article-2.json").write_text("just measured")
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", late)
    write_folder(target, {"a.txt": b"two"}, keep=kinds)
    assert (target / "first-article-2.json").read_text() == "just measured"


def test_refuses_a_file_and_a_link(tmp_path: Path) -> None:
    plain = tmp_path / "file"
    plain.write_text("mine")
    refusals(plain)
    real = tmp_path / "real"
    write_folder(real, FILES)
    link = tmp_path / "link"
    link.symlink_to(real)
    refusals(link)


@pytest.mark.parametrize("existing", [False, True], ids=["new", "replacing"])
@pytest.mark.parametrize("fail_at", range(1, 9))
def test_a_failure_at_any_point_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, existing: bool, fail_at: int
) -> None:
    """The disk fills up at the n-th flush, or the n-th rename fails."""
    target = tmp_path / "out"
    if existing:
        write_folder(target, {"old.txt": b"old"})
    before = tree(target) if existing else None
    real_fsync, real_rename, count = os.fsync, Path.rename, 0

    def tick() -> None:
        nonlocal count
        count += 1
        if count == fail_at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def fsync(fd: int) -> None:
        tick()
        real_fsync(fd)

    def rename(self: Path, to: Path) -> Path:
        tick()
        return real_rename(self, to)

    monkeypatch.setattr(whole.os, "fsync", fsync)
    monkeypatch.setattr(Path, "rename", rename)
    try:
        write_folder(target, FILES)
    except JawrightError as e:
        assert e.code == "file-write"
        after = tree(target) if target.exists() else None
        # the very last flush comes after the rename: then the new folder is whole already
        assert after == before or (after is not None and set(FILES) < set(after))
    else:
        assert count < fail_at
        assert set(tree(target)) == {*FILES, CONTENTS}
    monkeypatch.undo()
    left = [p.name for p in tmp_path.iterdir() if p.name.endswith(".new")]
    assert left == []


@pytest.mark.parametrize("name", ["", "/etc/passwd", "../x", "a/../b", "a//b", "a\\b", CONTENTS, "./a"])
def test_names_that_leave_the_folder_are_a_defect(tmp_path: Path, name: str) -> None:
    with pytest.raises(AssertionError):
        write_folder(tmp_path / "out", {name: b""})
    assert list(tmp_path.iterdir()) == []
