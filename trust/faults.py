"""What a plan leaves when the machine fails it: nothing half written, nothing lost.

    python trust/faults.py --counts FILE [--kills 20]

Full disk (a file may not grow past a limit), a folder that may not be written, a killed reading child, a
killed plan, a clock that jumps, and two plans into one folder at once.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from importlib import resources
from pathlib import Path

HANGS = 1800.0
"""Seconds after which a plan whose children were killed is said to hang, on however busy a machine."""

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
COMMAND = [
    sys.executable,
    "-m",
    "jawright",
    "plan",
    str(DEMO / "pawl.toml"),
    "--shop",
    str(DEMO / "shop.toml"),
    "--out",
]


def whole(folder: Path) -> bool:
    """The folder holds exactly what its own list says."""
    rows = [r for r in (folder / "contents.sha256").read_text().splitlines() if not r.startswith("#")]
    listed = {name: digest for digest, name in (r.split("  ", 1) for r in rows)}
    have = {p.name for p in folder.iterdir()} - {"contents.sha256"}
    return have == set(listed) and all(
        hashlib.sha256((folder / n).read_bytes()).hexdigest() == d for n, d in listed.items()
    )


def leftovers(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def told(done: subprocess.CompletedProcess[str]) -> bool:
    """One sentence, exit code 2."""
    lines = [x for x in done.stderr.splitlines() if x.startswith("jawright: ")]
    return done.returncode == 2 and len(lines) == 1 and "Traceback" not in done.stderr


def full_disk(folder: Path) -> str:
    """Files may not grow beyond a few kilobytes: the write fails as on a full disk."""
    before = leftovers(folder)

    def small() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    done = subprocess.run([*COMMAND, str(folder / "full")], capture_output=True, text=True, preexec_fn=small)
    assert told(done), done.stderr
    assert leftovers(folder) == before, leftovers(folder)
    return "one sentence, nothing left"


def full_disk_keeps_the_old(folder: Path) -> str:
    """The same with an earlier result in place: it stays, byte for byte."""
    old = folder / "old"
    shutil.copytree(folder / "good", old)

    def small() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    done = subprocess.run([*COMMAND, str(old)], capture_output=True, text=True, preexec_fn=small)
    assert told(done), done.stderr
    assert (
        whole(old)
        and (old / "contents.sha256").read_bytes() == (folder / "good" / "contents.sha256").read_bytes()
    )
    shutil.rmtree(old)
    return "one sentence, the earlier result whole"


def read_only(folder: Path) -> str:
    """A folder that may not be written."""
    place = folder / "locked"
    place.mkdir(mode=0o555)

    # the administrator may write anywhere, unless the right to do so is given up first
    bound = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"] if os.getuid() == 0 else []
    done = subprocess.run([*bound, *COMMAND, str(place / "out")], capture_output=True, text=True)
    assert told(done), done.stderr
    assert leftovers(place) == []
    place.rmdir()
    return "one sentence, nothing left"


def children(pid: int) -> list[int]:
    out = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(fields[1]) == pid:
            out.append(int(stat.parent.name))
    return out


def killed_child(folder: Path) -> str:
    """Whatever works for the plan is killed as soon as it starts, again and again for two seconds."""
    out = folder / "orphan"
    process = subprocess.Popen(
        [*COMMAND, str(out)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    killed, until = 0, time.monotonic() + HANGS
    while process.poll() is None and time.monotonic() < until:
        for child in children(process.pid):
            if killed < 12:
                os.kill(child, signal.SIGKILL)
                killed += 1
        time.sleep(0.05)
    try:
        _, err = process.communicate(timeout=10)
    except subprocess.TimeoutExpired:
        process.kill()
        process.communicate()
        raise AssertionError(f"it did not end within {HANGS:.0f} s") from None
    assert "Traceback" not in err, err
    assert killed > 0
    if process.returncode == 2:
        assert not out.exists() and err.count("jawright: ") == 1
        ended = "one sentence"
    else:
        assert whole(out)
        shutil.rmtree(out)
        ended = "done again by the plan itself, whole"
    return f"{killed} children killed: {ended}"


def killed_parent(folder: Path, kills: int) -> str:
    """The plan is killed at random moments; the folder is absent, or whole."""
    rng, absent, complete = random.Random(5), 0, 0
    out = folder / "killed"
    start = time.monotonic()
    subprocess.run([*COMMAND, str(out)], capture_output=True, check=False)
    usual = time.monotonic() - start
    shutil.rmtree(out)
    for k in range(kills):
        process = subprocess.Popen([*COMMAND, str(out)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            # most kills near the end, where the files are written
            process.wait(timeout=usual * (rng.uniform(0.05, 1.0) if k % 3 == 0 else rng.uniform(0.85, 1.1)))
        except subprocess.TimeoutExpired:
            process.kill()
        process.wait()
        if out.exists():
            assert whole(out)
            complete += 1
            shutil.rmtree(out)
        else:
            absent += 1
        for rest in folder.glob(".killed.*"):
            shutil.rmtree(rest)  # a folder that was never named: it is not the result
    return f"{kills} kills: {absent} left nothing, {complete} left a whole folder"


def clock(folder: Path) -> str:
    """The clock runs backwards and jumps during a plan: the same folder, the date apart."""
    jump = (
        "import itertools, time\n"
        "t = itertools.cycle([0.0, 4e9, -1.0, 1e9])\n"
        "time.time = lambda: next(t)\n"
        "import sys\nfrom jawright.doors.cli.main import main\nsys.exit(main(sys.argv[1:]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", jump, *COMMAND[3:], str(folder / "clock")], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert whole(folder / "clock")
    for good in sorted((folder / "good").iterdir()):
        if good.suffix in (".nc", ".svg", ".dxf", ".step"):
            assert (folder / "clock" / good.name).read_bytes() == good.read_bytes(), good.name
    records = [json.loads((folder / f / "record.json").read_text("utf-8")) for f in ("clock", "good")]
    for record in records:
        del record["made"]
    assert records[0] == records[1]
    shutil.rmtree(folder / "clock")
    return "the same bytes"


def two_at_once(folder: Path) -> str:
    """Two plans into one folder: one whole result at the end, no error but a sentence."""
    out = folder / "both"
    pair = [
        subprocess.Popen([*COMMAND, str(out)], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    ends = []
    for process in pair:
        _, err = process.communicate()
        assert "Traceback" not in err, err
        ends.append(process.returncode)
    assert whole(out) and 0 in ends, ends
    assert not list(folder.glob(".both.*"))
    shutil.rmtree(out)
    return f"exit codes {ends[0]} and {ends[1]}, one whole folder"


def main() -> None:
    """Try each fault; write what was left."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--counts", type=Path, required=True)
    ask.add_argument("--kills", type=int, default=20)
    args = ask.parse_args()
    out: dict[str, str] = {}
    broken: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        subprocess.run([*COMMAND, str(folder / "good")], check=True, capture_output=True)
        assert whole(folder / "good")
        tries: dict[str, Callable[[], str]] = {
            "full disk": lambda: full_disk(folder),
            "full disk, an earlier result in place": lambda: full_disk_keeps_the_old(folder),
            "read-only folder": lambda: read_only(folder),
            "killed child": lambda: killed_child(folder),
            "killed plan": lambda: killed_parent(folder, args.kills),
            "clock jumps": lambda: clock(folder),
            "two plans into one folder": lambda: two_at_once(folder),
        }
        for what, work in tries.items():
            try:
                out[what] = work()
            except (AssertionError, OSError, subprocess.SubprocessError) as error:
                out[what] = "BROKEN"
                broken.append(f"{what}: {error}")
            print(f"{what}: {out[what]}", flush=True)
            args.counts.write_text(json.dumps({"faults": out, "broken": broken}))


if __name__ == "__main__":
    main()
