"""Motion of one line: straight, arc, machine coordinates, compensated, cycle.

Source: NISTIR 6556, sections 3.5.1 to 3.5.3, 3.5.12, 3.5.16 and appendix B.
"""

from __future__ import annotations

import math

from jawright.verify import offset
from jawright.verify.arcs import about, from_center, from_radius
from jawright.verify.cycles import CYCLES, CycleAsk, expand
from jawright.verify.log import Level, Words
from jawright.verify.modes import Modes
from jawright.verify.state import AXES, PLANES, ArcPath, Point3
from jawright.verify.words import STANDARD, RefusedError, Word, whole

HOMES = ("G28", "G30")


class Motion(Modes):
    """Turns the axis words of a line into moves."""

    def _motion(self, words: Words) -> None:
        s = self.state
        code = words.group("motion")
        if words.group("non-modal") in HOMES:
            self._home(words)
        if code is not None:
            if code != s.motion or code not in CYCLES:
                self.sticky = {}
                if code in CYCLES:
                    self.old_level = s.position[PLANES[s.plane][2]]
            s.motion = code
        axis = any(a in words.values and a not in words.used for a in AXES)
        if code == "G80":
            self.events.append((self.line, "motion"))
        if s.motion in CYCLES and (axis or code in CYCLES):
            self._cycle(words, s.motion)
            self.events.append((self.line, "motion"))
        elif axis and s.motion in ("G0", "G1", "G2", "G3"):
            if words.group("non-modal") != "G53":  # machine coordinates do not hang on these modes
                self._power_up(s.motion)
            if s.motion in ("G0", "G1"):
                self._straight(words)
            else:
                self._arc(words, ccw=s.motion == "G3")
            self.events.append((self.line, "motion"))

    def _home(self, words: Words) -> None:
        """G28 and G30: by way of the axis words, when there are any, to a place that is not in the program.

        3.5.8: all axes go. Other controls move those named alone. What is safe here is safe there too: the
        way home counts as unsafe wherever metal or vise could be met from this height.
        """
        s = self.state
        code, column = words.group("non-modal") or "", words.column("non-modal")
        if s.compensation != "G40":
            raise RefusedError(column, f"{code} under cutter radius compensation")
        via: list[float | None] = list(s.position)
        hangs = False  # on unit, distance mode or work offset
        for k, a in enumerate(AXES):
            w = words.take(a)
            if w is None:
                continue
            self._pointless(w)
            here, v = via[k], w.value * s.scale
            if s.distance == "G91" and v == 0.0:
                continue
            hangs = True
            if s.distance == "G90":
                via[k] = v + s.axis_offset[k]
            elif here is None:
                raise RefusedError(w.column, f"G91 {a} while the place of that axis is not known")
            else:
                via[k] = here + v
        if hangs:
            self._power_up("G0")
        z0, z1 = s.position[2], via[2]
        if z1 is not None and (z0 is None or z1 < z0 - 1e-9):
            self.find("fault", column, f"{code} first goes down to Z{z1 / s.scale:g}: write G91 {code} Z0")
        if tuple(via) != s.position:
            self.emit("rapid", (via[0], via[1], via[2]), None, False)
        self.once(
            code, "caution", f"{code}: which axes go home differs between controls; taken as all of them"
        )
        self.in_machine = True
        self.emit("rapid", (None, None, None), None, False)
        self.in_machine = False
        self.events.append((self.line, "home"))

    def _power_up(self, motion: str) -> None:
        """Modes a program must state itself: what a control wakes up in is not in the file."""
        needs: dict[str, tuple[Level, str]] = {
            "units": ("fault", "neither G20 nor G21 stands before the first motion"),
            "distance": ("fault", "neither G90 nor G91 stands before the first motion"),
            "coordinate system": ("fault", "no work offset (G54 to G59.3) stands before the first motion"),
            "radius compensation": ("caution", "G40 does not stand before the first motion"),
        }
        if motion in ("G2", "G3") or motion in CYCLES:
            needs["plane"] = ("fault", "no plane (G17) stands before the first arc or cycle")
        if motion != "G0":
            needs["feed mode"] = ("caution", "G94 does not stand before the first feed motion")
        for group, (level, what) in needs.items():
            if group not in self.state.stated:
                self.once(
                    "power up " + group, level, what + ": it would run in whatever mode the control is in"
                )

    def _target(self, words: Words) -> Point3:
        s = self.state
        out: list[float | None] = list(s.position)
        if s.programmed is not None:
            out[0], out[1] = s.programmed
        for k, a in enumerate(AXES):
            w = words.take(a)
            if w is None:
                continue
            self._pointless(w)
            v = w.value * s.scale
            if s.distance == "G91":
                here = out[k]
                if here is None:
                    raise RefusedError(w.column, f"G91 {a} while the place of that axis is not known")
                out[k] = here + v
            else:
                out[k] = v + s.axis_offset[k]
        return (out[0], out[1], out[2])

    def _pointless(self, w: Word) -> None:
        if w.pointless and w.value != 0.0:
            self.once(
                "pointless",
                "caution",
                f"{w.letter}{w.value:g} has no decimal point: some controls read it in their smallest step",
            )

    def _straight(self, words: Words) -> None:
        s = self.state
        if words.group("non-modal") == "G53":
            self._machine(words)
            return
        to = self._target(words)
        pieces: list[offset.Piece] | None = None
        if s.compensation != "G40" and ("X" in words.used or "Y" in words.used):
            pieces = self._compensated_line(to)
        if pieces is None:
            if s.compensation != "G40":
                to = (s.position[0], s.position[1], to[2])
            self._go(to, None, words)
            return
        self._pieces(pieces, to[2], words)

    def _compensated_line(self, to: Point3) -> list[offset.Piece]:
        s = self.state
        side, r = offset.side_and_radius(s.compensation, s.radius)
        here = self._flat(s.position)
        goal = self._flat(to)
        if s.programmed is None:
            pieces = offset.first_line(here, goal, side, r)
        else:
            pieces = offset.line(here, s.programmed, goal, side, r)
        s.programmed = goal
        return pieces

    def _pieces(self, pieces: list[offset.Piece], z: float | None, words: Words) -> None:
        """The standard's moves of one compensated line; travel in Z is spread over their length."""
        z0 = self.state.position[2]
        if not pieces:
            self._go((*self._flat(self.state.position), z), None, words)
            return
        lengths, here = [], self._flat(self.state.position)
        for p in pieces:
            lengths.append(abs(p.arc.radius * p.arc.sweep) if p.arc else math.dist(here, p.end))
            here = p.end
        done, total = 0.0, math.fsum(lengths) or 1.0
        for k, p in enumerate(pieces):
            done += lengths[k]
            last = k == len(pieces) - 1
            at = z if last or z is None or z0 is None else z0 + (z - z0) * done / total
            self._go((*p.end, at), p.arc, words)

    def _flat(self, p: Point3) -> tuple[float, float]:
        if p[0] is None or p[1] is None:
            raise RefusedError(0, "the place in X and Y is not known before this line")
        return (p[0], p[1])

    def _machine(self, words: Words) -> None:
        """G53: only Z0, the machine's top, has a known meaning here; X and Y are then not known."""
        s = self.state
        out: list[float | None] = list(s.position)
        for k, a in enumerate(AXES):
            w = words.take(a)
            if w is None:
                continue
            if k == 2 and w.value != 0.0:
                self.find(
                    "fault",
                    w.column,
                    f"G53 Z{w.value:g}: where that is above the vise is not known; only Z0 is",
                )
            out[k] = None
        self.in_machine = True
        self._go((out[0], out[1], out[2]), None, words)
        self.in_machine = False

    def _arc(self, words: Words, *, ccw: bool) -> None:
        s = self.state
        a, b, _ = PLANES[s.plane]
        if AXES[a] not in words.values and AXES[b] not in words.values:
            raise RefusedError(0, f"an arc in {s.plane} needs {AXES[a]} or {AXES[b]}")
        to = self._target(words)
        base: list[float | None] = list(s.position)
        if s.programmed is not None:
            base[0], base[1] = s.programmed
        start, end = (base[a], base[b]), (to[a], to[b])
        if start[0] is None or start[1] is None or end[0] is None or end[1] is None:
            raise RefusedError(0, "an arc starts where the place of the cutter is not known")
        path = self._arc_path(words, (start[0], start[1]), (end[0], end[1]), ccw)
        if s.compensation == "G40":
            self._go(to, path, words)
            return
        side, r = offset.side_and_radius(s.compensation, s.radius)
        here, goal = self._flat(s.position), (end[0], end[1])
        if s.programmed is None:
            limit = STANDARD["arc_radius_inch"] * 25.4 if s.units == "G20" else STANDARD["arc_radius_mm"]
            pieces = offset.first_arc(here, path, goal, side=side, radius=r, limit=limit)
        else:
            pieces = offset.arc(here, (start[0], start[1]), path, goal, side=side, radius=r)
        s.programmed = goal
        self._pieces(pieces, to[2], words)

    def _arc_path(
        self, words: Words, start: tuple[float, float], end: tuple[float, float], ccw: bool
    ) -> ArcPath:
        s = self.state
        a, b, c = PLANES[s.plane]
        letters = "IJK"
        r = words.take("R")
        first, second = words.take(letters[a]), words.take(letters[b])
        if letters[c] in words.values:
            raise RefusedError(
                words.values[letters[c]].column, f"{letters[c]} has no use for an arc in {s.plane}"
            )
        if r is not None and (first is not None or second is not None):
            raise RefusedError(r.column, "an arc with both R and a center")
        for w in (r, first, second):
            if w is not None:
                self._pointless(w)
        if r is not None:
            if s.compensation != "G40" and s.programmed is None:
                raise RefusedError(
                    r.column, "the move that starts compensation is an arc with R: write a straight lead-in"
                )
            return from_radius(start, end, r.value * s.scale, ccw=ccw, plane=s.plane)
        if first is None and second is None:
            raise RefusedError(0, f"an arc needs R, {letters[a]} or {letters[b]}")
        off = ((first.value if first else 0.0) * s.scale, (second.value if second else 0.0) * s.scale)
        if s.compensation != "G40" and s.programmed is None:
            center = (start[0] + off[0], start[1] + off[1])
            return about(start, end, center, ccw=ccw, plane=s.plane)
        return from_center(start, end, off, ccw=ccw, plane=s.plane, inch=s.units == "G20")

    def _cycle(self, words: Words, code: str) -> None:
        s = self.state
        self._power_up(code)
        axes = PLANES[s.plane]
        if s.feed_mode == "G93":
            raise RefusedError(words.column("motion"), f"{code} under inverse time feed")
        if s.compensation != "G40":
            raise RefusedError(words.column("motion"), f"{code} under cutter radius compensation")
        if not any(a in words.values for a in AXES):
            raise RefusedError(words.column("motion"), f"{code} has no axis word")
        if any(s.position[k] is None for k in axes):
            raise RefusedError(
                words.column("motion"), f"{code} starts where the place of the cutter is not known"
            )
        at = tuple(s.position[k] or 0.0 for k in axes)
        ask = self._cycle_ask(words, code, (at[0], at[1], at[2]))
        for step in expand(ask, (at[0], at[1], at[2])):
            if step.kind == "dwell":
                self.dwell += step.seconds
            elif step.to is not None:
                out: list[float | None] = [None, None, None]
                for k, v in zip(axes, step.to, strict=True):
                    out[k] = v
                self.emit("rapid" if step.kind == "rapid" else "feed", (out[0], out[1], out[2]), None, True)

    def _cycle_ask(self, words: Words, code: str, at: tuple[float, float, float]) -> CycleAsk:
        s = self.state
        a, b, c = PLANES[s.plane]
        depth, level = words.take(AXES[c]), words.take("R")
        for key, w in (("depth", depth), ("level", level), ("P", words.take("P")), ("Q", words.take("Q"))):
            if w is not None:
                self.sticky[key] = w.value * (1.0 if key == "P" else s.scale)
                if key != "P":
                    self._pointless(w)
        column = words.column("motion")
        for key, what in (("depth", AXES[c]), ("level", "R")):
            if key not in self.sticky:
                raise RefusedError(column, f"{code} has no {what} word")
        if code in ("G82", "G86", "G89") and self.sticky.get("P", -1.0) < 0:
            raise RefusedError(column, f"{code} needs a P word that is not negative")
        if code == "G83" and self.sticky.get("Q", 0.0) <= 0:
            raise RefusedError(column, "G83 needs a positive Q word")
        if code == "G86" and not s.turning:
            raise RefusedError(column, "G86 with the spindle stopped")
        repeats = words.take("L")
        count = 1 if repeats is None else whole(repeats)
        if count < 1 or count > 1000:
            raise RefusedError(repeats.column if repeats else 0, "L must be a whole number from 1 to 1000")
        incremental = s.distance == "G91"
        place = []
        for k, axis in enumerate((a, b)):
            w = words.take(AXES[axis])
            if w is not None:
                self._pointless(w)
            if w is None:
                place.append((at[k], 0.0))
            elif incremental:
                place.append((at[k] + w.value * s.scale, w.value * s.scale))
            else:
                place.append((w.value * s.scale + s.axis_offset[axis], 0.0))
        shift = s.axis_offset[c]
        top = at[2] + self.sticky["level"] if incremental else self.sticky["level"] + shift
        bottom = top + self.sticky["depth"] if incremental else self.sticky["depth"] + shift
        if top < bottom:
            raise RefusedError(column, f"R is below {AXES[c]}")
        old = self.old_level if self.old_level is not None else at[2]
        clear = max(old, top) if s.return_mode == "G98" else top
        return CycleAsk(
            code,
            place[0][0],
            place[1][0],
            (place[0][1], place[1][1]),
            top,
            bottom,
            clear,
            count,
            self.sticky.get("P", 0.0),
            self.sticky.get("Q", 0.0),
        )

    def _go(self, to: Point3, path: ArcPath | None, words: Words) -> None:
        rapid = self.state.motion == "G0"
        if not rapid and self.state.feed_mode == "G93" and "F" not in words.values:
            raise RefusedError(0, "inverse time feed needs an F word on every G1, G2 and G3 line")
        self.emit("rapid" if rapid else "feed", to, path, False)
