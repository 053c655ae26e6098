"""Are the print's tolerances met when parts vary? A population is seated and judged as the print says.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import floats, form, gives, together
from jawright.proof.causes import Sampled, Shares, contributions, sampled_of
from jawright.proof.closing import closing
from jawright.proof.datums import Role
from jawright.proof.deviations import FORM, Ask, Frames, judge, resolve
from jawright.proof.gives import KEY, Gives
from jawright.proof.model import Proof, Verdict
from jawright.proof.outcome import PASS_YIELD, Outcome, bonus_of, outcome_of, pattern_good, patterns
from jawright.proof.places import over_size
from jawright.proof.population import FEW, LEVELS, LOST, PARTS, Population, population, salt_of, sprung
from jawright.proof.rivals import HELD, ways
from jawright.proof.say import Say
from jawright.proof.shift import Play, bore_sizes, boundary_words, play
from jawright.proof.sources import Level, Source
from jawright.proof.turning import freedom_words, own_turn
from jawright.shop.model import Shop
from jawright.statistics.capability import cpk_interval

Floats = NDArray[np.float64]

CAUTION_YIELD = 0.99
"""One part in a hundred may fail: parts must be measured one by one (common practice, no source)."""
SPRING_KNOWN = (
    "the clamp force at the torque that is set, measured",
    "the part as a solid of known material",
)
EXPANSION_KNOWN = ("a material of the handbook whose expansion is known",)
"""What would let the part's spring, and its heat, be counted."""
TINY = 5e-4  # [mm] scatter below this is not worth a cause
MODEL = "planar-seating-population-5"
SOURCE = "linear locating model (Cai, Hu and Yuan 1997), ISO 5459 datum frame, ISO 1101 zones"


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Yield of every tolerance in ``hold.tolerances`` over a population of 100,000 parts.

    Then all of them together, and the same held another way. Without tolerances, or with one whose
    feature or datum is unknown, the answer is ``unknown`` and says what to supply. low / set / high
    are the yields with all bands of the shop at their low, set and high figures.
    """
    judgeable = [t for t in hold.tolerances if t.kind not in ("size", "diameter")]
    if not judgeable:
        return (
            Proof(
                question="locates",
                name="tolerances",
                verdict="unknown",
                sentence=_nothing_asked(hold),
                value=None,
                unit="",
                supply=(
                    "a tolerance: what it is of, its kind, zone and datums",
                    "or datums: the general tolerance that was given counts from them"
                    if job.general is not None
                    else "or the general tolerance, such as ISO 2768-m, where the print says so",
                ),
                model=MODEL,
            ),
        )
    say = Say(job.units)
    asks = [resolve(hold, t) for t in judgeable]
    judged = [a for a in asks if a.measure is not None]
    if not judged and not any(a.tolerance.kind in FORM for a in asks):
        return tuple(_unknown(a, say) for a in asks)
    run = study(hold, jaws, part, job, shop)
    proofs = [
        run.proof(a) if a.measure is not None else form.prove(a, run.gives, say) or _unknown(a, say)
        for a in asks
    ]
    if judged and not run.lost:
        one_by_one = [p for p, a in zip(proofs, asks, strict=True) if a.measure is not None]
        proofs += floats.prove(hold, judged, run.all["set"], part, job)
        proofs += together.prove(run.masks(judged), one_by_one, run.ways, run.corrected(judged))
    return tuple(proofs)


def _nothing_asked(hold: Hold) -> str:
    """Why no yield is told where no tolerance depends on how the part sits."""
    sizes = ", ".join(dict.fromkeys(t.feature for t in hold.tolerances))
    if sizes:
        return (
            f"Only sizes were given ({sizes}): the cutter makes those wherever the part sits, so nothing can "
            "be said about good parts."
        )
    return "No tolerance was given, so nothing can be said about good parts."


def _unknown(ask: Ask, say: Say) -> Proof:
    return Proof(
        question="locates",
        name=ask.title(say),
        verdict="unknown",
        sentence=f"{ask.title(say)}: not judged, because {ask.refused}.",
        value=None,
        unit="",
        supply=ask.supply,
        model=MODEL,
    )


@lru_cache(maxsize=1)
def study(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> Run:
    """The populations of a hold and its rivals; the last one asked about is kept."""
    return Run(hold, jaws, part, job, shop)


class Run:
    """The populations of one hold, seated once and judged for every tolerance."""

    def __init__(self, hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> None:
        self.hold, self.part = hold, part
        self.say = Say(job.units)
        self.salt = salt_of(job)
        self.sizes = bore_sizes(hold, job)
        self.all: dict[str, Population] = {k: population(hold, job, shop, k) for k in LEVELS}
        now = self.all["set"]
        self.round_one = own_turn(hold, now.scene.contacts, now.seated.free)
        self.lost = bool(now.seated.free) and self.round_one is None
        self.ways = {} if self.lost else ways(hold, job, shop, now)
        self.all |= {key: w.parts for key, w in self.ways.items()}
        self.gives = gives.of(hold, jaws, part, job, shop)
        if not isinstance(self.gives, str):
            for key, p in self.all.items():
                here = self.ways[key].against if key in self.ways else 0.0
                self.all[key] = sprung(p, replace(self.gives, against=here), _level(key), self.salt)
        self._frames: dict[str, Frames] = {}
        self._sampled: dict[str, Sampled] = {}
        self._known: dict[tuple[Ask, str], tuple[Outcome, str]] = {}

    def outcome(self, ask: Ask, key: str) -> tuple[Outcome, str]:
        """One tolerance over one population, and what was said about its bonus and datum shift."""
        if (ask, key) not in self._known:
            frames = self._frames.setdefault(key, {})
            self._known[ask, key] = self._over(ask, self.all[key], frames)
        return self._known[ask, key]

    def _over(self, ask: Ask, p: Population, frames: Frames) -> tuple[Outcome, str]:
        extra, words = bonus_of(ask, self.hold.tolerances, len(p.sample), self.salt)
        judged = judge(ask, p.scene, p.sample, p.seated, self.part, frames=frames)
        free = self._play(ask, judged.roles, p)
        shift = boundary_words(ask.tolerance, ask.datums, self.sizes)
        got = outcome_of(ask, judged, extra, p.seated.unsolved, free)
        return got, "; ".join(filter(None, (words, shift)))

    def _play(self, ask: Ask, roles: Sequence[Role], p: Population, *, pattern: bool = False) -> Play:
        """What the parts of a population may move by on the gauge of one tolerance."""
        t = ask.tolerance
        sizes = {d.letter: over_size(p.scene, d, p.sample) for d in ask.datums if d.letter in t.boundary}
        own = {k: v for k, v in sizes.items() if v is not None}
        return play(t, roles, self.sizes, len(p.sample), self.salt, pattern=pattern, own=own)

    def corrected(self, asks: Sequence[Ask]) -> Callable[[str], float]:
        """Tells of a way, "set" for as held, its share of good parts once a first article took out the mean
        of the spring."""

        def share(key: str) -> float:
            now = f"{key}, corrected"
            if now not in self.all:
                p = self.all[key]
                few = p.sample[: min(FEW, len(p.sample))].copy()
                if p.scene.gives is not None:
                    few[:, p.scene.column(KEY)] -= p.scene.gives.force[LEVELS.index("set")]
                self.all[now] = Population(p.scene, few, p.seated.first(len(few)))
            return float(self.masks(asks, (now,))[now].all(axis=0).mean())

        return share

    def masks(self, asks: Sequence[Ask], keys: Sequence[str] = ()) -> dict[str, NDArray[np.bool_]]:
        """By way, "set" for as held: which parts are good in all of ``asks`` (k tolerances, m parts).

        A pattern whose datums shift or leave something free has one place on its gauge: it counts with its
        first tolerance.
        """
        keys = keys or ("set", *self.ways)
        found = {key: [self.outcome(a, key)[0].good for a in asks] for key in keys}
        for group in patterns(asks):
            for key in keys:
                first = group[0]
                found[key][first] = found[key][first] & self._pattern([asks[i] for i in group], key)
        return {key: np.array(rows) for key, rows in found.items()}

    def _pattern(self, asks: Sequence[Ask], key: str) -> NDArray[np.bool_]:
        """Whether one place on the gauge brings every feature of a pattern into its zone."""
        got = [self.outcome(a, key)[0] for a in asks]
        count, roles = len(got[0].good), got[0].judged.roles
        free = self._play(asks[0], roles, self.all[key], pattern=True)
        if free.none:  # every freedom is taken: what is good one by one is good together
            return np.ones(count, dtype=bool)
        return pattern_good(asks, got, free)

    def proof(self, ask: Ask) -> Proof:
        """The proof of one tolerance."""
        now, bonus_words = self.outcome(ask, "set")
        few, _ = self.outcome(ask, "low")
        many, _ = self.outcome(ask, "high")
        s = self.all["set"].scene
        share = self.shares(ask, "set", now)
        assumptions = [f"{q.label}: {q.basis}" for q in _first_of_each(s.sources, share.by_label)]
        assumptions.append(f"datum frame: {now.judged.words}")
        if bonus_words:
            assumptions.append(bonus_words)
        if isinstance(self.gives, Gives):
            assumptions.append(f"spring when the vise opens counted, its mean as well, at {self.gives.basis}")
        missing = self._left_out(ask)
        assumptions += [f"{what} not counted: {why}" for what, why, _ in missing]
        verdict = _verdict(now.share)
        sentence = _sentence(ask, now, share.by_label, self.say)
        loose = self._loose(ask)
        if loose:
            verdict, sentence = "fail", loose
        elif verdict != "pass":
            close = closing(
                self.all["set"], now, share.by_label, lambda p: self._over(ask, p, {})[0], self.say
            )
            sentence = f"{sentence} {close}".strip()
        sentence += _not_placed(ask, now)
        if missing and verdict == "pass":
            verdict = "caution"
            sentence += "".join(f" Not in it is the {what}: {why}." for what, why, _ in missing)
        return Proof(
            question="locates",
            name=ask.title(self.say),
            verdict=verdict,
            sentence=sentence,
            value=now.share,
            unit="",
            limit=PASS_YIELD,
            margin=now.share - PASS_YIELD,
            supply=tuple(s for _, _, supply in missing for s in supply),
            low=min(few.share, now.share, many.share),
            set=now.share,
            high=max(few.share, now.share, many.share),
            assumptions=tuple(assumptions),
            model=MODEL,
            source=SOURCE,
            where=ask.feature.center if ask.feature is not None else None,
            detail=tuple(self._numbers(ask, now, share)),
        )

    def _left_out(self, ask: Ask) -> list[tuple[str, str, tuple[str, ...]]]:
        """What should count and does not: what, why, what to supply. No plain pass then."""
        g, s = self.gives, self.all["set"].scene
        why = g if isinstance(g, str) else g.unread.get(ask.tolerance.feature, "")
        out: list[tuple[str, str, tuple[str, ...]]] = []
        if why:
            out.append(("spring when the vise opens", why, SPRING_KNOWN))
        if s.expansion is None and s.sources[s.column("temperature")].sigma > 0:
            out.append(("temperature of the part", "its material's expansion is not known", EXPANSION_KNOWN))
        return out

    def _loose(self, ask: Ask) -> str:
        """What to say of a part whose place is not fixed; empty when it is, as far as this feature goes."""
        title = ask.title(self.say)
        if self.round_one is not None:
            if ask.tolerance.feature not in self.round_one.needs:
                return ""
            return (
                f"{title}: the part turns freely about its own center, so this place is not set: "
                "add a pin in a hole of the first side, or a flat to stop on."
            )
        free = self.all["set"].seated.free
        if not free:
            return ""
        names = ", ".join(freedom_words(f, self.say) for f in free)
        return f"{title}: the part {names} before it is clamped, so its place is not fixed."

    def shares(self, ask: Ask, key: str, outcome: Outcome) -> Shares:
        """What makes the scatter of one tolerance in one population."""
        p = self.all[key]
        if key not in self._sampled:
            self._sampled[key] = sampled_of(p.sample[:FEW], p.seated.unsolved)
        about = self._sampled[key]
        return contributions(ask, p.scene, about, outcome.judged, self.part, steps=key == "set")

    def _numbers(self, ask: Ask, now: Outcome, share: Shares) -> list[tuple[str, float, str]]:
        out = [
            ("zone", now.judged.limit, "mm"),
            ("99.73 % of parts within", now.reach, "mm"),
            ("yield, lower bound of sampling", now.low, ""),
            ("yield, upper bound of sampling", now.high, ""),
            ("parts sampled", float(PARTS), ""),
            ("spread by sampling, one sigma", math.sqrt(share.sampled), "mm"),
            ("spread by sensitivities, one sigma", math.sqrt(share.linear), "mm"),
        ]
        if now.index is not None:
            low, high = cpk_interval(now.index, PARTS)
            out += [("Cpk", now.index, ""), ("Cpk, lower bound", low, ""), ("Cpk, upper bound", high, "")]
        if now.potential is not None:
            out.append(("Cp", now.potential, ""))
        once = {q.label for q in self.all["set"].scene.sources if q.once}
        for label, v in share.by_label.items():
            if v >= 0.001:
                mark = " (once per setup)" if label in once else ""
                out.append((f"share of {label}{mark}", v, ""))
        if ask.measure in ("height", "tilt"):
            return out  # size across the jaws does not enter
        out.append((f"slope on size {HELD}", share.size_slope, ""))
        for key, way in self.ways.items():
            rival, _ = self.outcome(ask, key)
            out.append((f"yield if {key}", rival.share, ""))
            if way.stance:
                slope = self.shares(ask, key, rival).size_slope
                out.append((f"slope on size if {key}", slope, ""))
        return out


def _not_placed(ask: Ask, now: Outcome) -> str:
    """What a position says of a feature that its datums do not place in the plane; empty when they do."""
    if ask.measure != "diameter" or any(r.takes != "turn" for r in now.judged.roles):
        return ""
    return (
        f" {'|'.join(ask.tolerance.datums)} does not place it along X and Y: by itself only its lean counts, "
        "and together with others of its pattern how they lie to each other."
    )


def _level(key: str) -> Level:
    return "low" if key == "low" else "high" if key == "high" else "set"


def _verdict(share: float) -> Verdict:
    if share >= PASS_YIELD:
        return "pass"
    return "caution" if share >= CAUTION_YIELD else "fail"


def _sentence(ask: Ask, now: Outcome, share: dict[str, float], say: Say) -> str:
    lead = next(iter(share.items()), ("", 0.0))
    cause = f"; {100 * lead[1]:.0f} % of the scatter is {lead[0]}" if lead[1] > 0 and now.reach > TINY else ""
    reach = f"99.73 % stay within {say.fine(now.reach)}" if now.reach < LOST else "some do not seat"
    return f"{ask.title(say)}: {100 * now.share:.2f} % of parts good, {reach}{cause}."


def _first_of_each(sources: Sequence[Source], share: dict[str, float]) -> list[Source]:
    seen: dict[str, Source] = {}
    for q in sources:
        seen.setdefault(q.label, q)
    return [seen[label] for label, v in share.items() if v >= 0.001 and label in seen]
