"""The picture of deviation against size: what must be in it, and that it is drawn only with points."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

from sample import record

from jawright.papers.drawing import drawings
from jawright.papers.scatter_view import scatter_view
from jawright.proof.model import Cloud, Scatter

POINTS = ((-0.1, -0.02), (0.0, 0.001), (0.1, 0.09))
PICTURE = Scatter(
    "pivot bore",
    "pivot bore: position Ø0.1 to A|B|C",
    0.05,
    (
        Cloud("as held", (0.0, 1.0), 0.0, 0.998, ((-0.1, 0.0), (0.1, 0.01))),
        Cloud("located on the floating jaw", (0.0, 1.0), 1.0, 0.25, POINTS),
    ),
)


def test_every_way_has_its_panel_and_its_parts() -> None:
    svg = scatter_view(replace(record(), scatter=(PICTURE,)))
    assert svg is not None
    ElementTree.fromstring(svg)
    for words in ("as held", "99.8 % good, slope 0", "25.0 % good, slope 1", "position Ø0.1 to A|B|C"):
        assert words in svg
    assert len(re.findall("<circle", svg)) == 5
    open_dots = re.findall(r'<circle[^>]*fill="#ffffff"', svg)
    assert len(open_dots) == 1  # the one part out of the zone is told by its shape, not by color
    assert "scatter" in drawings(replace(record(), scatter=(PICTURE,)))


def test_no_points_no_picture() -> None:
    assert scatter_view(replace(record(), scatter=())) is None


def test_inch_readers_get_inches() -> None:
    r = record()
    svg = scatter_view(replace(r, job=replace(r.job, units="inch"), scatter=(PICTURE,)))
    assert svg is not None
    assert "0.0020" in svg
    assert " mm<" not in svg
