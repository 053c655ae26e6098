"""Everything on a line but motion, in the order of table 8.

Source: NISTIR 6556, sections 3.5 to 3.8.
"""

from __future__ import annotations

from jawright.verify.log import Log, ToolChange, Words
from jawright.verify.state import AXES
from jawright.verify.words import RefusedError, whole


class Modes(Log):
    """Carries out the words that set how the control behaves."""

    def _rates(self, words: Words) -> None:
        s = self.state
        mode = words.group("feed mode")
        if mode:
            if mode != s.feed_mode:
                s.feed = None
            s.feed_mode = mode
            s.stated.add("feed mode")
            self.events.append((self.line, "feed mode"))
        f = words.take("F")
        if f is not None:
            if f.value < 0:
                raise RefusedError(f.column, "the feed is negative")
            per_minute = s.feed_mode == "G94"
            # table 8 sets F before units: a line with both is read by the new units, with a caution
            scale = {"G20": 25.4, "G21": 1.0}.get(words.group("units") or "", s.scale)
            s.feed = f.value * scale if per_minute else f.value
            self.events.append((self.line, "feed rate"))
            if words.group("units") and scale != s.scale and per_minute:
                self.find(
                    "caution",
                    f.column,
                    "a feed on the line that changes units: controls differ on which unit it has",
                )
        speed = words.take("S")
        if speed is not None:
            if speed.value < 0:
                raise RefusedError(speed.column, "the spindle speed is negative")
            s.speed = speed.value
            self.events.append((self.line, "spindle speed"))

    def _tool(self, words: Words) -> None:
        s = self.state
        t = words.take("T")
        if t is not None:
            n = whole(t)
            if n < 0:
                raise RefusedError(t.column, "the tool number is negative")
            s.selected = n
            self.events.append((self.line, "select tool"))
        if words.group("tool change"):
            if s.selected is None:
                raise RefusedError(words.column("tool change"), "M6 before any T word")
            self.changes.append(ToolChange(self.line, s.selected, s.position))
            s.tool, s.turning = s.selected, 0
            x, y, _ = s.position
            s.position = (x, y, None)  # another length: the tip is somewhere else
            if s.compensation != "G40":
                self.find(
                    "fault", words.column("tool change"), "tool change under cutter radius compensation"
                )
            self.events.append((self.line, "tool change"))

    def _spindle(self, words: Words) -> None:
        s = self.state
        code = words.group("spindle turning")
        if code:
            s.turning = {"M3": 1, "M4": -1, "M5": 0}[code]
            self.events.append((self.line, "spindle"))
            if s.turning and not s.speed:
                self.once("no speed", "fault", f"{code} with no spindle speed")
        code = words.group("coolant")
        if code:
            s.coolant = frozenset() if code == "M9" else s.coolant | {code}
            self.events.append((self.line, "coolant"))
        if words.group("overrides"):
            self.events.append((self.line, "overrides"))
            if words.group("overrides") == "M49":
                self.find(
                    "caution", words.column("overrides"), "M49 takes the override knobs from the operator"
                )

    def _dwell_step(self, words: Words) -> None:
        if words.group("non-modal") != "G4":
            return
        p = words.take("P")
        if p is None:
            raise RefusedError(words.column("non-modal"), "G4 has no P word")
        if p.value < 0:
            raise RefusedError(p.column, "the dwell is negative")
        self.dwell += p.value
        self.events.append((self.line, "dwell"))

    def _modes(self, words: Words) -> None:
        s = self.state
        comp_on = s.compensation != "G40"
        plane, units = words.group("plane"), words.group("units")
        if plane:
            if comp_on and plane != "G17":
                raise RefusedError(words.column("plane"), f"{plane} under cutter radius compensation")
            s.plane = plane
            self._state("plane")
        if units:
            if comp_on and units != s.units:
                raise RefusedError(
                    words.column("units"), "a change of units under cutter radius compensation"
                )
            s.units = units
            self._state("units")
        self._compensation(words)
        self._length(words)
        system = words.group("coordinate system")
        if system:
            if s.compensation != "G40":
                raise RefusedError(
                    words.column("coordinate system"), f"{system} under cutter radius compensation"
                )
            s.system = system
            self._state("coordinate system")
        for group, field in (
            ("path mode", "path_mode"),
            ("distance mode", "distance"),
            ("return mode", "return_mode"),
        ):
            code = words.group("distance" if group == "distance mode" else group)
            if code:
                setattr(s, field, code)
                self._state("distance" if group == "distance mode" else group)

    def _state(self, group: str) -> None:
        self.state.stated.add(group)
        self.events.append((self.line, group))

    def _compensation(self, words: Words) -> None:
        s = self.state
        code = words.group("radius compensation")
        if code is None:
            return
        self._state("radius compensation")
        if code == "G40":
            s.compensation, s.programmed = "G40", None
            return
        column = words.column("radius compensation")
        if s.compensation != "G40":
            raise RefusedError(column, f"{code} while cutter radius compensation is on already")
        if s.plane != "G17":
            raise RefusedError(column, f"{code} outside the XY plane")
        d = words.take("D")
        index = s.tool if d is None else whole(d)
        if index is None:
            raise RefusedError(column, f"{code} with no tool in the spindle and no D word")
        if index < 0:
            raise RefusedError(column if d is None else d.column, "the D number is negative")
        if index and index not in self.diameters:
            raise RefusedError(column if d is None else d.column, f"no cutter has the number D{index}")
        if s.tool is not None and index != s.tool:
            self.find("fault", column, f"radius offset D{index} with tool T{s.tool} in the spindle")
        s.compensation = code
        s.radius = self.diameters[index] / 2 if index else 0.0
        s.programmed = None

    def _length(self, words: Words) -> None:
        s = self.state
        code = words.group("length offset")
        if code is None:
            return
        self._state("length offset")
        x, y, z = s.position
        if code == "G49":
            if s.length == "G43":
                s.position = (x, y, None)
            s.length, s.length_index = "G49", None
            return
        h = words.take("H")
        if h is None:
            raise RefusedError(words.column("length offset"), "G43 has no H word")
        index = whole(h)
        if index < 0:
            raise RefusedError(h.column, "the H number is negative")
        if s.length_index != index:
            s.position = (x, y, None if s.tool is not None else z)
        s.length, s.length_index = "G43", index
        if s.tool is not None and index != s.tool:
            self.find("fault", h.column, f"length offset H{index} with tool T{s.tool} in the spindle")

    def _shift(self, words: Words) -> None:
        s = self.state
        code = words.group("non-modal")
        if code is None or not code.startswith("G92"):
            return
        if s.compensation != "G40":
            raise RefusedError(words.column("non-modal"), f"{code} under cutter radius compensation")
        self.events.append((self.line, "axis offsets"))
        if code in ("G92.1", "G92.2"):
            s.axis_offset = (0.0, 0.0, 0.0)
            if code == "G92.1":
                s.axis_offset_kept = s.axis_offset
        elif code == "G92.3":
            s.axis_offset = s.axis_offset_kept
        else:
            new = list(s.axis_offset)
            for k, a in enumerate(AXES):
                w = words.take(a)
                if w is not None:
                    here = s.position[k]
                    if here is None:
                        raise RefusedError(w.column, f"G92 {a} while the place of that axis is not known")
                    new[k] = here - w.value * s.scale
            s.axis_offset = (new[0], new[1], new[2])
            s.axis_offset_kept = s.axis_offset
        for k in range(3):
            self.parameters[5211 + k] = s.axis_offset_kept[k] / s.scale
        self.once("G92", "caution", f"{code} moves the program's zero while it runs")

    def _stop(self, words: Words) -> None:
        code = words.group("stopping")
        if code is None:
            return
        self.events.append((self.line, "stop"))
        if code in ("M2", "M30"):
            if self.state.compensation != "G40":
                self.find("caution", words.column("stopping"), "the program ends with radius compensation on")
            self._left_on(words.column("stopping"))
            self.state.end_program()
            self.ended = True

    def _left_on(self, column: int) -> None:
        """What a program leaves on at its end: the standard's M2 and M30 reset it, not every control does."""
        s = self.state
        cycle = (s.motion or "").startswith("G8") and s.motion != "G80"
        states = (
            ("the spindle turning (no M5)", s.turning != 0),
            ("coolant on (no M9)", bool(s.coolant)),
            ("G91 in force", s.distance == "G91"),
            ("a canned cycle in force (no G80)", cycle),
            ("a shifted zero (G92)", s.axis_offset != (0.0, 0.0, 0.0)),
            ("feed per inverse time in force (G93)", s.feed_mode == "G93"),
        )
        left = [what for what, on in states if on]
        if left:
            self.find("caution", column, "the program ends with " + ", ".join(left))
