import numpy as np
import pytest
from scipy.stats import qmc, sobol_indices, uniform

from gaiter.core.spread.importance import group_shares


def ishigami(points):
    """Ishigami & Homma 1990 with a = 7, b = 0.1, on the unit cube."""
    x = (2 * points - 1) * np.pi
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def pairs(inputs: int, power: int):
    return qmc.Sobol(2 * inputs, rng=np.random.default_rng(1)).random_base2(power).T


def test_shares_of_the_ishigami_function_are_the_analytic_ones() -> None:
    """S1 0.3139, S2 0.4424, S3 0; totals 0.5576, 0.4424, 0.2437 (closed form)."""
    singles = {name: np.array([name]) for name in range(3)}
    found = group_shares(ishigami, pairs(3, 15), singles)
    assert [found[n].first for n in range(3)] == pytest.approx([0.3139, 0.4424, 0], abs=0.01)
    assert [found[n].total for n in range(3)] == pytest.approx([0.5576, 0.4424, 0.2437], abs=0.01)


def test_a_group_has_its_members_interaction() -> None:
    """Inputs 1 and 3 together explain all that input 2 does not: 1 - 0.4424."""
    groups = {"first and third": np.array([0, 2]), "second": np.array([1])}
    found = group_shares(ishigami, pairs(3, 15), groups)
    assert found["first and third"].first == pytest.approx(0.5576, abs=0.01)
    assert found["first and third"].total == pytest.approx(0.5576, abs=0.01)
    assert found["second"].first == pytest.approx(0.4424, abs=0.01)


def test_single_inputs_agree_with_the_reference_library() -> None:
    def product(points):
        return np.prod(points[:2], axis=0) + 0.5 * points[2] ** 2

    theirs = sobol_indices(
        func=product, n=4096, dists=[uniform()] * 3, rng=np.random.default_rng(2)
    )
    ours = group_shares(product, pairs(3, 12), {n: np.array([n]) for n in range(3)})
    assert [ours[n].first for n in range(3)] == pytest.approx(theirs.first_order, abs=0.02)
    assert [ours[n].total for n in range(3)] == pytest.approx(theirs.total_order, abs=0.02)


def test_nothing_varies_nothing_matters() -> None:
    found = group_shares(lambda points: np.ones(points.shape[1]), pairs(2, 6), {0: np.array([0])})
    assert found[0].first == found[0].total == 0
