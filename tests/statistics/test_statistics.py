"""Draws, intervals and shares against theory."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from jawright.statistics.capability import cpk, cpk_interval, disc_share, fraction_out, wilson
from jawright.statistics.draw import cut_sigma, normal_cut, seed_of, stream, triangular, uniform
from jawright.statistics.tolerance import fixed_fastener, projected_deviation, shares, virtual_size


def test_a_text_names_its_stream() -> None:
    assert stream("a").random(3).tobytes() == stream("a").random(3).tobytes()
    assert stream("a").random(3).tobytes() != stream("b").random(3).tobytes()
    # First 8 bytes of SHA-256 of the empty text (FIPS 180-4 test vector e3b0c44298fc1c14...).
    assert seed_of("") == 0xE3B0C44298FC1C14


@pytest.mark.parametrize(("half", "sigma"), [(0.1, 0.1 / 3), (0.1, 0.1), (0.1, 0.03)])
def test_cut_normal_follows_the_truncated_normal(half: float, sigma: float) -> None:
    """Against the truncated normal of a general statistics library."""
    x = normal_cut(stream("cut"), 40_000, half=half, sigma=sigma)
    law = stats.truncnorm(-half / sigma, half / sigma, scale=sigma)
    assert np.abs(x).max() <= half
    assert stats.kstest(x, law.cdf).pvalue > 0.001
    assert cut_sigma(half, sigma) == pytest.approx(law.std(), rel=1e-9)


def test_widths_of_zero_give_no_scatter() -> None:
    assert not normal_cut(stream("x"), 5, half=0.0, sigma=0.1).any()
    assert not uniform(stream("x"), 5, half=0.0).any()
    assert (triangular(stream("x"), 5, low=2.0, mode=2.0, high=2.0) == 2.0).all()
    with pytest.raises(ValueError, match="negative"):
        normal_cut(stream("x"), 5, half=-1.0, sigma=0.1)


def test_triangular_follows_its_law() -> None:
    x = triangular(stream("tri"), 40_000, low=1.0, mode=2.0, high=5.0)
    assert stats.kstest(x, stats.triang(0.25, loc=1, scale=4).cdf).pvalue > 0.001


@pytest.mark.parametrize(
    ("a", "b", "r"), [(1.0, 1.0, 2.0), (2.0, 0.5, 3.0), (1.0, 0.03, 1.5), (1.0, 0.0, 1.96)]
)
def test_share_inside_a_circle(a: float, b: float, r: float) -> None:
    """Rayleigh law for equal spreads, one-dimensional normal for a flat one, sampling else."""
    got = disc_share(a, b, r)
    if a == b:
        assert got == pytest.approx(1 - np.exp(-(r**2) / 2), abs=1e-12)
    elif b == 0:
        assert got == pytest.approx(2 * stats.norm.cdf(r) - 1, abs=1e-12)
    else:
        g = stream("disc")
        n = 400_000
        share = (np.hypot(g.normal(0, a, n), g.normal(0, b, n)) <= r).mean()
        assert got == pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / n))


def test_wilson_covers_the_truth() -> None:
    g = stream("cover")
    inside = 0
    for k in g.binomial(200, 0.98, 2000):
        y = wilson(int(k), 200)
        inside += y.low <= 0.98 <= y.high
    assert 0.92 < inside / 2000 < 0.985


def test_wilson_refuses_nonsense() -> None:
    with pytest.raises(ValueError, match="good"):
        wilson(3, 2)


def test_one_sided_limits() -> None:
    assert cpk(None, 3.0, mean=0.0, sigma=1.0) == pytest.approx(1.0)
    assert fraction_out(None, 0.0, mean=0.0, sigma=1.0) == pytest.approx(0.5)
    low, high = cpk_interval(1.0, 100)
    assert low < 1.0 < high
    with pytest.raises(ValueError, match="limit"):
        cpk(None, None, mean=0.0, sigma=1.0)


def test_shares_add_up() -> None:
    assert sum(shares([1.0, 2.0, 5.0])) == pytest.approx(1.0)
    assert shares([0.0, 0.0]) == (0.0, 0.0)


def test_projected_zone() -> None:
    """A tapped hole leaning 0.1 over 10 deep is off by 0.2 more at 20 above its mouth."""
    assert projected_deviation((0.0, 0.0), (0.1, 0.0), length=10, projected=20) == pytest.approx(0.4)
    assert fixed_fastener(6.6, 6.0, projected=10, grip=10) == pytest.approx(0.15)


def test_virtual_size_of_a_pin_and_at_least_material() -> None:
    assert virtual_size(9.9, 10.0, 0.1, feature="pin", condition="maximum") == pytest.approx(10.1)
    assert virtual_size(9.9, 10.0, 0.1, feature="pin", condition="least") == pytest.approx(9.8)
    assert virtual_size(9.9, 10.0, 0.1, feature="hole", condition="least") == pytest.approx(10.1)
