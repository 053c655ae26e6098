"""Coulomb friction of flat patches and wedged faces."""

from __future__ import annotations

import math

from jawright.errors import JawrightError

SOURCE = "Coulomb friction; integral of the radius over the patch"


def patch_radius(a: float, b: float) -> float:
    """Mean radius at which friction acts when a rectangular patch under even pressure is spun.

    ``ρ = d/6 + a²/(12 b) ln((b + d)/a) + b²/(12 a) ln((a + d)/b)``, ``d = hypot(a, b)``

    Parameters: sides ``a``, ``b`` [mm]. Returns: ρ [mm]; the torque is ``T = μ F ρ``.
    Raises: ``value-bad`` for a side not above zero. Valid for: uniform pressure, spin about the middle.
    Source: area integral of the distance from the center of a rectangle.

    >>> round(patch_radius(60.0, 10.0), 4)
    15.4612
    """
    if a <= 0 or b <= 0:
        raise JawrightError("value-bad", what="a contact patch needs two sides above zero", where="contact")
    d = math.hypot(a, b)
    return d / 6 + a**2 / (12 * b) * math.log((b + d) / a) + b**2 / (12 * a) * math.log((a + d) / b)


def disc_radius(radius: float) -> float:
    """Mean friction radius of a disc under even pressure: ``2 R / 3``.

    Parameters: ``radius`` [mm]. Returns: [mm]. Raises: nothing. Valid for: uniform pressure.
    Source: area integral.

    >>> disc_radius(3.0)
    2.0
    """
    return 2 * radius / 3


def patch_torque(force: float, *, friction: float, a: float, b: float) -> float:
    """Torque a rectangular friction patch carries before it spins: ``T = μ F ρ``.

    Parameters: normal ``force`` [N], ``friction``, sides [mm]. Returns: torque [N·mm].
    Raises: as ``patch_radius``. Valid for: as ``patch_radius``. Source: as ``patch_radius``.

    >>> round(patch_torque(1000.0, friction=0.2, a=60.0, b=10.0), 1)
    3092.2
    """
    return friction * force * patch_radius(a, b)


def wedge_limit(half_angle: float) -> float:
    """Least friction with which two jaws hold a part whose faces taper by ``half_angle`` each: ``tan β``.

    Parameters: ``half_angle`` [rad], 0 to below π/2. Returns: friction coefficient. Raises: nothing.
    Valid for: two opposed faces. Source: Nguyen 1988, antipodal condition.

    >>> round(wedge_limit(math.radians(5.0)), 5)
    0.08749
    """
    return math.tan(half_angle)
