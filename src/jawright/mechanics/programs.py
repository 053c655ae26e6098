"""Many programs walked at once, each with its own few samples: a search asks for hundreds of small ones.

Every program's samples take the walk that ``bases.solve`` would take with it alone, with the same sums in
the same order, so the answers are the same to the last bit. What is gained is time: a step costs a few
calls on long arrays instead of as many on short ones for each program. Source of the walk: dual simplex
and parametric right-hand sides, as in ``bases`` (Chvátal, Linear Programming (1983), chapter 10).

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from jawright.mechanics.bases import FAR, NONE, STEPS, TOUCH, UNTRIED, Optima, Program

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


ABREAST = 100_000
"""So many numbers of what rows can spare walk together: those of a step then stay in the cache."""


COUNTED = 2**62
"""Bases are told apart by one number where there are fewer of them than this, else by their rows."""


class _Many:
    """Programs of r unknowns side by side, and the bases met so far with which basis follows each.

    Row numbers count within a program; ``spare`` is what each row can spare at y = 0, by sample.
    """

    def __init__(self, programs: Sequence[Program], airs: Sequence[Floats]) -> None:
        self.programs = programs
        self.r = r = len(programs[0].cost)
        self.box = np.array([p.box for p in programs])
        self.varying = np.array([p.varying for p in programs])
        most = int(self.box.max()) + 2 * r
        each, own = len(airs[0]), len(programs)
        self.rows = np.zeros((own, most, r))
        self.last = np.zeros((own, most), dtype=bool)
        self.cost = np.array([p.cost for p in programs])
        self.spare = np.full((own, each, most), np.inf)
        for k, (p, air) in enumerate(zip(programs, airs, strict=True)):
            self.rows[k, : len(p.rows)] = p.rows
            self.last[k, : len(p.rows)] = p.last
            self.spare[k, :, : p.varying] = air
            self.spare[k, :, p.varying : len(p.rows)] = -p.const
        self.digits = [most**k for k in range(r + 1)]
        self.number: dict[int, int] = {}
        self.owner = np.empty(
            64, dtype=np.int64
        )  # these have room to spare: ``number`` tells how far they go
        self.at = np.empty((64, r), dtype=np.int64)
        self.inverse = np.empty((64, r, r))
        self.force = np.empty((64, r))
        self.next = np.empty((64, most), dtype=np.int64)

    def add(self, owner: Ints, rows: Ints) -> Ints:
        """Numbers of the bases ``rows`` (u, r) of programs ``owner`` (u,), new ones inverted."""
        keys, number = self._keys(owner, rows), self.number
        known = len(number)
        out = [number.setdefault(key, len(number)) for key in keys]
        if len(number) > known:
            new: list[int] = []
            for k, n in enumerate(out):
                if n == known + len(new):  # where it came first
                    new.append(k)
            self._append(known, owner[new], rows[new])
        return np.array(out, dtype=np.int64)

    def _append(self, known: int, owner: Ints, rows: Ints) -> None:
        count = known + len(owner)
        while count > len(self.owner):
            for name in ("owner", "at", "inverse", "force", "next"):
                has = getattr(self, name)
                setattr(self, name, np.concatenate([has, np.empty_like(has)]))
        inverse = np.asarray(np.linalg.inv(self.rows[owner[:, None], rows]), dtype=float)
        self.owner[known:count], self.at[known:count] = owner, rows
        self.inverse[known:count], self.force[known:count] = inverse, self.pull(owner, inverse)
        self.next[known:count] = UNTRIED

    def _keys(self, owner: Ints, rows: Ints) -> list[int]:
        """Each basis as one number."""
        if len(self.programs) * self.digits[-1] < COUNTED:
            found: list[int] = (owner * self.digits[-1] + rows @ np.array(self.digits[:-1])).tolist()
            return found
        whole = np.column_stack([owner, rows])
        return [int.from_bytes(row.tobytes(), "little") for row in whole]

    def pull(self, owner: Ints, inverse: Floats) -> Floats:
        """Multipliers (u, r) of bases by their inverses."""
        return np.asarray(-np.matmul(self.cost[owner][:, None, :], inverse)[:, 0])

    def follow(self, at: Ints, entering: Ints) -> Ints:
        """The basis after each (basis, entering row); ``NONE`` when no answer can meet the row."""
        to = self.next[at, entering]
        (new,) = (to == UNTRIED).nonzero()
        if len(new):
            k = self.next.shape[1]
            pairs = np.unique(at[new] * k + entering[new])
            of, row = pairs // k, pairs % k
            self.next[of, row] = self._pivot(of, row)
            to = self.next[at, entering]
        return np.asarray(to)

    def _pivot(self, numbers: Ints, entering: Ints) -> Ints:
        owner = self.owner[numbers]
        leave = self.leaving(owner, entering, self.at[numbers], self.inverse[numbers], self.force[numbers])
        out = np.full(len(numbers), NONE, dtype=np.int64)
        (can,) = (leave >= 0).nonzero()
        if len(can):
            following = self.at[numbers[can]]
            following[np.arange(len(can)), leave[can]] = entering[can]
            out[can] = self.add(owner[can], np.sort(following, axis=1))
        return out

    def leaving(self, owner: Ints, entering: Ints, rows: Ints, inverse: Floats, force: Floats) -> Ints:
        """Place of the row that leaves each basis, as ``bases`` chooses it; -1 when none can."""
        w = np.matmul(self.rows[owner, entering][:, None, :], inverse)[:, 0]
        ok = w > 1e-11
        ratio = np.where(ok, np.maximum(force, 0.0) / np.where(ok, w, 1.0), np.inf)
        ties = ratio <= ratio.min(axis=1, keepdims=True) + 1e-13
        weight = 4.0 * (rows >= self.box[owner, None]) + 2.0 * self.last[owner[:, None], rows]
        weight += w / np.maximum(w.max(axis=1, keepdims=True), 1e-300)
        leave = np.where(ties, weight, -np.inf).argmax(axis=1)
        return np.where(ok.any(axis=1), leave, -1)

    def crossed(
        self, runs: Sequence[tuple[int, int, int]], answer: Floats, spare: Floats
    ) -> tuple[Ints, Floats]:
        """The row each sample crosses most at its answer and what it spares there.

        ``runs`` are (program, first, end) of samples that follow each other.
        """
        slack = np.full((len(answer), int(self.box.max())), np.inf)
        for k, a, b in runs:
            box = int(self.box[k])
            np.matmul(answer[a:b], self.rows[k, :box].T, out=slack[a:b, :box])
        slack += spare[:, : slack.shape[1]]
        worst = slack.argmin(axis=1)
        low = slack.reshape(-1).take(worst + slack.shape[1] * np.arange(len(slack)))
        (far,) = (np.abs(answer).max(axis=1) > FAR / 2).nonzero()  # nearer it is never the most crossed
        if len(far):
            rest = np.concatenate([answer[far], -answer[far]], axis=1) + FAR
            of_box = rest.argmin(axis=1)
            low_box = rest[np.arange(len(far)), of_box]
            owner = np.repeat([k for k, _, _ in runs], [b - a for _, a, b in runs])[far]
            nearer = low_box < low[far]
            worst[far] = np.where(nearer, of_box + self.box[owner], worst[far])
            low[far] = np.minimum(low[far], low_box)
        return worst, low


def solve_all(programs: Sequence[Program], airs: Sequence[Floats]) -> list[Optima]:
    """``bases.solve`` of every program with its own ``air`` (m, varying); m is the same for all.

    Programs may differ in everything, the number of their unknowns included.
    """
    out: dict[int, Optima] = {}
    for mine in _alike(programs, len(airs[0]) if airs else 0):
        found = _solve([programs[k] for k in mine], [airs[k] for k in mine])
        out.update(zip(mine, found, strict=True))
    return [out[k] for k in range(len(programs))]


def _alike(programs: Sequence[Program], samples: int) -> list[list[int]]:
    """Numbers of programs that walk together: as many unknowns, about as many rows, not too many of them."""
    order = sorted(range(len(programs)), key=lambda k: (len(programs[k].cost), programs[k].box))
    out: list[list[int]] = []
    for k in order:
        own = out[-1] if out else []
        same = own and len(programs[own[0]].cost) == len(programs[k].cost)
        if same and (len(own) + 1) * samples * programs[k].box <= ABREAST:
            own.append(k)
        else:
            out.append([k])
    return out


def _solve(programs: Sequence[Program], airs: Sequence[Floats]) -> list[Optima]:
    many = _Many(programs, airs)
    r, own, m = many.r, len(programs), len(airs[0])
    start = many.box[:, None] + np.arange(r) + np.where(many.cost >= 0, r, 0)
    first = many.add(np.arange(own), np.sort(start, axis=1).astype(np.int64))
    middle = _middles(many, first)
    basis, y = _walk(many, np.where(middle >= 0, middle, first), m)
    return _told(many, basis.reshape(own, m), y.reshape(own, m, r))


def _told(many: _Many, basis: Ints, y: Floats) -> list[Optima]:
    """Each program's own bases, the busiest first, and which of them its samples (programs, m) use."""
    used, counts = np.unique(basis[basis >= 0], return_counts=True)
    owner = many.owner[used]
    order = np.lexsort((*many.at[used].T[::-1], -counts, owner))
    used, owner = used[order], owner[order]
    begin = np.searchsorted(owner, np.arange(len(basis) + 1))
    place = np.full(len(many.owner) + 1, -1, dtype=np.int64)
    place[used] = np.arange(len(used)) - begin[owner]
    local = place[basis]
    rows, inverse, force = many.at[used], many.inverse[used], many.force[used]
    return [
        Optima(rows[a:b], inverse[a:b], force[a:b], local[k], y[k])
        for k, (a, b) in enumerate(pairwise(begin))
    ]


def _middles(many: _Many, first: Ints) -> Ints:
    """The basis (or -1) that each program's middle sample ends on."""
    out = np.full(len(first), -1, dtype=np.int64)
    live = np.arange(len(first))
    spare = np.array([s.mean(axis=0) for s in many.spare])
    rows, inverse = many.at[first], many.inverse[first]
    for _ in range(STEPS):
        need = -spare[live[:, None], rows]
        y = np.matmul(inverse, need[:, :, None])[:, :, 0]
        worst, low = _crossed_alone(many, live, y, spare[live])
        (stop,) = (~(low < -TOUCH)).nonzero()
        if len(stop):
            out[live[stop]] = many.add(live[stop], rows[stop])
        (go,) = (low < -TOUCH).nonzero()
        live, rows, inverse, worst = live[go], rows[go], inverse[go], worst[go]
        if not len(live):
            break
        leave = many.leaving(live, worst, rows, inverse, many.pull(live, inverse))
        (can,) = (leave >= 0).nonzero()
        live, rows = live[can], rows[can]
        rows[np.arange(len(can)), leave[can]] = worst[can]
        rows.sort(axis=1)
        inverse = np.asarray(np.linalg.inv(many.rows[live[:, None], rows]), dtype=float)
    return out


def _crossed_alone(many: _Many, live: Ints, y: Floats, spare: Floats) -> tuple[Ints, Floats]:
    """As ``crossed`` of one sample for each program in ``live``."""
    slack = np.full((len(live), int(many.box.max())), np.inf)
    for i, k in enumerate(live):
        box = int(many.box[k])
        slack[i, :box] = many.rows[k, :box] @ y[i]
    slack += spare[:, : slack.shape[1]]
    worst = slack.argmin(axis=1)
    low = slack[np.arange(len(live)), worst]
    (far,) = (np.abs(y).max(axis=1) > FAR / 2).nonzero()
    if len(far):
        rest = np.concatenate([y[far], -y[far]], axis=1) + FAR
        of_box = rest.argmin(axis=1)
        low_box = rest[np.arange(len(far)), of_box]
        nearer = low_box < low[far]
        worst[far] = np.where(nearer, of_box + many.box[live[far]], worst[far])
        low[far] = np.minimum(low[far], low_box)
    return worst, low


def _walk(many: _Many, begin: Ints, m: int) -> tuple[Ints, Floats]:
    """Every sample from its program's basis ``begin`` to its own: bases (programs · m,) and answers."""
    own, most = len(begin), many.spare.shape[2]
    basis, y = np.full(own * m, -1, dtype=np.int64), np.full((own * m, many.r), np.nan)
    flat = many.spare.reshape(own * m, most)
    index, spare = np.arange(own * m), flat
    at = np.repeat(begin, m)
    for step in range(STEPS):
        if step == 0:
            need = -np.take_along_axis(many.spare, many.at[begin][:, None, :].repeat(m, axis=1), axis=2)
            answer = np.matmul(need, many.inverse[begin].transpose(0, 2, 1)).reshape(own * m, many.r)
        else:
            need = -spare.reshape(-1).take(many.at[at] + (most * np.arange(len(at)))[:, None])
            answer = np.einsum("mij,mj->mi", many.inverse[at], need)
        cuts = np.searchsorted(index, m * np.arange(own + 1))
        runs = [(k, int(a), int(b)) for k, (a, b) in enumerate(pairwise(cuts)) if b > a]
        worst, low = many.crossed(runs, answer, spare)
        cross = low < -TOUCH
        (fits,) = (~cross).nonzero()
        done = index[fits]
        basis[done], y[done] = at[fits], answer[fits]
        (go,) = cross.nonzero()
        at = many.follow(at[go], worst[go])
        can = at != NONE
        go, at = go[can], at[can]
        if not len(go):
            break
        index = index[go]
        spare = flat[index]
    return basis, y
