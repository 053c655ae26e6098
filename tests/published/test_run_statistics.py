"""Statistics of a run against published values.

Sources, each named at its check; data and values were read in public copies unless a check says otherwise:
- NIST Statistical Reference Datasets (StRD), linear regression: Norris, Pontius, NoInt1, Wampler1, as
  distributed in several open test suites; certified values as printed (itl.nist.gov/div898/strd).
- NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 and its pages, data as in agreeing public copies.
- Measurement Systems Analysis Reference Manual, 4th edition: the gauge study of three people and ten parts.
- C. W. Champ and W. H. Woodall, Technometrics 29 (1987) 393-399: run length of rules together.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from jawright.statistics.regress import least_squares, line, polynomial
from jawright.statistics.trend import (
    ALTERNATING,
    AVOIDING,
    BEYOND_3,
    EIGHT_ONE_SIDE,
    FOUR_OF_FIVE,
    HUGGING,
    NINE_ONE_SIDE,
    RISING,
    RULES,
    TWO_OF_THREE,
    ewma,
    ewma_run_length,
    gauge_study,
    individuals,
    moving_range,
    patterns,
    run_length,
    signals,
)

NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
    447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
    229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
    448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
    228.9, 668.4, 449.2, 0.2,
]  # fmt: skip

PONTIUS_X = [150000.0 * k for k in range(1, 21)] * 2
PONTIUS_Y = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146, 1.20001,
    1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150, 1.20004,
    1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
]  # fmt: skip

GAUGE = [
    [
        [0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
        [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
        [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
    ],
    [
        [0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
        [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
        [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50],
    ],
    [
        [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
        [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
        [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
    ],
]

EWMA_DATA = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
    52.4, 53.6, 52.1,
]  # fmt: skip
EWMA_PRINTED = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38,
    49.92, 50.73, 51.23, 51.94, 51.99,
]  # fmt: skip
INDIVIDUALS = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_norris() -> None:
    """StRD Norris: straight line, lower difficulty."""
    assert len(NORRIS_X) == len(NORRIS_Y) == 36
    fit = line(NORRIS_X, NORRIS_Y)
    assert fit.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-9)
    assert fit.errors == pytest.approx([0.232818234301152, 0.429796848199937e-03], rel=1e-9)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)
    assert fit.r_squared == pytest.approx(0.999993745883712, rel=1e-12)
    assert float(fit.residuals @ fit.residuals) == pytest.approx(26.6173985294224, rel=1e-9)
    assert fit.freedom == 34


def test_pontius() -> None:
    """StRD Pontius: quadratic in loads up to three million, average difficulty."""
    assert len(PONTIUS_X) == len(PONTIUS_Y) == 40
    fit = polynomial(PONTIUS_X, PONTIUS_Y, 2)
    certified = [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14]
    assert fit.coefficients == pytest.approx(certified, rel=1e-8)
    errors = [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16]
    assert fit.errors == pytest.approx(errors, rel=1e-8)
    assert fit.residual_sd == pytest.approx(0.205177424076185e-03, rel=1e-8)
    assert fit.r_squared == pytest.approx(0.999999900178537, rel=1e-13)


def test_noint1() -> None:
    """StRD NoInt1: line through the origin, average difficulty; R² about zero."""
    fit = least_squares([np.arange(60.0, 71.0)], np.arange(130.0, 141.0), intercept=False)
    assert fit.coefficients == pytest.approx([2.07438016528926], rel=1e-12)
    assert fit.errors == pytest.approx([0.165289256198347e-01], rel=1e-12)
    assert fit.residual_sd == pytest.approx(3.56753034006338, rel=1e-12)
    assert fit.r_squared == pytest.approx(0.999365492298663, rel=1e-12)


def test_wampler1() -> None:
    """StRD Wampler1: an exact polynomial of the fifth degree, higher difficulty; all coefficients 1."""
    x = np.arange(21.0)
    y = np.polyval([1.0] * 6, x)
    assert y[-1] == 3368421
    fit = polynomial(x, y, 5)
    assert fit.coefficients == pytest.approx([1.0] * 6, abs=1e-7)
    assert fit.residual_sd < 1e-6


def test_gauge_study() -> None:
    """MSA manual: prints 0.20188, 0.22963, 0.30575, 1.10456, 1.14610, 26.68 %, 5 classes.

    The manual rounds its intermediates; the unrounded values are 0.20186, 0.22967, 0.30577, 1.10460 and
    1.14613, and 1e-4 covers the difference.
    """
    study = gauge_study(GAUGE)
    assert study.mean_range == pytest.approx(0.341667, abs=1e-6)
    assert study.range_of_means == pytest.approx(0.444667, abs=1e-6)
    assert study.repeatability == pytest.approx(0.20188, abs=1e-4)
    assert study.reproducibility == pytest.approx(0.22963, abs=1e-4)
    assert study.gauge == pytest.approx(0.30575, abs=1e-4)
    assert study.parts == pytest.approx(1.10456, abs=1e-4)
    assert study.total == pytest.approx(1.14610, abs=1e-4)
    assert study.percent == pytest.approx(26.68, abs=0.01)
    assert study.classes == 5


def test_ewma_chart() -> None:
    """e-Handbook 6.3.2.4 (pmc324): weight 0.3, start 50, s 2.0539; prints 52.5884 and 47.4115.

    The handbook cuts the lower limit off after four places: 47.41157.
    """
    chart = ewma(EWMA_DATA, weight=0.3, center=50.0, sigma=2.0539, settled=True)
    assert chart.values == pytest.approx(EWMA_PRINTED, abs=0.0051)
    assert chart.high[0] == pytest.approx(52.5884, abs=1e-4)
    assert chart.low[0] == pytest.approx(47.4116, abs=1e-4)
    assert chart.outside == ()


def test_individuals_chart() -> None:
    """e-Handbook 6.3.2.2; limits from memory, the arithmetic is theirs (3 MR / 1.128)."""
    assert moving_range(INDIVIDUALS) == pytest.approx(1.87778, abs=1e-5)
    chart = individuals(INDIVIDUALS)
    assert chart.center == pytest.approx(50.81, abs=1e-12)
    assert chart.high[0] == pytest.approx(55.8041, abs=1e-4)
    assert chart.low[0] == pytest.approx(45.8159, abs=1e-4)
    assert chart.outside == ()


def test_shewhart_false_alarm_spacing() -> None:
    """e-Handbook 6.3.2: "every 371 points" for three sigma limits."""
    assert run_length([BEYOND_3]) == pytest.approx(370.398, abs=1e-3)
    assert math.ceil(run_length([BEYOND_3])) == 371


def test_all_four_run_rules_together() -> None:
    """Champ and Woodall 1987; e-Handbook 6.3.2 quotes 91.75."""
    assert len(RULES) == 4
    assert run_length() == pytest.approx(91.7508, abs=1e-3)
    assert round(run_length(), 2) == 91.75


@pytest.mark.parametrize(
    ("rule", "with_first", "alone"),
    [(TWO_OF_THREE, 225.44, 510.69), (FOUR_OF_FIVE, 166.05, 291.32), (EIGHT_ONE_SIDE, 152.73, 255.00)],
)
def test_run_rules_alone_and_with_the_first(rule, with_first: float, alone: float) -> None:
    """Champ and Woodall 1987, recomputed; a public library's table (122.0, 90.7, 119.7) is wrong."""
    assert run_length([BEYOND_3, rule]) == pytest.approx(with_first, abs=0.006)
    assert run_length([rule]) == pytest.approx(alone, abs=0.006)


def test_run_rules_after_a_shift_of_one_sigma() -> None:
    """Champ and Woodall 1987, recomputed."""
    assert run_length(shift=1.0) == pytest.approx(9.222, abs=1e-3)
    assert run_length([BEYOND_3], shift=1.0) == pytest.approx(43.895, abs=1e-3)


def test_run_rules_agree_with_simulation() -> None:
    """The chain and the rules as they are applied to a run are two codes: they must agree."""
    rng = np.random.default_rng(7)
    lengths = []
    for _ in range(400):
        z = rng.normal(1.0, 1.0, 200)
        found = signals(z)
        lengths.append(found[0][0] + 1 if found else 200)
    mean, error = np.mean(lengths), np.std(lengths) / 20
    assert abs(mean - 9.222) < 4 * error


@pytest.mark.parametrize(
    ("weight", "shift", "length"),
    [(0.5, 0.0, 397.46), (0.25, 0.0, 502.90), (0.1, 0.0, 842.15), (1.0, 0.0, 370.40), (0.25, 1.0, 11.15)],
)
def test_run_length_of_a_moving_average(weight: float, shift: float, length: float) -> None:
    """S. V. Crowder, Technometrics 29 (1987), table for limits of 3 sigma (from memory)."""
    assert ewma_run_length(weight, shift=shift) == pytest.approx(length, abs=0.006)


def test_counts_of_the_usual_rules() -> None:
    """Eight on one side in one tradition, nine in the other; trend 6, alternating 14, 15 within, 8 outside.

    As listed in the public documentation of a process control library, after ISO 7870-2.
    """
    assert (EIGHT_ONE_SIDE.hits, NINE_ONE_SIDE.hits) == (8, 9)
    assert (RISING, ALTERNATING, HUGGING, AVOIDING) == (6, 14, 15, 8)
    assert patterns([0, 1, 2, 3, 4]) == ()
    assert patterns([0, 0.1, 0.2, 0.3, 0.4, 0.5]) == ((5, "6 in a row rising"),)
    up_and_down = [(-1.5) ** (k % 2) for k in range(14)]
    assert any(name.startswith("14") for _, name in patterns(up_and_down))
    assert not any(name.startswith("14") for _, name in patterns(up_and_down[:13]))
    assert any(k == 14 for k, name in patterns([0.5, -0.5] * 7 + [0.5]) if name.startswith("15"))
    assert patterns([1.5, -1.5, -1.6, 1.5, 1.4, 1.3, -1.2, 1.1])[-1] == (7, "8 in a row beyond 1 sigma")


def test_part_number_and_size_as_joint_regressors() -> None:
    """Independent columns separate; the inflation is 1/(1 − r²), derived in any textbook of regression."""
    rng = np.random.default_rng(2)
    number = np.arange(50.0)
    size = rng.normal(0, 0.03, 50)
    y = 0.001 * number + 0.5 * size
    fit = least_squares([number, size], y)
    assert fit.coefficients[1:] == pytest.approx([0.001, 0.5], abs=1e-9)
    mixed = size + 0.002 * number
    fit = least_squares([number, mixed], y + rng.normal(0, 0.004, 50))
    r = np.corrcoef(number, mixed)[0, 1]
    assert fit.inflation[1:] == pytest.approx([1 / (1 - r**2)] * 2, abs=1e-9)
    assert math.isnan(fit.inflation[0])


def test_intervals_and_chances_against_a_reference_library() -> None:
    """scipy.stats.linregress on the Norris data, first ten points."""
    fit = line(NORRIS_X[:10], NORRIS_Y[:10])
    reference = stats.linregress(NORRIS_X[:10], NORRIS_Y[:10])
    assert fit.errors[1] == pytest.approx(reference.stderr, rel=1e-9)
    assert fit.chance(1) == pytest.approx(reference.pvalue, rel=1e-6)
    half = stats.t.ppf(0.975, 8) * reference.stderr
    assert fit.interval(1) == pytest.approx((reference.slope - half, reference.slope + half), rel=1e-9)
