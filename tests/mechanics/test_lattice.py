"""The nearest whole-number point, against published instances and plain enumeration."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cars.mechanics import BadInput
from cars.mechanics.lattice import SAME, Nearest, nearest_points
from tests.examples import examples

INTEGER_LEAST_SQUARES_A = np.array([5.45, 3.10, 2.97])
INTEGER_LEAST_SQUARES_Q = np.array(
    [[6.290, 5.978, 0.544], [5.978, 6.292, 2.340], [0.544, 2.340, 6.288]]
)


def by_enumeration(
    matrix: np.ndarray, target: np.ndarray, low: list[int], high: list[int], nonzero: int
) -> tuple[tuple[int, ...], float]:
    """Every point of the box with at most ``nonzero`` places, and the rule for equals."""
    box = [range(a, b + 1) for a, b in zip(low, high, strict=True)]
    points = np.array([p for p in product(*box) if np.count_nonzero(p) <= nonzero])
    costs = ((points @ matrix.T - target) ** 2).sum(axis=1)
    real = np.linalg.lstsq(matrix, target, rcond=None)[0]
    floor = ((matrix @ real - target) ** 2).sum() + SAME
    near = costs <= max(costs.min(), floor) + SAME
    first = min(
        (tuple(point) for point in points[near].tolist()),
        key=lambda p: (np.count_nonzero(p), sum(map(abs, p)), p),
    )
    return first, float(costs.min())


@st.composite
def systems(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, list[int], list[int]]:
    """Any rank, tall or wide, smooth or full of exact ties, boxes down to nothing."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    places, rows, rank = (draw(st.integers(1, n)) for n in (4, 6, 4))
    matrix = rng.normal(size=(rows, rank)) @ rng.normal(size=(rank, places))
    target = rng.normal(size=rows) * draw(st.sampled_from([0.0, 0.3, 3.0, 30.0]))
    if draw(st.booleans()):
        matrix, target = np.round(matrix), np.round(target)
    low = (-rng.integers(0, 5, places)).tolist()
    high = rng.integers(0, 5, places).tolist()
    return matrix, target, low, high


def decorrelated() -> tuple[np.ndarray, np.ndarray]:
    """(z - a)'Q^-1 (z - a) as |R z - R a|^2."""
    root = np.linalg.cholesky(np.linalg.inv(INTEGER_LEAST_SQUARES_Q)).T
    return root, root @ INTEGER_LEAST_SQUARES_A


def test_published_integer_least_squares() -> None:
    # P. de Jonge and C. Tiberius, The LAMBDA method (1996), eq. 3.37 and its solution.
    matrix, target = decorrelated()
    best = nearest_points(matrix, target, [-20] * 3, [20] * 3)[-1]
    assert best.point == (5, 3, 4)
    assert best.cost == pytest.approx(0.218331095, abs=5e-10)


def test_rounding_would_have_been_worse() -> None:
    # The same source: rounding gives (5, 3, 3).
    matrix, target = decorrelated()
    rounded = np.rint(INTEGER_LEAST_SQUARES_A)
    assert rounded.tolist() == [5.0, 3.0, 3.0]
    assert ((matrix @ rounded - target) ** 2).sum() == pytest.approx(1.24512562, abs=5e-9)


@settings(max_examples=examples(300), deadline=None)
@given(systems())
def test_every_count_of_places_agrees_with_enumeration(
    system: tuple[np.ndarray, np.ndarray, list[int], list[int]],
) -> None:
    matrix, target, low, high = system
    found = nearest_points(*system)
    assert len(found) == matrix.shape[1]
    for nonzero, nearest in enumerate(found, start=1):
        point, cost = by_enumeration(matrix, target, low, high, nonzero)
        assert nearest.point == point
        assert nearest.cost == pytest.approx(cost, abs=3 * SAME)


@settings(max_examples=examples(100), deadline=None)
@given(systems(), st.integers(1, 4))
def test_fewer_places_asked_for_is_the_start_of_the_same_list(
    system: tuple[np.ndarray, np.ndarray, list[int], list[int]], most: int
) -> None:
    assume(most <= system[0].shape[1])
    assert nearest_points(*system, most_nonzero=most) == nearest_points(*system)[:most]


@settings(max_examples=examples(100), deadline=None)
@given(systems())
def test_more_places_never_cost_more(
    system: tuple[np.ndarray, np.ndarray, list[int], list[int]],
) -> None:
    costs = [nearest.cost for nearest in nearest_points(*system)]
    assert all(later <= earlier + 2 * SAME for earlier, later in pairwise(costs))


def test_a_tie_is_won_by_the_fewest_places_and_then_the_least_sum() -> None:
    # n1 + n2 + 3 n3 = 6: (0, 0, 2) needs one place, and less than (6, 0, 0) does.
    (one, two, three) = nearest_points([[1, 1, 3]], [6], [-6] * 3, [6] * 3)
    assert one.point == two.point == three.point == (0, 0, 2)
    assert one == Nearest((0, 0, 2), 0.0)
    assert one.used == 1


def test_bounds_can_force_more_places() -> None:
    found = nearest_points([[1, 1, 3]], [6], [0, 0, 0], [4, 4, 1])
    assert [nearest.point for nearest in found] == [(0, 4, 0), (0, 3, 1), (0, 3, 1)]


def test_nothing_wanted_turns_nothing() -> None:
    found = nearest_points(np.eye(3), np.zeros(3), [-4] * 3, [4] * 3)
    assert {nearest.point for nearest in found} == {(0, 0, 0)}


def test_what_may_be_called_the_same_is_the_callers() -> None:
    matrix, target = [[1.0, 1.4]], [3.8]
    exact = nearest_points(matrix, target, [-9, -9], [9, 9])[-1]
    loose = nearest_points(matrix, target, [-9, -9], [9, 9], same=0.5)[-1]
    assert exact.cost < loose.cost <= exact.cost + 2 * 0.5
    assert loose.used < exact.used


@pytest.mark.parametrize(
    ("matrix", "target", "low", "high", "named"),
    [
        ([[1.0, 2.0]], [1.0, 2.0], [0, 0], [1, 1], "matrix"),
        ([[1.0, float("nan")]], [1.0], [0, 0], [1, 1], "matrix"),
        ([[1.0, 2.0]], [float("inf")], [0, 0], [1, 1], "matrix"),
        ([[1.0, 2.0]], [1.0], [0], [1, 1], "box"),
        ([[1.0, 2.0]], [1.0], [1, 0], [2, 1], "box"),
        ([[1.0, 2.0]], [1.0], [0, -3], [0, -1], "box"),
    ],
)
def test_what_does_not_fit_is_named(
    matrix: list[list[float]], target: list[float], low: list[int], high: list[int], named: str
) -> None:
    with pytest.raises(BadInput) as refused:
        nearest_points(matrix, target, low, high)
    assert refused.value.quantity == named


def test_options_out_of_range_are_named() -> None:
    for options, named in (
        ({"most_nonzero": 0}, "most_nonzero"),
        ({"most_nonzero": 3}, "most_nonzero"),
        ({"same": -1.0}, "same"),
        ({"same": float("nan")}, "same"),
    ):
        with pytest.raises(BadInput) as refused:
            nearest_points([[1.0, 2.0]], [1.0], [0, 0], [1, 1], **options)
        assert refused.value.quantity == named


@pytest.mark.parametrize(("side", "target"), [(10**6, 1.0), (20_000, 0.3337 * 75_000 + 0.1)])
def test_a_grid_too_fine_to_search_is_refused(side: int, target: float) -> None:
    with pytest.raises(BadInput, match="too fine") as refused:
        nearest_points(np.full((1, 4), 0.3337), [target], [-side] * 4, [side] * 4)
    assert refused.value.quantity == "grid"
