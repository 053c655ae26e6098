"""Read program text: every line to its words, every word carried out in the standard's order.

Source: NISTIR 6556 (17 August 2000), sections 3.3 to 3.8 and appendix B. The reader runs
the subset a three-axis job of jaws can need; what it does not run it refuses by line and
column, and never skips.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from jawright.verify import offset
from jawright.verify.arcs import ArcError
from jawright.verify.cycles import CYCLES
from jawright.verify.log import ToolChange, Words
from jawright.verify.model import NcFinding
from jawright.verify.motion import HOMES, Motion
from jawright.verify.state import AXES, Move, Point3, State
from jawright.verify.words import GROUP_OF, LIMITS, STANDARD, Block, RefusedError, Word, read_line

_ROTARY = "ABC"
_MOVING = ("G0", "G1", "G2", "G3", *CYCLES)


@dataclass(frozen=True, slots=True)
class Reading:
    """A program carried out: its moves, what was found, and the order in which things happened."""

    moves: tuple[Move, ...]
    findings: tuple[NcFinding, ...]
    changes: tuple[ToolChange, ...]
    events: tuple[tuple[int, str], ...]  # (line, item of table 8) in order of execution
    dwell: float  # [s]
    ended: bool
    final: State
    parameters: Mapping[int, float]
    deletes: bool  # some lines start with the block delete character
    systems: tuple[tuple[int, str], ...]  # (line, work offset) whenever the one in force at a motion changes
    remarks: tuple[str, ...]  # the comments of all lines that were read, in order


def read(
    text: str,
    *,
    diameters: Mapping[int, float] | None = None,
    block_delete: bool = False,
    start: Point3 = (None,) * 3,
) -> Reading:
    """Carry out a program.

    Parameters
    ----------
    text : the whole program.
    diameters : table of cutter diameters [mm] by number, used by G41 and G42 (appendix B).
    block_delete : True when lines that start with a slash are skipped.
    start : where the tip stands at first [mm]; None where it is not known.
    """
    run = _Run(diameters or {}, block_delete, start)
    run.program(text)
    return Reading(
        tuple(run.moves),
        tuple(run.findings),
        tuple(run.changes),
        tuple(run.events),
        run.dwell,
        run.ended,
        run.state,
        run.parameters,
        run.deletes,
        tuple(run.systems),
        tuple(run.remarks),
    )


class _Run(Motion):
    """One program from its first line to its end."""

    def program(self, text: str) -> None:
        if len(text) > LIMITS["reading"]["program_bytes_max"]:
            self.find("refused", 0, "the program is too long", line=1)
            return
        lines = text.splitlines()
        marked = False
        seen = False
        for n, raw in enumerate(lines, 1):
            self.line = n
            stripped = raw.strip()
            if not stripped:
                continue
            if stripped == "%":
                if seen and not marked:
                    self.find("refused", 1, "'%' ends a program only when its first line was '%' too")
                if seen:
                    self.ended = True
                    break
                seen = marked = True
                continue
            if self._program_number(stripped):
                seen = True
                continue
            seen = True
            self._one(raw, n)
            if self.ended or len(self.findings) >= LIMITS["reading"]["findings_max"]:
                break
        rest = [n for n, raw in enumerate(lines[self.line :], self.line + 1) if raw.strip() not in ("", "%")]
        if self.ended and rest:
            self.find(
                "caution",
                0,
                f"{len(rest)} lines stand after the program's end and are never run",
                line=rest[0],
            )
        if not self.ended and len(self.findings) < LIMITS["reading"]["findings_max"]:
            self.find(
                "fault",
                0,
                "the program does not end: M2, M30 or a closing '%' is missing",
                line=max(1, len(lines)),
            )

    def _program_number(self, stripped: str) -> bool:
        """A lone program number on the first line: outside the standard, harmless, noted."""
        head = stripped.split("(", 1)[0].strip().upper()
        plain = head.isascii() and head[1:].isdigit()
        if self.moves or not head.startswith("O") or not plain or len(head) > 6:
            return False
        self.find("noted", 1, f"program number {head}: a name, not a command")
        return True

    def _one(self, raw: str, n: int) -> None:
        try:
            block = read_line(raw, n, self.parameters)
            if block.deleted:
                self.deletes = True
                if self.block_delete:
                    return
            self._block(block)
        except RefusedError as r:
            self.find("refused", r.column, r.what)
            self.state.motion = None
            self.lost = n

    # -- one block in the order of table 8 -------------------------------------------------

    def _block(self, block: Block) -> None:
        codes: dict[str, tuple[str, Word]] = {}
        values: dict[str, Word] = {}
        for w in block.words:
            if w.letter in "GM":
                code = w.code
                if code in STANDARD["refused"]:
                    raise RefusedError(w.column, f"{code} is not run here: {STANDARD['refused'][code]}")
                codes[GROUP_OF[code]] = (code, w)
            else:
                if w.letter in _ROTARY:
                    raise RefusedError(w.column, f"{w.letter} is a rotary axis: this is a three-axis job")
                values[w.letter] = w
        words = Words(block, codes, values, set())
        self._check(words)
        for index, value in block.settings:
            self.parameters[index] = value
        if block.comments:
            self.remarks += block.comments
            self.events.append((self.line, "comment"))
        for step in (self._rates, self._tool, self._spindle, self._dwell_step, self._modes, self._shift):
            step(words)
        try:
            self._motion(words)
        except (ArcError, offset.OffsetError) as f:
            raise RefusedError(self._mover(words), str(f)) from None
        except RefusedError as r:
            raise RefusedError(r.column or self._mover(words), r.what) from None
        unused = [w for letter, w in values.items() if letter not in words.used]
        if unused:
            w = unused[0]
            raise RefusedError(w.column, f"the {w.letter} word has no use on this line")
        self._stop(words)

    def _mover(self, words: Words) -> int:
        """Column of the word that asks for the line's motion, the mode or else an axis."""
        axis = [words.values[a].column for a in AXES if a in words.values]
        return words.column("motion") or min(axis, default=1)

    def _check(self, words: Words) -> None:
        """Errors that must be found before anything on the line moves."""
        motion, plain = words.group("motion"), words.group("non-modal")
        axis = [words.values[a] for a in AXES if a in words.values]
        if plain in ("G92", *HOMES) and motion not in (None, "G80") and axis:
            raise RefusedError(axis[0].column, f"both {motion} and {plain} would use the axis words")
        if plain == "G92" and not axis:
            raise RefusedError(words.column("non-modal"), "G92 needs an axis word")
        if motion in _MOVING and not axis and motion not in CYCLES and plain not in HOMES:
            raise RefusedError(words.column("motion"), f"{motion} has no axis word")
        if motion == "G80" and axis and plain not in ("G92", *HOMES):
            raise RefusedError(axis[0].column, "axis words with G80")
        if plain == "G53":
            active = motion or self.state.motion
            if active not in ("G0", "G1"):
                raise RefusedError(words.column("non-modal"), "G53 needs G0 or G1")
            if self._comp_after(words) != "G40":
                raise RefusedError(words.column("non-modal"), "G53 under cutter radius compensation")
            if not axis:
                raise RefusedError(words.column("non-modal"), "G53 has no axis word")
        if "D" in words.values and words.group("radius compensation") not in ("G41", "G42"):
            raise RefusedError(words.values["D"].column, "a D word with no G41 or G42")
        if "H" in words.values and words.group("length offset") != "G43":
            raise RefusedError(words.values["H"].column, "an H word with no G43")
        if axis and motion is None and plain not in ("G92", *HOMES) and self.state.motion in (None, "G80"):
            self._no_motion(axis[0])

    def _no_motion(self, word: Word) -> None:
        if self.state.motion == "G80":
            raise RefusedError(word.column, "axis words while G80 is in force")
        if self.lost is not None:
            raise RefusedError(word.column, f"no motion mode is known after line {self.lost} was refused")
        raise RefusedError(word.column, "axis words before any of G0, G1, G2, G3 or a cycle")

    def _comp_after(self, words: Words) -> str:
        return words.group("radius compensation") or self.state.compensation
