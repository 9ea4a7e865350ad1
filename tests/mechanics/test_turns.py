"""Turn plans: the best of the whole grid, what they predict, and why they fall short."""

from collections.abc import Sequence
from functools import partial
from itertools import pairwise, product
from operator import add
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from cars.mechanics import CORNER_NAMES, BadInput, Chassis, Corners, Response, response, shares
from cars.mechanics.goals import Goal
from cars.mechanics.turnplan import Room, TurnPlan, TurnTarget
from cars.mechanics.turns import plan_turns
from tests.examples import examples
from tests.mechanics.car_cases import even_car, random_chassis, warp_car

LOADS = Corners(37.0, 36.0, 40.0, 41.0)
HEIGHTS = Corners(50.0, 51.0, 55.0, 56.0)
SIXTEENTH = 1.5875  # mm


def heights_of(*values: float | None, tolerance: float = SIXTEENTH) -> tuple[Goal | None, ...]:
    return tuple(None if value is None else Goal(value, tolerance) for value in values)


def grid_misses(
    car: Response, target: TurnTarget, loads: Corners, heights: Corners, turns: np.ndarray
) -> np.ndarray:
    """Every target's miss for every row of turns, from predicted loads and heights alone."""
    after = np.array(loads) + turns @ car.loads_per_turn.T
    high = np.array(heights) + turns @ car.heights_per_turn.T
    columns = []
    if target.cross is not None:
        cross = (after[:, 1] + after[:, 2]) / after.sum(axis=1)
        columns.append((cross - target.cross.value) / target.cross.tolerance)
    for place, goal in enumerate(target.heights):
        if goal is not None:
            columns.append((high[:, place] - goal.value) / goal.tolerance)
    return np.array(columns).T


@st.composite
def targets(draw: st.DrawFn) -> TurnTarget:
    """Any choice of goals, from one to all five, near and far."""
    away = st.floats(-6.0, 6.0)
    cross = draw(st.none() | st.builds(Goal, st.floats(0.46, 0.56), st.floats(0.001, 0.005)))
    goals: list[Goal | None] = [
        draw(st.none() | st.builds(Goal, away.map(partial(add, h)), st.floats(0.5, 3.0)))
        for h in HEIGHTS
    ]
    if cross is None and not any(goals):
        goals[draw(st.integers(0, 3))] = Goal(52.0, 1.0)
    return TurnTarget(cross, tuple(goals))


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 2**32 - 1), targets())
def test_every_plan_is_the_best_of_the_whole_grid(seed: int, target: TurnTarget) -> None:
    rng = np.random.default_rng(seed)
    car = response(random_chassis(rng))
    most, least = rng.integers(0, 6, 4), -rng.integers(0, 6, 4)
    room = Room(plus=Corners.of(most * 0.25), minus=Corners.of(-least * 0.25))
    plans = plan_turns(LOADS, HEIGHTS, car, target, room=room)

    steps = np.array(list(product(*(range(a, b + 1) for a, b in zip(least, most, strict=True)))))
    costs = (grid_misses(car, target, LOADS, HEIGHTS, steps * 0.25) ** 2).sum(axis=1)
    used, turned = np.count_nonzero(steps, axis=1), np.abs(steps).sum(axis=1)
    for plan in plans:
        allowed = used <= plan.allowed
        best = costs[allowed].min()
        assert plan.miss <= best + 3e-6
        same = allowed & (costs <= best)
        assert (plan.adjusters, plan.turning * 4) <= min(zip(used[same], turned[same], strict=True))


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 2**32 - 1), targets(), st.sampled_from([0.125, 0.25, 0.5, 1.0]))
def test_a_plan_predicts_what_its_turns_do(seed: int, target: TurnTarget, step: float) -> None:
    car = response(random_chassis(np.random.default_rng(seed)))
    for plan in plan_turns(LOADS, HEIGHTS, car, target, step=step, room=3.0, u=0.07):
        turns = np.array(plan.turns)
        assert plan.loads == pytest.approx(tuple(np.array(LOADS) + car.loads_per_turn @ turns))
        assert plan.heights == pytest.approx(
            tuple(np.array(HEIGHTS) + car.heights_per_turn @ turns)
        )
        assert sum(plan.loads) == pytest.approx(sum(LOADS), rel=1e-12)
        assert plan.adjusters <= plan.allowed
        assert np.abs(turns).max() <= 3.0
        assert (turns / step == np.rint(turns / step)).all()
        misses = grid_misses(car, target, LOADS, HEIGHTS, turns[None])[0]
        assert [miss.tolerances for miss in plan.misses] == pytest.approx(misses.tolist())
        assert plan.miss == pytest.approx(float(misses @ misses))
        if min(plan.loads) >= 0.0:
            again = shares(plan.loads, 0.07)
            assert plan.cross == pytest.approx(again.cross)
            assert plan.u_cross == pytest.approx(again.u_cross)


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 2**32 - 1), targets(), st.sampled_from([0.125, 0.25, 0.75, 2.0]))
def test_moves_make_the_turns_without_running_ahead(
    seed: int, target: TurnTarget, step: float
) -> None:
    car = response(random_chassis(np.random.default_rng(seed)))
    for plan in plan_turns(LOADS, HEIGHTS, car, target, step=step):
        made = dict.fromkeys(CORNER_NAMES, 0.0)
        for move in plan.moves:
            assert 0.0 < abs(move.turns) <= max(1.0, step)
            made[move.corner] += move.turns
        assert tuple(made.values()) == plan.turns
        assert_rounds_are_kept(plan)


def assert_rounds_are_kept(plan: TurnPlan) -> None:
    """Each round: every corner once at most, and nobody a round behind who still has to turn."""
    goes = {name: [m for m in plan.moves if m.corner == name] for name in CORNER_NAMES}
    order = []
    for place in range(max((len(moves) for moves in goes.values()), default=0)):
        now = [moves[place] for moves in goes.values() if len(moves) > place]
        order += sorted(now, key=lambda move: move.turns > 0.0)
    assert [m.turns > 0.0 for m in order] == [m.turns > 0.0 for m in plan.moves]
    assert sorted(map(str, order)) == sorted(map(str, plan.moves))


def test_the_order_of_turning() -> None:
    # Common practice, no source: off before on, the longest way first, a turn at a time.
    car = response(warp_car(1.5))
    target = TurnTarget(Goal(0.58, 0.0025))
    plan = plan_turns(LOADS, None, car, target, room=2.0)[-1]
    assert plan.turns == (-2.0, 2.0, 2.0, -2.0)
    assert [(move.corner, move.turns) for move in plan.moves] == 2 * [
        ("LF", -1.0),
        ("RR", -1.0),
        ("RF", 1.0),
        ("LR", 1.0),
    ]


def test_one_plan_for_each_number_of_adjusters() -> None:
    car, target = response(warp_car(1.5)), TurnTarget(Goal(0.51, 0.0025), heights_of(*HEIGHTS))
    all_four = plan_turns(LOADS, HEIGHTS, car, target)
    assert [plan.allowed for plan in all_four] == [1, 2, 3, 4]
    assert all(one.miss >= more.miss for one, more in pairwise(all_four))
    for most in (1, 2, 3):
        fewer = plan_turns(LOADS, HEIGHTS, car, target, most_adjusters=most)
        assert [plan.turns for plan in fewer] == [plan.turns for plan in all_four[:most]]


def test_on_target_already_turns_nothing() -> None:
    car = response(warp_car(1.5))
    target = TurnTarget(Goal(shares(LOADS).cross, 0.0025), heights_of(*HEIGHTS))
    for plan in plan_turns(LOADS, HEIGHTS, car, target):
        assert plan.turns == (0.0, 0.0, 0.0, 0.0)
        assert plan.moves == ()
        assert plan.miss == pytest.approx(0.0, abs=1e-20)
        assert plan.shortfall is None


def test_turns_that_were_made_are_found_again() -> None:
    car = response(warp_car(1.5))
    made = np.array([-1.25, 0.75, 2.5, -0.5])
    loads = np.array(LOADS) + car.loads_per_turn @ made
    heights = np.array(HEIGHTS) + car.heights_per_turn @ made
    cross = shares(Corners.of(loads)).cross
    target = TurnTarget(Goal(cross, 0.001), heights_of(*heights.tolist(), tolerance=0.2))
    plan = plan_turns(LOADS, HEIGHTS, car, target)[-1]
    assert plan.turns == tuple(made)
    assert plan.loads == pytest.approx(tuple(loads))


def test_opposite_turns_across_the_car_move_cross() -> None:
    # Common practice, no source.
    for seed in range(20):
        car = response(random_chassis(np.random.default_rng(seed)))
        for goal, signs in ((0.99, (-1, 1, 1, -1)), (0.01, (1, -1, -1, 1))):
            target = TurnTarget(Goal(goal, 0.0025))
            plan = plan_turns(LOADS, None, car, target, room=1.0)[-1]
            assert tuple(np.sign(plan.turns)) == signs


def test_equal_turns_on_one_side_lift_it_and_leave_cross_alone() -> None:
    # Common practice, no source; exact on a car that is the same front and rear.
    car = response(even_car())
    even, flat = Corners.same(40.0), Corners.same(50.0)
    lift = car.heights_per_turn @ np.array([2.0, 0.0, 2.0, 0.0])
    wanted = heights_of(*(50.0 + lift).tolist(), tolerance=0.5)
    plan = plan_turns(even, flat, car, TurnTarget(Goal(0.5, 0.001), wanted))[-1]
    assert plan.turns == (2.0, 0.0, 2.0, 0.0)
    assert plan.cross == pytest.approx(0.5, abs=1e-12)
    assert plan.heights is not None
    assert min(plan.heights.lf, plan.heights.lr) > max(plan.heights.rf, plan.heights.rr)


def test_a_single_height_needs_a_single_adjuster() -> None:
    car = response(warp_car(1.5))
    target = TurnTarget(heights=heights_of(None, None, 58.0, None))
    best = plan_turns(LOADS, HEIGHTS, car, target)[0]
    assert best.shortfall is None
    assert best.adjusters == 1
    assert [miss.target for miss in best.misses] == ["height LR"]


def test_cross_alone_needs_no_heights() -> None:
    plans = plan_turns(LOADS, None, response(warp_car(1.5)), TurnTarget(Goal(0.5, 0.0025)))
    assert all(plan.heights is None for plan in plans)
    assert plans[0].shortfall is None


def fall_short(chassis: Chassis, target: TurnTarget, **options: Any) -> list[TurnPlan]:
    return plan_turns(LOADS, HEIGHTS, response(chassis), target, **options)


def test_targets_no_frame_can_stand_at_contradict() -> None:
    # Two opposite corners 20 mm up and the others 20 mm down: the frame would have to twist.
    wanted = heights_of(70.0, 31.0, 35.0, 76.0)
    for plan in fall_short(warp_car(1.5), TurnTarget(Goal(0.49, 0.0025), wanted), room=900.0):
        assert plan.shortfall is not None
        assert plan.shortfall.reason == "contradict"
        assert set(plan.shortfall.targets) >= {"height LF", "height RF"}
    assert "no turns can bring these targets together" in str(plan.shortfall)


@settings(max_examples=examples(100), deadline=None)
@given(st.integers(0, 2**32 - 1), targets())
def test_the_reason_agrees_with_a_linear_program(seed: int, target: TurnTarget) -> None:
    # Reference: the smallest largest miss over real turns, by scipy's HiGHS.
    rng = np.random.default_rng(seed)
    car = response(random_chassis(rng))
    room = Room(plus=Corners.of(rng.uniform(0, 8, 4)), minus=Corners.of(rng.uniform(0, 8, 4)))
    last = plan_turns(LOADS, HEIGHTS, car, target, room=room)[-1]
    if last.shortfall is None or last.shortfall.reason == "lift":
        return
    start = grid_misses(car, target, LOADS, HEIGHTS, np.zeros((1, 4)))[0]
    rows = grid_misses(car, target, LOADS, HEIGHTS, np.eye(4)).T - start[:, None]
    ends = [(-m, p) for p, m in zip(room.plus, room.minus, strict=True)]
    if smallest_largest_miss(rows, start, [(None, None)] * 4) > 1.0 + 1e-6:
        assert last.shortfall.reason == "contradict"
    elif smallest_largest_miss(rows, start, ends) > 1.0 + 1e-6:
        assert last.shortfall.reason == "room"
    else:
        assert last.shortfall.reason == "step"


def smallest_largest_miss(
    rows: np.ndarray, start: np.ndarray, bounds: Sequence[tuple[float | None, float | None]]
) -> float:
    edge = -np.ones((len(start), 1))
    found = linprog(
        [0.0, 0.0, 0.0, 0.0, 1.0],
        A_ub=np.block([[rows, edge], [-rows, edge]]),
        b_ub=np.concatenate([-start, start]),
        bounds=[*bounds, (0.0, None)],
    )
    assert found.fun is not None
    return found.fun


def test_too_little_thread_is_room_and_names_the_ends() -> None:
    target = TurnTarget(Goal(0.6, 0.0025))
    (*_, plan) = fall_short(warp_car(1.5), target, room=1.1)
    assert plan.turns == (-1.0, 1.0, 1.0, -1.0)
    assert plan.shortfall is not None
    assert plan.shortfall.reason == "room"
    assert plan.shortfall.targets == ("cross",)
    assert plan.shortfall.ends == CORNER_NAMES
    assert "no room left at LF, RF, LR, RR" in str(plan.shortfall)
    assert fall_short(warp_car(1.5), target, room=12.0)[-1].shortfall is None


def test_thread_may_be_short_at_one_corner_only() -> None:
    room = Room(plus=Corners(6.0, 6.0, 0.5, 6.0), minus=Corners(6.0, 6.0, 6.0, 0.0))
    target = TurnTarget(Goal(0.57, 0.0025))
    for plan in fall_short(warp_car(1.5), target, room=room):
        assert plan.turns.lr <= 0.5
        assert plan.turns.rr >= 0.0


def test_a_plan_with_too_few_adjusters_says_so() -> None:
    target = TurnTarget(Goal(0.6, 0.0025))
    first, *_, last = fall_short(warp_car(1.5), target, room=8.0)
    assert last.shortfall is None
    assert first.shortfall is not None
    assert first.shortfall.reason == "adjusters"
    (only,) = fall_short(warp_car(1.5), target, room=8.0, most_adjusters=1)
    assert only.shortfall is not None
    assert only.shortfall.reason == "adjusters"


def test_a_goal_between_whole_steps_says_so() -> None:
    target = TurnTarget(heights=heights_of(50.4, 51.4, 55.4, 56.4, tolerance=0.05))
    for plan in fall_short(warp_car(1.5), target, step=2.0):
        assert plan.shortfall is not None
        assert plan.shortfall.reason == "step"
    assert "the steps are too coarse" in str(plan.shortfall)


def test_a_wheel_off_its_pad_is_not_passed_over() -> None:
    light = Corners(0.5, 60.0, 60.0, 1.5)
    target = TurnTarget(Goal(0.9995, 0.0002))
    plan = plan_turns(light, None, response(warp_car(3.0)), target)[-1]
    assert plan.shortfall is not None
    assert plan.shortfall.reason == "lift"
    assert set(plan.shortfall.lifted) == {
        name for name, load in zip(CORNER_NAMES, plan.loads, strict=True) if load < 0.0
    }
    assert "come off the pad" in str(plan.shortfall)


@pytest.mark.parametrize(
    ("options", "named"),
    [
        ({"step": 0.0}, "step"),
        ({"step": float("nan")}, "step"),
        ({"step": 1e-5}, "step"),
        ({"step": 1e-3, "room": 900.0}, "step"),
        ({"step": 1e-300}, "step"),
        ({"room": -1.0}, "room"),
        ({"room": float("inf")}, "room"),
        ({"most_adjusters": 0}, "most_adjusters"),
        ({"most_adjusters": 5}, "most_adjusters"),
        ({"u": -0.1}, "u LF"),
    ],
)
def test_wrong_options_are_named(options: dict[str, float], named: str) -> None:
    with pytest.raises(BadInput) as refused:
        fall_short(warp_car(1.5), TurnTarget(Goal(0.5321, 1e-9)), **options)
    assert refused.value.quantity == named


def test_wrong_readings_and_targets_are_named() -> None:
    car, cross = response(warp_car(1.5)), TurnTarget(Goal(0.5, 0.01))
    low = TurnTarget(heights=heights_of(50.0, None, None, None))
    for wrong, named in (
        (lambda: plan_turns(Corners.same(0.0), None, car, cross), "loads"),
        (lambda: plan_turns(Corners(1.0, 1.0, -1.0, 1.0), None, car, cross), "loads LR"),
        (lambda: plan_turns(LOADS, None, car, low), "heights"),
        (lambda: plan_turns(LOADS, Corners(1.0, float("nan"), 1.0, 1.0), car, low), "heights RF"),
        (TurnTarget, "target"),
        (lambda: TurnTarget(heights=(None, None)), "target"),
        (lambda: TurnTarget(Goal(1.2, 0.01)), "target cross"),
        (lambda: Goal(0.5, 0.0), "tolerance"),
        (lambda: Goal(0.5, 1e-300), "tolerance"),
        (lambda: Goal(1e300, 1.0), "goal"),
        (lambda: Goal(float("nan"), 1.0), "goal"),
        (lambda: Room(Corners.same(1.0), Corners(1.0, 1.0, 1.0, -2.0)), "room minus RR"),
    ):
        with pytest.raises(BadInput) as refused:
            wrong()
        assert refused.value.quantity == named
