"""A part that no jaws can be cut for: what of it lies within the grip, and what stands in the jaws' way."""

from __future__ import annotations

from jawright.geometry.frame import Vec3
from jawright.geometry.profile import Region
from jawright.papers.ink import HIDDEN, LARGE, PLAIN, THICK, THIN, Ink, fit_scale, pen, scale_words
from jawright.part.band import grip_band, silhouette
from jawright.part.model import Part

FOOT, OFFENDS, SHADOW = "#f6e9c8", "#f0b7a6", "#f3f1ec"


def feet_view(part: Part, up: Vec3, *, grip: float, width: float = 186.0) -> str:
    """SVG of the part from above: its plan dashed, what lies within ``grip`` [mm] of the floor filled.

    The largest piece is what jaws would grip; further pieces are drawn in red: they offend, since a
    jaw's wall would have to stand between them.
    """
    plan = silhouette(part, up)
    band = grip_band(part, up, 0.0, grip)
    pieces = sorted(band.outline, key=lambda r: -r.area)
    boxes = [r.outer.box for r in (*plan, *pieces)]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    scale = fit_scale(x1 - x0, y1 - y0, paper=(width - 40.0, 80.0))
    height = scale * (y1 - y0) + 32.0
    ink = Ink(width, height, f"Plan of the part within the grip, {scale_words(scale)}", scale=scale)
    ink.zero = (width / 2 - scale * (x0 + x1) / 2, 8.0 + scale * y1)
    for r in plan:
        ink.region(r, "ground", f'fill="{SHADOW}"')
        ink.region(r, "thin", pen(THIN, dash=HIDDEN))
    for k, r in enumerate(pieces):
        ink.region(r, "metal", f'fill="{FOOT if k == 0 else OFFENDS}"')
        ink.region(r, "thick", pen(THICK))
        _name(ink, r, "within the grip" if k == 0 else "in the way of a jaw")
    words = f"what lies within {grip:g} mm of the floor; dashed: the part above it"
    ink.text((width / 2, height - 10.0), words, size=PLAIN)
    ink.text((width - 4.0, height - 4.0), f"scale {scale_words(scale)}", size=PLAIN, anchor="end", bold=True)
    return ink.svg()


def _name(ink: Ink, r: Region, words: str) -> None:
    b = r.outer.box
    ink.text(ink.put(((b[0] + b[2]) / 2, (b[1] + b[3]) / 2)), words, size=LARGE)
