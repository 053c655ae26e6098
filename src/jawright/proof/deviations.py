"""How far each part's feature is off, as one tolerance of the print measures it.

A feature is made where the machine goes; where it ends up on the part follows from the part's
seated pose, and its deviation from the part's own datum reference frame.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse, Hold, MadeFeature
from jawright.job.model import ToleranceAsk
from jawright.mechanics.seat import SeatResult
from jawright.part.model import Part
from jawright.proof.datums import AXES, LEVEL, Frame, Role, build, deviation, joined
from jawright.proof.edges import feature_edge, feature_points
from jawright.proof.gives import KEY
from jawright.proof.places import Off, lie, machine_off, on_part
from jawright.proof.population import Scene
from jawright.proof.say import Say
from jawright.proof.sense import contradicts, lies, wall_normal
from jawright.proof.tilts import slope

Floats = NDArray[np.float64]
Measure = Literal["diameter", "plane", "height", "distance", "tilt", "turn", "upright"]

POSITION = {"position", "coaxiality", "concentricity", "symmetry"}
PROFILE = {"profile of a surface", "profile of a line", "profile"}
ORIENTATION = {"parallelism", "perpendicularity", "angularity"}
FORM = {"flatness", "straightness", "circularity", "roundness", "cylindricity"}
SIZE = {"size", "diameter"}
COAXIAL = {"coaxiality", "concentricity"}
"""Their zone is a cylinder whatever is said (ISO 1101)."""
RUN_OUT = {"circular run-out", "total run-out", "run-out"}
HOLES = ("drill", "bore", "ream")


@dataclass(frozen=True)
class Ask:
    """One tolerance resolved against the hold, or the reason it cannot be judged."""

    tolerance: ToleranceAsk
    feature: MadeFeature | None = None
    datums: tuple[DatumUse, ...] = ()
    measure: Measure | None = None
    refused: str = ""
    supply: tuple[str, ...] = ()

    def title(self, say: Say) -> str:
        """ "pin hole: position Ø0.1 to A|B|C", the zone in the reader's unit."""
        t = self.tolerance
        mark = {"maximum": " at maximum material", "least": " at least material", "": ""}[t.material]
        frame = f" to {'|'.join(t.datums)}" if t.datums else ""
        frame += " (lower line)" if t.composite else ""
        size = say.given(t.zone / 2 if t.kind == "distance" else t.zone, unit=False)
        zone = f"±{size}" if t.kind == "distance" else f"{'Ø' if t.diametral else ''}{size}"
        out = f" projected {say.given(t.projected, unit=False)}" if t.projected else ""
        return f"{t.feature}: {t.kind} {zone}{mark}{out}{frame}"


def resolve(hold: Hold, tolerance: ToleranceAsk) -> Ask:
    """Find the feature and the datums of a tolerance; say what is missing."""
    feature = next((f for f in hold.features if f.name == tolerance.feature), None)
    if feature is None:
        words = f"nothing named {tolerance.feature} is made in this operation"
        return Ask(tolerance, refused=words, supply=(f"a feature named {tolerance.feature}",))
    datums: list[DatumUse] = []
    for letter in tolerance.datums:
        found = _datum(hold, letter)
        if isinstance(found, str):
            tell = f"datum {found}, by a point on its face"
            if len(found) == 1:
                return Ask(tolerance, feature, refused=f"datum {found} is not known", supply=(tell,))
            return Ask(tolerance, feature, refused=found, supply=(f"another datum for {feature.name}",))
        why = _unfit(found)
        if why:
            return Ask(tolerance, feature, refused=why, supply=(f"another datum for {feature.name}",))
        datums.append(found)
    if tolerance.unread:
        tell = f"the {tolerance.kind} of {feature.name} typed in the job as the print has it"
        return Ask(tolerance, feature, tuple(datums), refused=tolerance.unread, supply=(tell,))
    if tolerance.kind in FORM:
        words = f"{tolerance.kind} comes from the cut and the spring of the part, not from where it sits"
        tell = f"{tolerance.kind} of {feature.name}, measured on the first part"
        return Ask(tolerance, feature, tuple(datums), refused=words, supply=(tell,))
    if not datums:
        tell = f"datums of {tolerance.kind} on {feature.name}"
        return Ask(tolerance, feature, refused=f"{tolerance.kind} needs a datum", supply=(tell,))
    wrong = contradicts(tolerance, feature, datums)
    if wrong:
        tell = f"the {tolerance.kind} of {feature.name} as the print has it"
        return Ask(tolerance, feature, tuple(datums), refused=wrong, supply=(tell,))
    measure = _measure(tolerance, feature, datums)
    if measure == "height" and not any(lies(d) for d in datums):
        words = f"no datum of it says how high {feature.name} lies"
        tell = f"the datum {feature.name} is measured from in height"
        return Ask(tolerance, feature, tuple(datums), refused=words, supply=(tell,))
    if measure is None:
        words = f"{tolerance.kind} of {feature.name} to these datums is not understood"
        tell = f"a position, profile or ± distance for {feature.name}"
        return Ask(tolerance, feature, tuple(datums), refused=words, supply=(tell,))
    return Ask(tolerance, feature, tuple(datums), measure)


def _datum(hold: Hold, letter: str) -> DatumUse | str:
    """The datum of that name, several as one when joined by a dash; else the letter missing, or why not."""
    found = []
    for one in letter.split("-"):
        datum = next((d for d in hold.datums if d.letter == one), None)
        if datum is None:
            return one
        found.append(datum)
    return found[0] if len(found) == 1 else joined(letter, found)


def _unfit(d: DatumUse) -> str:
    """Why no frame can be built on a datum; empty when one can."""
    if d.kind == "other":
        return f"datum {d.letter} is neither a plane, a cylinder nor the middle of a width"
    if d.kind in AXES and abs(d.normal[2]) < LEVEL:
        return f"the axis of datum {d.letter} does not stand upright here, which is not modeled"
    if d.kind == "width" and abs(d.normal[2]) > 0.1:
        return f"the middle plane {d.letter} does not stand upright here, which is not modeled"
    return ""


def _measure(t: ToleranceAsk, f: MadeFeature, datums: list[DatumUse]) -> Measure | None:
    level = lies(datums[0])
    if t.kind in POSITION:
        return None if f.kind == "face" else "diameter"
    if t.kind in RUN_OUT:  # twice the eccentricity, about an axis only
        return "diameter" if datums[0].kind in AXES and f.kind in HOLES else None
    if t.kind in PROFILE:
        return "height" if f.kind == "face" else "plane"
    if t.kind == "distance":
        return "height" if level else "distance"
    if t.kind in ORIENTATION:
        if not level and (f.kind in HOLES or f.kind == "face"):
            return "tilt" if datums[0].kind in AXES else "upright"
        return "tilt" if level or datums[0].kind in AXES else "turn"
    return None


@dataclass(frozen=True)
class Judged:
    """Of m parts: signed components (m, d) [mm] and the deviation (m,) as the print measures it."""

    parts: Floats
    value: Floats
    limit: float  # the zone in the same measure [mm]
    words: str  # what each datum takes
    roles: tuple[Role, ...] = ()
    ends: Floats | None = None  # (m, k, 2) deviations at the ends of an axis, for positions
    whole: Floats | None = None  # the same with what no datum takes, for patterns


Frames = dict[tuple[DatumUse, ...], Frame]
"""Datum frames of one population, by the datums that make them."""


def judge(
    ask: Ask,
    scene: Scene,
    sample: Floats,
    seated: SeatResult,
    part: Part | None = None,
    *,
    frames: Frames | None = None,
    parts_only: bool = False,
) -> Judged:
    """Deviations of every part in ``sample`` (m, s), seated as ``seated`` says.

    Position is the diameter over both ends of the feature; profile twice the largest distance from
    nominal; a plain distance, a height, a tilt or a turn over the feature's length as it stands.
    ``frames`` keeps the datum frames of this population from one tolerance to the next. With
    ``parts_only`` the components are all that is wanted: of a position nothing else is worked out.
    """
    f, t = ask.feature, ask.tolerance
    assert f is not None and ask.measure is not None
    if ask.measure in ("height", "tilt"):
        return _out_of_plane(ask, f, scene, sample)
    known = {} if frames is None else frames
    if ask.datums not in known:
        known[ask.datums] = _frame(ask, scene, sample, seated, part)
    frame = known[ask.datums]
    if t.composite:
        frame = frame.turning()
    pts = feature_points(f)
    if ask.measure == "upright":
        return _beside_wall(ask, f, scene, sample)
    if ask.measure == "turn":
        long = _length(pts) if len(pts) > 1 else (f.diameter or 0.0)
        turn = seated.pose[:, 2]
        off = -(turn + frame.turn) * long if frame.turn is not None else np.zeros(len(turn))
        return Judged(off[:, None], np.abs(off), t.zone, frame.words)
    machine = machine_off(scene, f, sample)
    if ask.measure == "plane":
        return _edges(t, f, scene, sample, seated, machine=machine, frame=frame)
    at = pts[0] if ask.measure == "distance" else np.array(f.center[:2])
    dx, dy = _place(machine, seated, at, scene=scene, sample=sample, frame=frame)
    if ask.measure == "distance":
        d = ask.datums[0]
        n = np.array(f.center[:2]) - np.array(d.point[:2]) if d.kind in AXES else np.array(d.normal[:2])
        n = n / (np.hypot(*n) or 1.0)
        off = dx * n[0] + dy * n[1]
        if scene.has(f"cut {f.name}"):
            off = off + sample[:, scene.column(f"cut {f.name}")]
        return Judged(off[:, None], np.abs(off), t.zone / 2, frame.words)
    # The floating side rises: what is upright in the machine leans on the part.
    plain = np.column_stack([dx, dy])
    heights = _heights(t, f, scene.floor)
    if parts_only:
        parts = plain - frame.tilt.at(heights[0])
        return Judged(parts, np.full(len(parts), np.nan), t.zone, frame.words)
    ends = np.stack([plain - frame.tilt.at(h) for h in heights], axis=1)
    parts = ends[:, 0]
    if t.diametral or t.kind in RUN_OUT | COAXIAL:
        value = 2 * np.hypot(ends[:, :, 0], ends[:, :, 1]).max(axis=1)
        more = _place(machine, seated, at, scene=scene, sample=sample, frame=frame, whole=True)
        return Judged(
            parts,
            value,
            t.zone,
            frame.words,
            frame.roles,
            ends,
            ends + np.column_stack([more[0] - dx, more[1] - dy])[:, None],
        )
    along = [d.normal[:2] for d in ask.datums if d.letter == t.along]
    axes = _zone_axes(frame, along[0] if along else None)
    value = np.abs(ends @ axes.T).max(axis=(1, 2))
    return Judged(parts, value, t.zone / 2, frame.words, frame.roles)


def _edges(
    t: ToleranceAsk,
    f: MadeFeature,
    scene: Scene,
    sample: Floats,
    seated: SeatResult,
    *,
    machine: Off,
    frame: Frame,
) -> Judged:
    """A profile: twice the largest distance of its edge from nominal, at its top and its bottom."""
    points, normals = feature_edge(f)
    cut = sample[:, scene.column(f"cut {f.name}")] if scene.has(f"cut {f.name}") else 0.0
    heights = (f.center[2] - scene.floor, max(f.bottom - scene.floor, 0.0))
    leans = [frame.tilt.at(h) for h in heights]
    comp = np.empty((len(sample), len(heights) * len(points)))
    spots = [
        _place(machine, seated, q, scene=scene, sample=sample, frame=frame, whole=t.composite) for q in points
    ]
    # a zone that only turns with its datums goes where the edge is: on the safe side, to its middle
    free = np.mean(spots, axis=0) if t.composite else np.zeros((2, len(sample)))
    for k, (spot, n) in enumerate(zip(spots, normals, strict=True)):
        dx, dy = spot[0] - free[0], spot[1] - free[1]
        for j, off in enumerate(leans):
            comp[:, len(heights) * k + j] = (dx - off[:, 0]) * n[0] + (dy - off[:, 1]) * n[1] + cut
    return Judged(comp, 2 * np.abs(comp).max(axis=1), t.zone, frame.words)


def _heights(t: ToleranceAsk, f: MadeFeature, floor: float) -> tuple[float, ...]:
    """Heights over the floor [mm] at which an axis is judged: its ends, or those of its projected zone."""
    top, bottom = f.center[2] - floor, max(f.bottom - floor, 0.0)
    if not t.projected:
        return top, bottom
    over = (top + t.beyond, top + t.beyond + t.projected)
    under = (bottom - t.beyond, bottom - t.beyond - t.projected)
    return {"top": over, "bottom": under, "either": (*over, *under)}[t.from_end]


def _long(t: ToleranceAsk, f: MadeFeature) -> float:
    """Length of an axis over which its direction counts [mm]."""
    return t.projected or f.center[2] - f.bottom


def _frame(ask: Ask, scene: Scene, sample: Floats, seated: SeatResult, part: Part | None) -> Frame:
    """The datum frame of every part, datums made in this operation where they really lie."""
    made = {d.letter: lie(scene, d, sample, seated, part) for d in ask.datums}
    return build(scene, sample, ask.datums, part, made={k: v for k, v in made.items() if v})


def _length(points: Floats) -> float:
    """Length [mm] over which a wall is measured: its own, slanted or not; of an outline its longer side."""
    if np.linalg.matrix_rank(points - points[0], tol=1e-6) == 1:
        return float(np.hypot(*(points - points[0]).T).max())
    return float(np.ptp(points, axis=0).max())


def _zone_axes(frame: Frame, along: tuple[float, ...] | None) -> Floats:
    """Directions (k, 2) in which a zone that is no diameter counts: square to a datum, else to the frame."""
    if along is not None:
        n = np.array(along)
        return np.atleast_2d(n / (np.hypot(*n) or 1.0))
    n = frame.planes[0][0] if frame.planes else np.array([1.0, 0.0])
    return np.array([n, [-n[1], n[0]]])


def _lean(scene: Scene, sample: Floats) -> Floats:
    """How much each part leans (m,) [rad] as the floating jaw rises."""
    return np.asarray(np.arctan2(sample[:, scene.column("lift")], scene.lift_span))


def _beside_wall(ask: Ask, f: MadeFeature, scene: Scene, sample: Floats) -> Judged:
    """An axis or a face against a standing plane: both the part's tilt and the wall's own lean come in."""
    lean = _lean(scene, sample)
    d = ask.datums[0]
    n = np.array(d.normal[:2]) / math.hypot(*d.normal[:2])
    here = d.letter in scene.made  # both cut in one clamping
    leaning = np.zeros(len(sample)) if here else n[1] * lean + slope(scene, sample, d)
    off = leaning * (_long(ask.tolerance, f) if f.kind in HOLES else float(np.ptp(feature_points(f) @ n)))
    return Judged(off[:, None], np.abs(off), ask.tolerance.zone, f"{d.letter} takes the tilt")


def _place(
    machine: Off,
    seated: SeatResult,
    q: Floats,
    *,
    scene: Scene,
    sample: Floats,
    frame: Frame,
    whole: bool = False,
) -> tuple[Floats, Floats]:
    x, y = on_part(machine, seated, q, scene=scene, sample=sample)
    return deviation(frame, x, y, (float(q[0]), float(q[1])), whole=whole)


def _out_of_plane(ask: Ask, f: MadeFeature, scene: Scene, sample: Floats) -> Judged:
    """Height or tilt against a datum that lies: on the floor, made here, or left by the first side."""
    lean = _lean(scene, sample)
    t = ask.tolerance
    d = next((q for q in ask.datums if lies(q)), ask.datums[0])
    pts = feature_points(f)
    z = sample[:, scene.column("pickup Z")] + sample[:, scene.column(f"machine {f.name} Z")]
    words = "the floor takes the tilt" if ask.measure == "tilt" else "the floor takes tilt and Z"
    other = scene.made.get(d.letter)
    if other is not None:  # both cut in one clamping: neither the floor nor the pick-up comes between them
        lean = np.zeros(len(sample))
        z = (
            sample[:, scene.column(f"machine {f.name} Z")]
            - sample[:, scene.column(f"machine {other.name} Z")]
        )
        words = f"{d.letter} is cut in the same clamping"
    elif scene.has(f"height of {d.letter}"):
        up = 1.0 if d.normal[2] > 0 else -1.0
        lean = lean - sample[:, scene.column(f"tilt of {d.letter}")] / scene.lift_span
        z = z - up * sample[:, scene.column(f"height of {d.letter}")]
        words = f"{d.letter} is not on the floor, the part's own thickness comes between"
    if ask.measure == "tilt":
        normal = wall_normal(f)
        slant = _sprung(f, scene, sample)[1]
        if f.kind in HOLES:
            off = lean * _long(t, f)
        elif f.kind in ("face", "chamfer"):
            off = lean * float(np.ptp(pts[:, 1]))
        else:  # a wall leans over its height, by as much as it faces along the jaws' closing
            across = 1.0 if normal is None else abs(float(normal[1]))
            off = lean * across * (f.center[2] - f.bottom)
        return Judged(off[:, None], np.abs(off) + slant, t.zone, words)
    # The floating side of the part stands high by the lift, so the cut leaves it thin there.
    ends = (float(pts[:, 1].min()), float(pts[:, 1].max()))
    rise, slant = _sprung(f, scene, sample)
    comp = np.column_stack([z + rise - lean * max(0.0, scene.anchor[1] - y) for y in ends])
    worst = np.abs(comp).max(axis=1) + slant / 2
    return Judged(comp, 2 * worst, t.zone, words)


def _sprung(f: MadeFeature, scene: Scene, sample: Floats) -> tuple[Floats | float, Floats | float]:
    """How much higher a face lies when the vise opens, and how far from parallel to the underside (m,) [mm].

    The second is a form: it adds to what the face is off, whatever way that is.
    """
    found = scene.gives.faces.get(f.name) if scene.gives is not None and scene.has(KEY) else None
    if found is None:
        return 0.0, 0.0
    force = sample[:, scene.column(KEY)]
    return force * found[0], np.abs(force) * found[1]
