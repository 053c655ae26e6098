"""The clamped part from its own solid: against frames by hand, and what a prism of its section would say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import samples
from jawright import handbook, kernel
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.part.model import Part
from jawright.proof import elastic, elastic_part
from jawright.proof.elastic_join import SIDES, Model
from jawright.proof.elastic_walls import Walls
from proof import sample_elastic as made
from proof.test_released import cut_part, hold

FORCE = 8000.0
PART = "6061-T6"


def block(h: Hold, *taken: tuple[tuple[float, float, float, float], float, float]) -> Part:
    """The block of a hold less boxes: plan corners, and heights over the floor."""
    solid = kernel.extrude(h.outline, h.floor, h.part_top)
    for plan, low, high in taken:
        solid = kernel.cut(solid, kernel.extrude(Region(rectangle(*plan)), h.floor + low, h.floor + high))
    return cut_part(solid)


def state(h: Hold, j: Jaws, part: Part) -> tuple[Model, elastic.WallState, dict[str, np.ndarray]]:
    m = elastic.model(h, j, part, PART)
    assert m is not None
    mounts = elastic.ends(h.vise, "set")
    cut = elastic.as_cut(m, mounts, j.stack, FORCE)
    assert cut is not None
    got, held = elastic.states(m, mounts, force=FORCE, cut=cut)
    for side in SIDES:
        w = m.jaws[side].walls
        assert held.force[side] @ np.abs(w.normal[:, 1]) == pytest.approx(FORCE, rel=1e-4)
    return m, got["fixed"], {s: held.force[s] for s in SIDES}


@pytest.mark.parametrize("leg", [2.0, 3.0])
def test_legs_of_a_channel_close_as_a_frame(leg: float) -> None:
    """Castigliano: a U pressed together at its legs' tips, ν 0: bending and shear of the legs, the web's
    bending under F h and its shortening. The joint of leg and web gives as well, which the frame leaves
    out: ours lies between the frame and the frame whose legs root in half planes (O'Donnell 1960, from
    memory: such a root turns by 16.67 M/(π E t²))."""
    h = hold(part_top=hold().floor + 26.0, stock=0.0)
    x0, y0, x1, y1 = h.outline.outer.box
    web = 6.0
    part = block(h, ((x0 - 1, y0 + leg, x1 + 1, y1 - leg), -1.0, 26.0 - web))
    z = h.floor + np.array([1.0, 2.0, 3.0])
    walls_of = []
    for y, n in ((y1, 1.0), (y0, -1.0)):
        middle = np.array([(x, y, k) for x in np.linspace(x0, x1, 9)[:-1] + (x1 - x0) / 16 for k in z])
        walls_of.append(
            Walls(
                middle, np.tile([0.0, n, 0.0], (len(middle), 1)), np.full(len(middle), (x1 - x0) / 8),
                np.full(len(middle), (x1 - x0) / 8), 3.0,
            )
        )  # fmt: skip
    work = replace(handbook.material(PART), nu=0.0)
    body, condensed = elastic_part.clamped(h, part, walls_of, work)
    assert body.own
    n = 2 * len(walls_of[0].area)
    even = np.zeros(len(condensed.compliance))
    even[:n] = 2 / n  # 1 N on each leg
    got = float(even @ condensed.compliance @ even)
    long, wide = x1 - x0, y1 - y0 - leg
    arm = 26.0 - 2.0 - web / 2
    free = arm - web / 2  # the leg bends up to the web, whose own height is stiff
    inertia, flat = long * leg**3 / 12, long * web**3 / 12
    closing = (
        2 * free**3 / (3 * work.E * inertia)
        + 2 * 1.2 * free / (work.E / 2 * long * leg)
        + arm**2 * wide / (work.E * flat)
        + wide / (work.E * long * web)
    )
    root = 2 * free**2 * 16.67 / (np.pi * work.E * leg**2 * long)
    print(got / closing, got / (closing + root))
    assert closing < got < closing + root


def test_a_plain_block_is_the_prism_of_its_section() -> None:
    j = made.jaws(stack=(0, 20))
    own, prism = (state(hold(stock=0.0), j, p)[1] for p in (block(hold()), None))
    assert own.center == pytest.approx(prism.center, abs=1e-6)
    assert own.peak == pytest.approx(prism.peak, rel=1e-6)


def test_a_floor_over_thin_walls_keeps_them_up() -> None:
    """A pan upside down: 2 mm of wall under a 3 mm plate. As a prism of its section it would be a bare
    frame, bent in by a millimeter; the plate holds it, and the load goes up to where it does."""
    j, h = made.jaws(stack=(0, 20)), hold()
    x0, y0, x1, y1 = h.outline.outer.box
    pan = block(h, ((x0 + 2, y0 + 2, x1 - 2, y1 - 2), -1.0, 9.0))
    _, own, _ = state(h, j, pan)
    _, frame, _ = state(h, j, block(h, ((x0 + 2, y0 + 2, x1 - 2, y1 - 2), -1.0, 14.0)))
    assert own.left < 0.1 * frame.left
    assert own.share > 1.3 * frame.share
    _, whole, _ = state(h, j, block(h))
    assert own.center > whole.center + 1.0
    assert own.peak > 2 * whole.peak


def test_a_window_in_the_wall_carries_nothing() -> None:
    j, h = made.jaws(stack=(0, 20)), hold()
    x0, _, x1, y1 = h.outline.outer.box
    m, fixed, force = state(h, j, block(h, ((x0 + 10, y1 - 5, x1 - 10, y1 + 5), 2.0, 6.0)))
    w = m.jaws["fixed"].walls
    gone = (np.abs(w.middle[:, 0] - (x0 + x1) / 2) < (x1 - x0) / 2 - 13.5) & (w.middle[:, 2] > h.floor + 2.2)
    assert gone.any()
    assert m.bare[: len(gone)][gone].all() and not m.bare[len(gone) :].any()
    assert np.abs(force["fixed"][m.bare[: len(gone)]]).max() < 1e-9
    assert fixed.share < 0.8 and fixed.left < 0.1


def test_a_hole_made_here_is_still_metal_when_it_is_clamped() -> None:
    j, h = made.jaws(stack=(0, 20)), hold()
    x0, y0, x1, y1 = h.outline.outer.box
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    f = replace(
        samples.hold().features[1], name="bore", center=(x, y, h.part_top), diameter=18.0, bottom=h.floor,
        region=None,
    )  # fmt: skip
    solid = kernel.extrude(h.outline, h.floor, h.part_top)
    solid = kernel.cut(solid, kernel.cylinder((x, y, h.floor - 1), (0.0, 0.0, 1.0), 9.0, 40.0))
    here = state(replace(h, features=(f,)), j, cut_part(solid))[1]
    before = state(h, j, cut_part(solid))[1]
    whole = state(h, j, block(h))[1]
    assert here.peak == pytest.approx(whole.peak, rel=1e-3)
    assert abs(before.peak - whole.peak) > 1e-3 * whole.peak


def test_two_legs_without_a_web_in_the_grip_are_one_part() -> None:
    """Channel on its legs: a section in the grip is two bars, which as prisms would fall apart."""
    j, h = made.jaws(stack=(0, 20)), hold()
    x0, y0, x1, y1 = h.outline.outer.box
    m, fixed, _ = state(h, j, block(h, ((x0 - 1, y0 + 3, x1 + 1, y1 - 3), -1.0, 9.0)))
    assert m.solid
    assert fixed.deep < 0.5  # the legs give: what holds is the upper row, under the web
