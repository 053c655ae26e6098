"""Does it go home on its locators, flush on the floor? The planar half: located, flush, range, going home."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics.locate import Freedom
from jawright.mechanics.seat import CARRIES, SeatResult
from jawright.part.model import Part
from jawright.proof import chips, fights, homing, twolevels
from jawright.proof.corners import pinched
from jawright.proof.judge import Band, Basis, Extra, at_least, at_most, unknown
from jawright.proof.model import Proof, Verdict
from jawright.proof.population import FEW, LEVELS, LOST, Scene, population, salt_of, scene
from jawright.proof.say import Say
from jawright.proof.turning import OwnTurn, freedom_words, own_turn
from jawright.proof.underneath import floor_proofs
from jawright.shop.model import Shop

Floats = NDArray[np.float64]

FEELER = 0.04
"""Air [mm] a 0.0015 in feeler finds: what still counts as seated (common practice, no source)."""
SHARE = 0.9973
OFF = 0.005  # [mm] air at which a contact no longer touches: how true jaws are cut
LEAST_GAP = 1.5
"""Least gap between the jaws with a part clamped [mm] (0.060 in; common practice, no source)."""
SWEEP = 0.6  # [mm] growth looked at either way for the acceptance window, at the least
STEP = 0.002  # [mm] between the growths looked at
MODEL = "planar-seating-1"
SOURCE = "unilateral linear locating model (Asada and By 1985)"
SLIDES = "walls slide freely while the part is tapped home, then the jaw is torqued"


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Seating of the nominal part and of a population of 100,000, in the plane and on the floor."""
    s = scene(hold, job, shop)
    if len(s.contacts) == 0:
        basis = Basis(MODEL, SOURCE)
        words = "No wall touches the part, so nothing can be said about how it sits."
        return (unknown("sits", "located", words, unit="", supply=("a hold with contacts",), basis=basis),)
    nominal = s.seated(np.zeros((1, len(s.sources))))
    round_one = own_turn(hold, s.contacts, nominal.free)
    found = [located(s, nominal, Say(job.units), round_one, hold.no_stop)]
    if nominal.located or (round_one is not None and not nominal.unsolved.any()):
        found.append(flush(hold, job, shop, round_one))
        found.append(window(hold, jaws, job, s))
        found.extend(chips.prove(hold, part, job, s))
        home = homing.of(hold, job, shop)
        if home is not None:
            found.append(homing.prove(home, s, shop, Say(job.units)))
    found.extend(pinched(hold, jaws, job))
    found.extend(floor_proofs(hold, jaws, part, job, shop))
    found.extend(twolevels.prove(hold, jaws, job))
    return tuple(found)


def advice(free: Freedom, no_stop: str = "") -> str:
    """What takes a freedom away, in shop words; ``no_stop`` says why no stop can be added, if none can."""
    dx, dy, _ = free.move
    if not any(free.move):
        return "give the floating jaw a wall square on to its closing direction"
    if "turns" in free.words:
        return "add a second locator on the fixed jaw, well apart from the first"
    if abs(dx) >= abs(dy) and no_stop:
        return f"no stop serves here: {no_stop}; pin another turn or side up"
    if abs(dx) >= abs(dy):
        return "add a stop, and push the part to it"
    return "let a wall of the floating jaw push it toward the fixed jaw"


def located(
    s: Scene, nominal: SeatResult, say: Say, round_one: OwnTurn | None = None, no_stop: str = ""
) -> Proof:
    """How many of the three freedoms in the plane are taken at the seated place.

    A round part that only turns about its own center is a caution while nothing made here needs the turn.
    """
    free = nominal.free
    jammed = bool(nominal.unsolved.any()) and not free
    left = 3 - min(3, len(free)) if not jammed else 0
    carry = [
        s.contacts[r].name
        for b in nominal.bases
        for r, f in zip(b.rows, b.force, strict=True)
        if r < len(s.contacts) and f > CARRIES
    ]
    assumptions = [SLIDES]
    if s.push != (0.0, 0.0):
        assumptions.append("pushed to the stop by hand while the jaw closes; friction then keeps it there")
    at_worst: Verdict = "fail"
    if round_one is not None and not round_one.needs:
        at_worst = "caution"
        sentence = (
            "The part turns freely about its own center: located in X and Y, and all that is made here "
            "is about that center."
        )
    elif round_one is not None:
        sentence = (
            f"The part turns freely about its own center, and {said(round_one.needs)} needs a set turn: "
            "add a pin in a hole of the first side, or a flat to stop on."
        )
    elif free:
        ways = " and ".join(freedom_words(f, say) for f in free)
        todo = "; ".join(dict.fromkeys(advice(f, no_stop) for f in free))
        sentence = f"The part is not located: it {ways}. {todo[0].upper()}{todo[1:]}."
    elif jammed:
        sentence = "The part does not go home: it touches walls that stand still before that."
    else:
        sentence = f"The part is located: it rests on {', '.join(carry)}."
    band = Band(float(left), float(left), float(left))
    return at_least(
        "sits",
        "located",
        sentence,
        band=band,
        unit="",
        limit=3.0,
        basis=Basis(MODEL, SOURCE, tuple(assumptions)),
        extra=Extra(at_worst=at_worst, detail=(("contacts that may touch", float(len(s.contacts)), ""),)),
    )


def said(names: Sequence[str]) -> str:
    """ "pin hole 1 and 2 more" of many names."""
    return names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"


def locators(s: Scene) -> list[int]:
    """Numbers of the contacts that locate, those of the floating jaw left out."""
    return [i for i, c in enumerate(s.contacts) if c.locates and c.on != "floating"]


def air_at_locators(s: Scene, sample: Floats, seated: SeatResult, gaps: Floats | None = None) -> Floats:
    """Air [mm] (m, k) left at each of ``locators`` once seated; ``LOST`` where the part does not seat.

    ``gaps`` are those of the sample, where they are had already.
    """
    which = locators(s)
    p, n = s.points[which], s.normals[which]
    core = p + n * s.radius[which][:, None]
    c, si = np.cos(seated.pose[:, 2:3]), np.sin(seated.pose[:, 2:3])
    mx = c * core[:, 0] - si * core[:, 1] + seated.pose[:, :1] - core[:, 0]
    my = si * core[:, 0] + c * core[:, 1] + seated.pose[:, 1:2] - core[:, 1]
    air = (s.gaps(sample) if gaps is None else gaps)[:, which] + n[:, 0] * mx + n[:, 1] * my
    return np.asarray(np.where(seated.unsolved[:, None], LOST, air))


def _fight(s: Scene, job: Job, say: Say) -> str:
    """Which locators fight at the size limits, in words; "" where none do or such a part does not go in."""
    half = job.incoming.profile.value / 2
    limits, extremes = fights.at_limits(s, half)
    if limits.unsolved.any():
        return ""
    air = air_at_locators(s, extremes, limits)
    return fights.words(s, locators(s), air, limits.active, half, limit=FEELER, say=say)


def flush(hold: Hold, job: Job, shop: Shop, round_one: OwnTurn | None = None) -> Proof:
    """Air left at the locating contacts over a population: 99.73 % of parts within the value.

    In a round nest a bigger part rides on the ends and a smaller one in the middle: it is located all
    the same, so air there is a caution at most.
    """
    say = Say(job.units)
    values, shares, worst_name, fight = [], [], "", ""
    for level in LEVELS:
        crowd = population(hold, job, shop, level)
        s, seated = crowd.scene, crowd.seated
        each = air_at_locators(s, crowd.sample, seated)
        most = each.max(axis=1, initial=0.0)
        values.append(float(np.quantile(most, SHARE)))
        shares.append(float((most <= FEELER).mean()))
        if level == "set":
            carries = seated.active.mean(axis=0)
            order = np.argsort(-carries, kind="stable")
            names = [(s.contacts[i].name, float(carries[i])) for i in order]
            loose = [
                s.contacts[i].name for i, a in zip(locators(s), each.T, strict=True) if np.median(a) > OFF
            ]
            worst_name = f"; {', '.join(loose)} mostly stand off" if loose else ""
            fight = "" if round_one is not None else _fight(s, job, say)
    low, mid, high = values
    leave = (
        f"99.73 % leave at most {say.fine(mid)} of air"
        if mid < LOST
        else "some do not go in between the walls"
    )
    sentence = (
        f"{100 * shares[1]:.2f} % of parts sit on all their locators within {say.given(FEELER)}; "
        f"{leave}{worst_name}."
    )
    sentence += f" {fight}" if fight else ""
    at_worst: Verdict = "fail"
    if round_one is not None and mid < LOST:
        at_worst = "caution"
        if mid > FEELER:
            sentence = (
                f"A bigger part rides on the ends of its round nest: up to {say.fine(mid)} of air in the "
                "middle, and still located."
            )
    detail = [("share seated", shares[1], ""), ("share seated, high scatter", shares[2], "")]
    detail += [(f"parts in which {n} carries", v, "") for n, v in names]
    return at_most(
        "sits",
        "flush on the locators",
        sentence,
        band=Band(min(low, mid), mid, max(mid, high)),
        unit="mm",
        limit=FEELER,
        basis=Basis(
            "planar-seating-population-1",
            SOURCE,
            (
                SLIDES,
                f"incoming size ± {say.given(job.incoming.profile.value / 2)} ({job.incoming.profile.basis})",
                f"each wall ± {say.given(job.incoming.wall_form.value)} ({job.incoming.wall_form.basis})",
                f"jaws cut within one sigma {say.given(shop.jaw_cut.set)} ({shop.jaw_cut.basis})",
                f"limit: {say.given(FEELER)} feeler (common practice, no source)",
            ),
        ),
        extra=Extra(at_worst=at_worst, detail=tuple(detail)),
    )


def _come_in(s: Scene) -> tuple[float, float]:
    """Smallest and largest growth of the outline that parts come in with [mm]."""
    q = s.sources[0]
    if q.kind == "measured":
        return min(q.values), max(q.values)
    return -q.size, q.size


def _taken(hold: Hold, jaws: Jaws | None, s: Scene, sweep: float) -> tuple[float, float]:
    """Least and most growth [mm] that is taken."""
    growth = np.linspace(-sweep, sweep, 2 * math.ceil(sweep / STEP) + 1)
    sample = np.zeros((len(growth), len(s.sources)))
    sample[:, 0] = growth
    seated = s.seated(sample)
    ok = air_at_locators(s, sample, seated).max(axis=1, initial=0.0) <= FEELER
    with np.errstate(invalid="ignore"):
        ok &= (hold.gap - seated.travel >= LEAST_GAP) if jaws is not None else True
    clear = [z.allowance for z in jaws.zones if z.purpose == "clear"] if jaws is not None else []
    if clear:
        ok &= growth <= min(clear)
    zero = len(growth) // 2
    lo, hi = zero, zero
    if not ok[zero]:
        return 0.0, 0.0
    while lo > 0 and ok[lo - 1]:
        lo -= 1
    while hi < len(growth) - 1 and ok[hi + 1]:
        hi += 1
    return float(growth[lo]), float(growth[hi])


def _sizes(say: Say, wide: float, *, taken: tuple[float, float], come: tuple[float, float]) -> str:
    """Which widths are taken, as far as parts come in: what a pocket takes far beyond them helps nobody."""

    def range_of(growth: tuple[float, float]) -> str:
        return f"{say.fine(wide + 2 * growth[0], unit=False)} to {say.fine(wide + 2 * growth[1])}"

    (lo, hi), (least, most) = taken, come
    if hi < least or lo > most:
        return f"Takes widths across the jaws of {range_of(taken)}; parts come in at {range_of(come)}."
    if lo > least or hi < most:
        both = (max(lo, least), min(hi, most))
        return (
            f"Takes widths across the jaws of {say.fine(wide + 2 * both[0], unit=False)} (no-go) to "
            f"{say.fine(wide + 2 * both[1])} (go); parts come in at {range_of(come)}."
        )
    cap = max(most - least, FEELER)

    def spare(room: float) -> str:
        return f"over {say.fine(2 * cap)}" if room > cap else say.fine(2 * room)

    return (
        f"Takes every width across the jaws that comes in, {range_of(come)}, and {spare(hi - most)} more "
        f"or {spare(least - lo)} less."
    )


def window(hold: Hold, jaws: Jaws | None, job: Job, s: Scene) -> Proof:
    """Incoming sizes this hold takes: seated within a feeler, jaws not closed solid, clear walls clear."""
    least, most = _come_in(s)
    half = max(abs(most), abs(least))
    sweep = max(SWEEP, 1.2 * half, hold.gap if jaws is not None else 0.0)
    lo_g, hi_g = _taken(hold, jaws, s, sweep)
    say = Say(job.units)
    _, y0, _, y1 = hold.outline.outer.box
    wide = y1 - y0
    room = min(hi_g, -lo_g)
    come = s.sources[0].draw(FEW, salt_of(job))
    out = float(((come < lo_g - 1e-9) | (come > hi_g + 1e-9)).mean())
    accepted = (max(lo_g, least), min(hi_g, most))
    if accepted[0] > accepted[1]:
        accepted = (lo_g, hi_g)
    sentence = _sizes(say, wide, taken=(lo_g, hi_g), come=(least, most))
    if out > 0.0:
        sentence += f" {100 * out:.1f} % of them are outside of that: sort them out before they are clamped."
    return at_least(
        "sits",
        "range of incoming sizes",
        sentence,
        band=Band(room, room, room),
        unit="mm",
        limit=half,
        basis=Basis(
            "acceptance-window-2",
            SOURCE,
            (
                "the whole outline grows or shrinks alike",
                f"looked at ± {say.fine(sweep)} of growth",
                f"air at the locators up to {say.given(FEELER)}, {say.given(LEAST_GAP)} between the jaws "
                "(common practice, no source)",
            ),
        ),
        extra=Extra(
            at_worst="fail" if out > 0.5 else "caution",
            detail=(
                ("share of parts outside", out, ""),
                ("smallest width accepted", wide + 2 * accepted[0], "mm"),
                ("largest width accepted", wide + 2 * accepted[1], "mm"),
                ("smallest width taken", wide + 2 * lo_g, "mm"),
                ("largest width taken", wide + 2 * hi_g, "mm"),
                ("width at nominal", wide, "mm"),
            ),
        ),
    )
