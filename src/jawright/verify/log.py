"""What a run of a program gathers: state, moves, findings, in the order things happen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from jawright.verify.model import NcFinding
from jawright.verify.state import ArcPath, Move, Point3, State
from jawright.verify.words import Block, Word

Level = Literal["refused", "fault", "caution", "noted"]


@dataclass(frozen=True, slots=True)
class ToolChange:
    """An M6: where it happened and what came into the spindle."""

    line: int
    tool: int
    position: Point3


@dataclass(slots=True)
class Words:
    """The words of one block by letter and group, checked off as they are used."""

    block: Block
    codes: dict[str, tuple[str, Word]]  # modal group -> code
    values: dict[str, Word]
    used: set[str]

    def take(self, letter: str) -> Word | None:
        """The word of a letter, marked as used; None when the block has none."""
        w = self.values.get(letter)
        if w is not None:
            self.used.add(letter)
        return w

    def group(self, name: str) -> str | None:
        """The code of a modal group in this block, None when there is none."""
        got = self.codes.get(name)
        return got[0] if got else None

    def column(self, name: str) -> int:
        """Column of the code of a modal group, 0 when there is none."""
        got = self.codes.get(name)
        return got[1].column if got else 0


class Log:
    """Base of the reader's run: everything it keeps between lines."""

    def __init__(self, diameters: Mapping[int, float], block_delete: bool, start: Point3) -> None:
        self.diameters = diameters
        self.block_delete = block_delete
        self.state = State(position=start)
        self.parameters: dict[int, float] = {5220: 1.0}
        self.moves: list[Move] = []
        self.findings: list[NcFinding] = []
        self.changes: list[ToolChange] = []
        self.events: list[tuple[int, str]] = []
        self.dwell = 0.0
        self.ended = False
        self.deletes = False
        self.sticky: dict[str, float] = {}  # canned cycle numbers that stay
        self.old_level: float | None = None
        self.lost: int | None = None  # line of a refused motion
        self.line = 0
        self.said: set[str] = set()
        self.systems: list[tuple[int, str]] = []
        self.remarks: list[str] = []
        self.in_machine = False  # a motion in machine coordinates: no work offset has a part in it

    def find(self, level: Level, column: int, what: str, *, line: int | None = None) -> None:
        """Add a finding at the present line."""
        self.findings.append(NcFinding(level, self.line if line is None else line, column, what))

    def once(self, key: str, level: Level, what: str) -> None:
        """Add a finding the first time that ``key`` comes up."""
        if key not in self.said:
            self.said.add(key)
            self.find(level, 0, what)

    def emit(self, kind: str, to: Point3, path: ArcPath | None, in_cycle: bool) -> None:
        """Add a move to ``to`` [mm] and go there."""
        s = self.state
        start = s.position
        feed = 0.0
        if kind == "feed":
            if s.feed is None or s.feed == 0.0:
                self.once(f"no feed {self.line}", "fault", "feed motion with no feed set")
            if s.spindle == 0.0:
                self.once(f"stopped {len(self.changes)}", "fault", "feed motion with the spindle stopped")
            feed = s.feed or 0.0
        move = Move(
            self.line,
            "rapid" if kind == "rapid" else "feed",
            start,
            to,
            path,
            feed,
            s.spindle,
            s.tool,
            in_cycle,
        )
        if kind == "feed" and s.feed_mode == "G93":
            move = Move(self.line, "feed", start, to, path, move.length * feed, s.spindle, s.tool, in_cycle)
        if to[2] is not None and to[2] != start[2] and s.length != "G43" and s.tool is not None:
            self.once(
                f"no offset {len(self.changes)}",
                "fault",
                "motion in Z with no tool length offset (G43 H) in force",
            )
        new = not self.systems or self.systems[-1][1] != s.system
        if new and not self.in_machine:
            self.systems.append((self.line, s.system))
        self.moves.append(move)
        s.position = to
