"""The part seen with one face up: its height, grip band, outline, underside and plan.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, standing
from jawright.geometry.profile import Profile, Region
from jawright.hold import feet, leaning, levels, milled
from jawright.hold.found import Ask
from jawright.hold.incoming import informed
from jawright.hold.model import Below
from jawright.hold.narrow import Narrow, narrows
from jawright.hold.runs import Run, runs
from jawright.job.model import Job
from jawright.part.band import face_heights, grip_band
from jawright.part.features import opening
from jawright.part.model import Band, Part

GRIP = 6.5  # [mm] usual grip depth in smooth soft jaws (common practice, no source)
GRIP_SHARE = 0.3  # of the part's height, for tall parts (common practice, no source)
GRIP_MOST = 12.7  # [mm] deeper is not needed and only bends the jaw (0.50 in; common practice, no source)
GRIP_LEAST = 2.5  # [mm] less is not held by smooth jaws (common practice, no source)
UNDER_CUT = 0.5  # [mm] jaws end this far below what is milled outside (common practice, no source)
OUTSIDE = ("profile", "slot", "face")  # kinds of feature whose cutter may pass over the jaws
ABOVE = 1.5  # [mm] the finished top stands at least this much above the jaws (common practice, no source)


@dataclass(frozen=True, slots=True)
class View:
    """The part standing with ``up`` on top, at turn 0. Heights are Z in that frame [mm].

    ``windows`` are the outlines by which the features that go right through, and are no round holes,
    come out below, by the feature's name.
    """

    up: Vec3
    low: float  # Z of the level it stands on: nearly always the underside
    tall: float  # finished height above that
    stock: float
    grip_depth: float
    grip_reason: str
    band: Band
    outline: Profile
    faces: tuple[int, ...]  # part face of each curve of the outline
    letters: tuple[str, ...]  # datum letter of each curve, "" where none
    center: Vec3  # center of mass, part frame
    down_face: int  # largest flat at the underside, -1 when the part stands on points or lines
    down_faces: tuple[int, ...]  # all flats there
    windows: tuple[tuple[str, Region], ...] = ()
    edge_break: float = 0.0  # at the part's lower edge [mm]
    bridges: tuple[int, ...] = ()  # curves no jaw may touch: they join feet, lean too much, or are milled now
    overhang: float = math.inf  # height above the underside at which metal hangs out beyond the outline [mm]
    short: str = ""  # which of several feet do not reach the floor, in words
    below: tuple[Below, ...] = ()  # what reaches below the level it stands on
    level_reason: str = ""  # why it stands on that one
    milled: tuple[int, ...] = ()  # curves that are milled now down into the grip, of ``bridges``
    runs: tuple[tuple[str, Run], ...] = ()  # ways of the milled features
    narrows: tuple[tuple[str, Narrow], ...] = ()  # how wide a cutter goes into them

    @property
    def tips(self) -> str:
        """Why no jaws keep the part from tipping, in words."""
        if not self.short:
            return "it would tip off the floor the jaws leave it"
        return f"it would tip off the floor the jaws leave it: {self.short}; lay a shim of that height there"


def view(part: Part, job: Job, ask: Ask, up: Vec3) -> View:
    """Stand the part up and cut its grip band.

    Where the part stands on several feet, the outline runs round them all. Raises ``hold-none`` when
    too little stands below what is cut, or when every wall leans too much.
    """
    job = informed(job, part, up)
    lowest, high = _span(part, up)
    level = levels.of(part, job, ask, up)
    low, at = lowest + level.height, level.height
    tall = high - low
    grip, reason = _grip(job, tall, _reached(ask, part, up, low))
    edge = job.incoming.edge_break.value
    band = grip_band(part, up, at, at + grip)
    if band.kind == "drafted" and len(band.outline) == 1:
        grip, reason, band = _on_a_line(part, job, up, grip=(grip, reason), band=band, at=at)
    if job.hold.grip_depth is None:
        grip, reason, band = _below_overhang(part, up, grip=(grip, reason), band=band, at=at)
    if level.below:
        band = replace(band, bottom=level.soles)
    whole = feet.joined(band, part, up)
    outline, faces = whole.outline, whole.faces
    slanted = leaning.too_much(part, faces, up)
    cut = milled.walls(ask, part, up, outline, faces)
    if milled.whole(outline, cut):
        raise JawrightError(
            "hold-none",
            what=milled.NO_WALL,
            where=f"up {up_words(up)}",
            todo="hold it in two clampings, or mill the outline where it stands above the jaws",
        )
    if len({*whole.bridges, *slanted}) == len(outline.curves):
        raise JawrightError(
            "hold-none",
            what=f"every wall within the {grip:.1f} mm the jaws would grip leans by more than "
            f"{math.degrees(leaning.STEEPEST):.0f}°: upright jaws touch it on an edge and drive it out",
            where=f"up {up_words(up)}",
            todo="stand it on another face, or leave an upright band on it in the first operation",
        )
    down = _down_faces(part, up, low)
    letter = {f: d.letter for d in ask.datums for f in d.faces}
    letters = tuple(letter.get(f, "") for f in faces)
    return View(
        up, low, tall, job.incoming.stock_on_top.value, grip, reason, band, outline, faces, letters,
        kernel.centroid(part.shape),
        down[0] if down else -1, down, _windows(part, ask, up), edge,
        tuple(sorted({*whole.bridges, *slanted, *cut})),
        feet.overhang(part, up, outline, above=at + grip) - at, feet.short(band, part, up, level.below),
        below=level.below, level_reason=level.reason, milled=cut, runs=runs(part, ask, up),
        narrows=narrows(part, ask.features, up),
    )  # fmt: skip


def _on_a_line(
    part: Part, job: Job, up: Vec3, *, grip: tuple[float, str], band: Band, at: float
) -> tuple[float, str, Band]:
    """Grip depth, its reason and the band of walls with draft, cut at the level on which they touch."""
    depth, reason = grip
    side = leaning.widest(part, band.sources[0] if band.sources else (), up)
    if side < 0:
        if job.hold.grip_depth is None and depth > leaning.PAD:
            depth = leaning.PAD
            reason = (
                f"a short pad: the walls lean {math.degrees(band.draft):.1f}° and are widest at the floor, "
                "so upright jaws touch them there however deep they reach"
            )
        return (
            depth,
            reason,
            grip_band(part, up, at + min(job.incoming.edge_break.value, depth / 2), at + depth),
        )
    if side > 0:
        return depth, reason, grip_band(part, up, at, at + depth - leaning.JAW_EDGE)
    return depth, reason, band


def _windows(part: Part, ask: Ask, up: Vec3) -> tuple[tuple[str, Region], ...]:
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    found = [(f.ask.name, opening(part, f.window, move)) for f in ask.features if f.window is not None]
    return tuple((name, region) for name, region in found if region is not None)


def _reached(ask: Ask, part: Part, up: Vec3, low: float) -> tuple[float, str]:
    """How far down the outside is milled here: height above the underside [mm], and the feature."""
    found, heights = [], face_heights(part, up)
    for f in ask.features:
        if f.ask.kind not in OUTSIDE or f.face is None:
            continue
        own = [heights[i] for i in f.faces or (f.face.index,) if 0 <= i < len(heights)]
        if own:
            at = max(b for _, b in own) if f.ask.kind == "face" else min(a for a, _ in own)
            found.append((at - low, f.ask.name))
    return min(found, default=(math.inf, ""))


def _grip(job: Job, tall: float, reached: tuple[float, str]) -> tuple[float, str]:
    """The grip depth and why: the job's, else the rule of the trade, less where the operation reaches."""
    most = tall - ABOVE
    if job.hold.grip_depth is not None:
        if job.hold.grip_depth > most:
            raise JawrightError(
                "value-bad",
                what=f"a grip depth of {job.hold.grip_depth:g} mm leaves less than {ABOVE} mm of the "
                f"{tall:.2f} mm high part above the jaws",
                where="[hold] grip_depth",
                todo=f"give {most:.2f} mm or less",
            )
        return job.hold.grip_depth, "given in the job"
    if most < GRIP_LEAST:
        raise JawrightError(
            "hold-none",
            what=f"the part is {tall:.2f} mm high standing this way: with {ABOVE} mm left above the jaws "
            f"only {max(most, 0):.2f} mm could be gripped, and smooth jaws need {GRIP_LEAST} mm",
            todo="stand it on another face, or hold it on a plate with screws or clamps instead of a vise",
        )
    want = min(max(GRIP, GRIP_SHARE * tall), GRIP_MOST)
    under = reached[0] - UNDER_CUT
    if GRIP_LEAST <= under < min(want, most):
        return under, f"{UNDER_CUT} mm below {reached[1]}, which is milled down to {reached[0]:.2f} mm"
    if want > most:
        return most, f"all that is left below the finished top less {ABOVE} mm for the cutter"
    if want == GRIP_MOST:
        return want, "the most that is usual for smooth soft jaws (common practice, no source)"
    if want > GRIP:
        return want, f"{GRIP_SHARE:.0%} of the part's height (common practice, no source)"
    return GRIP, "usual for smooth soft jaws (common practice, no source)"


def _span(part: Part, up: Vec3) -> tuple[float, float]:
    """Z of the lowest and the highest point with ``up`` on top."""
    b = kernel.box(part.shape, standing(up, turn=0.0, shift=(0.0, 0.0, 0.0)))
    return b[2], b[5]


def _below_overhang(
    part: Part, up: Vec3, *, grip: tuple[float, str], band: Band, at: float
) -> tuple[float, str, Band]:
    """Less grip where the jaws would otherwise end on, or hardly touch, what hangs out over the feet."""
    depth, reason = grip
    for h in [c - at for c in feet.ceilings(part, up)]:
        less = h - UNDER_CUT
        if not (GRIP_LEAST <= less < depth and h + GRIP_LEAST > depth):
            continue
        lower = grip_band(part, up, at, at + less)
        out = feet.joined(lower, part, up).outline
        if feet.overhang(part, up, out, above=at + less) <= at + h + 1e-6:
            return less, f"{UNDER_CUT} mm below what hangs out over the jaws at {h:.2f} mm", lower
    return depth, reason, band


def _down_faces(part: Part, up: Vec3, low: float) -> tuple[int, ...]:
    """Flats at the underside, largest first."""
    flat = [
        f
        for f in part.faces
        if f.kind == "plane" and dot(f.normal, up) < -0.9999 and abs(dot(f.center, up) - low) < 1e-3
    ]
    return tuple(f.index for f in sorted(flat, key=lambda f: (-f.area, f.index)))


def up_words(up: Vec3) -> str:
    """A direction in words: "+Z", or its three numbers when it leans."""
    for axis, name in enumerate("XYZ"):
        if abs(up[axis]) > 0.9999:
            return ("+" if up[axis] > 0 else "-") + name
    return "({:.3f}, {:.3f}, {:.3f})".format(*up)
