"""A label for a pair: the set id as a QR code and in plain letters, as SVG in millimeters."""

from __future__ import annotations

from xml.sax.saxutils import escape

import segno

from jawright.rack.model import Pair

WIDE, HIGH = 60.0, 25.0
"""Size of the label [mm]: fits the end of a jaw or a drawer."""


def svg(pair: Pair) -> str:
    """The label. The code holds the set id alone, so any reader types it into ``rack out`` or ``rack in``.

    Error correction H survives oil on up to 30 % of the code (ISO/IEC 18004).
    """
    code = segno.make(pair.id, error="h", micro=False)
    rows = [list(r) for r in code.matrix_iter(border=4)]
    n = len(rows)
    size = (HIGH - 2.0) / n
    dark = []
    for y, row in enumerate(rows):
        for x, on in enumerate(row):
            if on:
                dark.append(f"M{1 + x * size:.4f} {1 + y * size:.4f}h{size:.4f}v{size:.4f}h-{size:.4f}z")
    left = HIGH + 1.0
    lines = [(6.0, _fit(pair.id, 5.5, WIDE - left - 1), pair.id)]
    small = [_part(pair), f"{pair.blank.material}, {pair.height:g} mm high", pair.place]
    lines += [(12.0 + 4.5 * k, _fit(t, 3.0, WIDE - left - 1), t) for k, t in enumerate(t for t in small if t)]
    words = "".join(
        f'<text x="{left:g}" y="{y:g}" font-size="{h:.2f}">{escape(t)}</text>' for y, h, t in lines
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE:g}mm" height="{HIGH:g}mm" '
        f'viewBox="0 0 {WIDE:g} {HIGH:g}" font-family="sans-serif">'
        f"<title>{escape(pair.id)}</title>"
        f'<rect width="{WIDE:g}" height="{HIGH:g}" fill="#fff" stroke="#000" stroke-width="0.2"/>'
        f'<path d="{"".join(dark)}" fill="#000"/>{words}</svg>\n'
    )


def _fit(text: str, high: float, wide: float) -> float:
    """Letter height [mm] at which the text fits: a letter is about 0.6 of its height wide."""
    return min(high, wide / (0.6 * max(1, len(text))))


def _part(pair: Pair) -> str:
    if not pair.cuts:
        return "nothing cut yet"
    c = pair.cuts[0]
    return " ".join(w for w in (c.part_number, c.revision, c.operation) if w)
