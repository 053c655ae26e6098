"""What happened on the rack since a plan: a pair that came may serve the job, one that went may be in it."""

from __future__ import annotations

import hashlib
import json
from functools import lru_cache
from pathlib import Path

from jawright.doors.web.inputs import ABOUT
from jawright.doors.web.store import RACK, Store, note
from jawright.rack.model import Pair
from jawright.rack.store import Rack
from jawright.record import Record


def rack_now(folder: Path) -> dict[str, str]:
    """The state of each pair on the rack of a folder of jobs, in a few words; empty without a rack."""
    path = folder / RACK
    if not path.exists():
        return {}
    ahead = path.with_name(f"{path.name}-wal")  # where the newest changes stand
    stamps = tuple(p.stat().st_mtime_ns for p in (path, ahead) if p.exists())
    return dict(_states(path, stamps))


@lru_cache(maxsize=4)
def _states(path: Path, _stamps: tuple[int, ...]) -> tuple[tuple[str, str], ...]:
    with Rack(path) as rack:
        return tuple((p.id, _state(p)) for p in rack.all())


def _state(p: Pair) -> str:
    return json.dumps([p.status, bool(p.out_to), round(p.height, 3), sorted(c.program for c in p.cuts)])


def since(store: Store, job_id: str, record: Record) -> list[str]:
    """What changed on the rack since the last plan of a job, its own jaws left out."""
    about = note(store.path(job_id) / "result", ABOUT)
    if "rack" not in about:
        return []
    old, now = about["rack"], rack_now(store.folder)
    own = hashlib.sha256(record.program.text.encode()).hexdigest() if record.program else "none"
    out = []
    for pair in sorted({*old, *now}):
        if old.get(pair) == now.get(pair) or (pair not in old and own in now[pair]):
            continue
        out.append(f"{pair} {'came' if pair not in old else 'went' if pair not in now else 'changed'}")
    return out


def of_pair(store: Store, record: Record) -> str:
    """Why the rack's pair that a plan uses cannot be set up now; "" when it can, or none is used."""
    if record.reuse is None:
        return ""
    state = rack_now(store.folder).get(record.reuse.pair)
    if state is None:
        return f"Pair {record.reuse.pair} is no longer on the rack"
    status, out, *_ = json.loads(state)
    if status != "usable":
        return f"Pair {record.reuse.pair} is marked {status} on the rack"
    return f"Pair {record.reuse.pair} is out" if out else ""
