"""Ballast plans: the best of all placings, what they predict, and what they refuse."""

from collections.abc import Callable
from itertools import product
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.mechanics import BadInput, Chassis, Corners, response, shares
from cars.mechanics.ballast import plan_ballast
from cars.mechanics.ballastplan import (
    BallastOutOfReach,
    BallastPlan,
    Handling,
    Mount,
    Piece,
    ShareTargets,
)
from cars.mechanics.goals import Goal
from cars.mechanics.onboard import weigh_again, weight_change
from tests.examples import examples
from tests.mechanics.car_cases import random_chassis, warp_car

LB = 0.45359237  # kg, exact (NIST SP 811)
LOADS = Corners(37.0, 36.0, 40.0, 41.0)
TANK = (450.0, 60.0)
MOUNTS = (
    Mount("nose", 1100.0, 0.0, 6.0),
    Mount("left rail", 500.0, 300.0, 8.0),
    Mount("right rail", 500.0, -300.0, 8.0),
    Mount("tail", -60.0, 0.0, 4.0),
)
TARGETS = ShareTargets(Goal(0.51, 0.005), Goal(0.53, 0.005), Goal(0.495, 0.0025))


def plans(
    pieces: tuple[Piece, ...] = (),
    mounts: tuple[Mount, ...] = MOUNTS,
    *,
    loads: Corners = LOADS,
    minimum: float = 160.0,
    margin: float = 0.5,
    fuel: tuple[float, float] = (0.0, 0.0),
    **options: Any,
) -> list[BallastPlan]:
    return plan_ballast(
        loads,
        warp_car(),
        pieces,
        mounts,
        minimum=minimum,
        margin=margin,
        fuel_now=fuel[0],
        fuel_at_weighing=fuel[1],
        **{"tank": TANK, **options},
    )


def loose(*masses: float, u: float = 0.0) -> tuple[Piece, ...]:
    return tuple(Piece(f"P{n}", mass, u) for n, mass in enumerate(masses, start=1))


# --- the trade, by hand ---


@pytest.mark.parametrize(("fuel_left", "legal_by"), [(0.0, 2.0), (2.0, 4.0)])
def test_two_pounds_of_fuel_count_at_the_scales(fuel_left: float, legal_by: float) -> None:
    # Common practice, no source: 342 lb without its 2 lb of fuel, the minimum 340 lb.
    dry = Corners(80 * LB, 82 * LB, 90 * LB, 90 * LB)
    (plan,) = plans(loads=dry, minimum=340 * LB, margin=0.0, fuel=(0.0, fuel_left * LB))
    assert plan.over == pytest.approx(legal_by * LB)
    assert plan.weight == pytest.approx((342 + fuel_left) * LB)
    assert plan.now.total == pytest.approx(342 * LB)
    assert (plan.placed, plan.handling) == ((), ())


def test_fuel_that_burns_off_has_to_be_made_up() -> None:
    full = plans(loose(1.0, 2.0), minimum=153.0, margin=0.5, fuel=(1.5, 1.5))[0]
    burnt = plans(loose(1.0, 2.0), minimum=153.0, margin=0.5, fuel=(1.5, 0.0))[0]
    assert full.placed == ()
    assert [name for name, _ in burnt.placed] == ["P1"]
    assert burnt.now.total - burnt.at_weighing.total == pytest.approx(1.5)
    assert burnt.excess == pytest.approx(154.0 + 1.0 - 1.5 - 153.5)


def test_fuel_leaves_the_corner_its_tank_is_at() -> None:
    (plan,) = plans(minimum=100.0, fuel=(3.0, 0.0), tank=(0.0, 300.0))
    assert plan.now == shares(LOADS)
    assert plan.at_weighing.rear < plan.now.rear
    assert plan.at_weighing.left < plan.now.left


def test_the_least_excess_comes_first() -> None:
    # 6.5 kg are needed; 2.9 + 3.8 = 6.7 beats 7.0 and 3.3 + 3.8 = 7.1.
    plan = plans(loose(7.0, 3.3, 2.9, 3.8))[0]
    assert {name for name, _ in plan.placed} == {"P3", "P4"}
    assert plan.excess == pytest.approx(0.2)
    assert plan.over == pytest.approx(0.7)


def test_too_much_ballast_is_taken_off() -> None:
    fitted = (Piece("old", 5.0, fitted="tail"), Piece("new", 2.0))
    mounts = (*MOUNTS[:3], Mount("tail", -60.0, 0.0, 5.0))
    best, left_alone = plans(fitted, mounts, minimum=150.0)
    assert best.handling == (
        Handling("old", "tail", None),
        Handling("new", None, best.placed[0][1]),
    )
    assert best.excess == pytest.approx(154.0 - 5.0 + 2.0 - 150.5)
    assert left_alone.handling == ()
    assert left_alone.placed == (("old", "tail"),)


def test_a_piece_that_stays_is_left_where_it_is() -> None:
    bolted = Piece("bolted", 3.5, fitted="tail", stays=True)
    for plan in plans((bolted, *loose(7.0)), targets=TARGETS):
        assert ("bolted", "tail") in plan.placed
        assert all(step.piece != "bolted" for step in plan.handling)


def test_without_targets_the_shares_stay_as_they_are() -> None:
    before = shares(LOADS)
    plan = plans(loose(3.0, 3.5))[0]
    for name in ("left", "rear", "cross"):
        assert getattr(plan.now, name) == pytest.approx(getattr(before, name), abs=0.006)
    assert [miss.target for miss in plan.misses] == ["left", "rear", "cross"]


def test_ballast_goes_to_the_side_that_is_too_light() -> None:
    for goal, mount in ((0.56, "left rail"), (0.44, "right rail")):
        targets = ShareTargets(left=Goal(goal, 0.005))
        plan = plans(loose(6.6), targets=targets)[0]
        assert plan.placed == (("P1", mount),)
        assert [miss.target for miss in plan.misses] == ["left"]


def test_no_goals_at_all_handle_the_fewest_pieces() -> None:
    pieces = (Piece("a", 2.0, fitted="nose"), Piece("b", 2.0), Piece("c", 2.0))
    plan = plans(pieces, minimum=155.5, targets=ShareTargets())[0]
    assert len(plan.handling) == 1
    assert ("a", "nose") in plan.placed
    assert plan.misses == ()


def test_equal_pieces_are_told_apart_again() -> None:
    pieces = tuple(Piece(f"plate {n}", 2.0, fitted="nose" if n < 3 else None) for n in range(6))
    plan = plans(pieces, minimum=157.0, targets=TARGETS)[0]
    placed = dict(plan.placed)
    assert len(placed) == len(plan.placed)
    for step in plan.handling:
        assert placed.get(step.piece) == step.after != step.before
    still = {piece.name for piece in pieces} - {step.piece for step in plan.handling}
    assert all(placed[name] == "nose" for name in still if name in placed)


# --- against every placing there is ---


def every_placing(
    chassis: Chassis, pieces: list[Piece], mounts: list[Mount], need: float, targets: ShareTargets
) -> tuple[float, float] | None:
    """Least excess and, with it, the least sum of misses and handling; None out of reach."""
    car, found = response(chassis), []
    names = [None, *(mount.name for mount in mounts)]
    where = {mount.name: (mount.x, mount.y) for mount in mounts} | {None: None}
    for goes in product(names, repeat=len(pieces)):
        held = {
            m.name: sum(p.mass for p, g in zip(pieces, goes, strict=True) if g == m.name)
            for m in mounts
        }
        if any(held[mount.name] > mount.capacity + 1e-9 for mount in mounts):
            continue
        changes = [
            weight_change(car, p.mass, before=where[p.fitted], after=where[g])
            for p, g in zip(pieces, goes, strict=True)
            if p.fitted != g
        ]
        _, after = weigh_again(LOADS, changes)
        if after.total >= need - 1e-9:
            cost = sum(
                max(abs(goal.miss(getattr(after, name))), 0.25)
                for name in ("left", "rear", "cross")
                if (goal := getattr(targets, name)) is not None
            )
            found.append((after.total - need, cost + 0.05 * len(changes)))
    if not found:
        return None
    least = min(excess for excess, _ in found)
    return least, min(cost for excess, cost in found if excess <= least + 1e-4)


@st.composite
def small_tasks(draw: st.DrawFn) -> tuple[Chassis, list[Piece], list[Mount], float, ShareTargets]:
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    mounts = [
        Mount(f"M{n}", rng.uniform(-100, 1200), rng.uniform(-350, 350), rng.uniform(1.0, 7.0))
        for n in range(draw(st.integers(1, 3)))
    ]
    places = draw(st.sampled_from([0, 1, 3]))  # whole kilograms make equal sets common
    room, pieces = {mount.name: mount.capacity for mount in mounts}, []
    for n in range(draw(st.integers(1, 4))):
        mass = max(0.1, round(float(rng.uniform(0.5, 4.0)), places))
        home = str(rng.choice([*room, "loose"]))
        fitted = home if room.get(home, 0.0) >= mass else None
        if fitted is not None:
            room[fitted] -= mass
        pieces.append(Piece(f"P{n}", mass, fitted=fitted))
    present = shares(LOADS)
    targets = ShareTargets(
        Goal(present.left + rng.uniform(-0.02, 0.02), 0.005),
        draw(st.none() | st.just(Goal(present.rear + rng.uniform(-0.02, 0.02), 0.005))),
        draw(st.none() | st.just(Goal(present.cross, 0.0025))),
    )
    on = sum(piece.mass for piece in pieces if piece.fitted)
    need = sum(LOADS) + rng.uniform(-on, sum(piece.mass for piece in pieces) - on)
    return random_chassis(rng), pieces, mounts, need, targets


@settings(max_examples=examples(80), deadline=None)
@given(small_tasks())
def test_small_tasks_agree_with_trying_every_placing(
    task: tuple[Chassis, list[Piece], list[Mount], float, ShareTargets],
) -> None:
    chassis, pieces, mounts, need, targets = task
    told: dict[str, Any] = {
        "minimum": need - 0.3,
        "margin": 0.3,
        "fuel_now": 0.0,
        "fuel_at_weighing": 0.0,
    }
    placings = every_placing(chassis, pieces, mounts, need, targets)
    if placings is None:
        with pytest.raises(BallastOutOfReach) as out:
            plan_ballast(LOADS, chassis, pieces, mounts, targets=targets, **told)
        assert out.value.short > 0.0
        return
    found = plan_ballast(LOADS, chassis, pieces, mounts, targets=targets, **told)
    excess, cost = placings
    best = found[0]
    assert best.proven
    assert best.excess == pytest.approx(excess, abs=1.1e-4)
    got = sum(max(abs(miss.tolerances), 0.25) for miss in best.misses)
    assert got + 0.05 * len(best.handling) == pytest.approx(cost, abs=2e-4)
    for plan in found:
        assert_plan_holds(plan, pieces, mounts)
    for plan in found[1:]:
        assert all(step.before is None for step in plan.handling)


def assert_plan_holds(plan: BallastPlan, pieces: list[Piece], mounts: list[Mount]) -> None:
    """Every piece at one place at most, no mount above its capacity, the weight as added up."""
    mass = {piece.name: piece.mass for piece in pieces}
    placed = dict(plan.placed)
    assert len(placed) == len(plan.placed)
    for mount in mounts:
        held = sum(mass[name] for name, place in placed.items() if place == mount.name)
        assert held <= mount.capacity + 1e-6
    fitted = sum(piece.mass for piece in pieces if piece.fitted)
    assert plan.weight == pytest.approx(sum(LOADS) - fitted + sum(mass[name] for name in placed))
    assert plan.excess >= -1e-6
    assert sum(plan.loads) == pytest.approx(plan.now.total)


@settings(max_examples=examples(30), deadline=None)
@given(small_tasks(), st.randoms())
def test_the_order_of_pieces_and_mounts_does_not_matter(
    task: tuple[Chassis, list[Piece], list[Mount], float, ShareTargets], random: Random
) -> None:
    chassis, pieces, mounts, need, targets = task
    told: dict[str, Any] = {
        "minimum": need,
        "margin": 0.0,
        "fuel_now": 0.0,
        "fuel_at_weighing": 0.0,
    }
    shuffled = random.sample(pieces, len(pieces)), random.sample(mounts, len(mounts))
    costs = []
    for some, places in ((pieces, mounts), shuffled):
        try:
            plan = plan_ballast(LOADS, chassis, some, places, targets=targets, **told)[0]
        except BallastOutOfReach as out:
            plan = out.nearest
        misses = sum(max(abs(miss.tolerances), 0.25) for miss in plan.misses)
        costs.append((plan.excess, misses + 0.05 * len(plan.handling)))
    assert costs[0] == pytest.approx(costs[1], abs=2e-4)


# --- uncertainty ---


def test_probability_of_being_under_is_that_of_the_guide() -> None:
    # JCGM 106:2012 (inputs from memory): y 509.7, u 8.6, lower limit 490: conforms with 0.989010.
    loads = Corners(127.0, 127.7, 127.0, 128.0)
    (plan,) = plans(loads=loads, minimum=490.0, margin=0.0, u=4.3)
    assert plan.u_weight == pytest.approx(8.6)
    assert 1.0 - plan.under == pytest.approx(0.989010, abs=5e-7)


def test_every_source_of_doubt_counts_once() -> None:
    fitted = Piece("fitted", 1.0, 0.3, fitted="nose", stays=True)
    plan = plans(
        (fitted, Piece("added", 6.8, 0.02)), fuel=(1.0, 0.9), u=0.05, u_fuel=0.03, u_scale=0.06
    )[0]
    assert [step.piece for step in plan.handling] == ["added"]
    assert plan.u_weight == pytest.approx((4 * 0.05**2 + 0.02**2 + 0.03**2 + 0.06**2) ** 0.5)
    assert plan.now.u_total == pytest.approx((4 * 0.05**2 + 0.02**2) ** 0.5)


def test_without_doubt_it_is_under_or_not() -> None:
    assert plans(loose(6.6))[0].under == 0.0
    with pytest.raises(BallastOutOfReach) as out:
        plans(loose(2.0))
    assert out.value.nearest.under == 1.0


# --- what is out of reach, and what is wrong ---


def test_out_of_reach_shows_the_nearest() -> None:
    with pytest.raises(BallastOutOfReach, match=r"by 1\.50 kg") as out:
        plans(loose(2.0, 3.0))
    assert out.value.quantity == "ballast"
    assert out.value.short == pytest.approx(1.5)
    assert {name for name, _ in out.value.nearest.placed} == {"P1", "P2"}
    assert out.value.nearest.excess == pytest.approx(-1.5)


def test_out_of_reach_for_want_of_room_packs_the_mounts_full() -> None:
    # The weights of knapsack P01: 165 of them can be packed into 165 exactly.
    weights = (23, 31, 29, 44, 53, 38, 63, 85, 89, 82)
    pieces = loose(*(0.1 * weight for weight in weights))
    with pytest.raises(BallastOutOfReach) as out:
        plans(pieces, (Mount("only", 400.0, 0.0, 16.5),), minimum=200.0)
    mass = {piece.name: piece.mass for piece in pieces}
    assert sum(mass[name] for name, _ in out.value.nearest.placed) == pytest.approx(16.5)


def test_the_lightest_set_that_fits_is_found_when_a_lighter_one_does_not() -> None:
    # 6.5 kg needed: three times 2.2 is lightest, but neither mount holds two of them.
    mounts = (Mount("a", 0.0, 0.0, 3.5), Mount("b", 900.0, 0.0, 3.5))
    plan = plans(loose(2.2, 2.2, 2.2, 3.4, 3.3), mounts)[0]
    assert {name for name, _ in plan.placed} == {"P4", "P5"}
    assert plan.excess == pytest.approx(0.2)


def test_a_loose_piece_no_mount_can_hold_is_named() -> None:
    plan = plans(loose(9.0, 6.6))[0]
    assert plan.unusable == ("P1",)
    assert [name for name, _ in plan.placed] == ["P2"]


def test_without_mounts_or_pieces_the_car_is_as_it_is() -> None:
    assert plans((), (), minimum=150.0)[0].excess == pytest.approx(3.5)
    assert plans(loose(1.0), (), minimum=150.0)[0].unusable == ("P1",)
    with pytest.raises(BallastOutOfReach) as out:
        plans((), ())
    assert out.value.short == pytest.approx(6.5)


def test_heights_come_down_where_the_weight_is() -> None:
    plan = plans(loose(6.6), (Mount("tail", -60.0, 0.0, 8.0),))[0]
    front, rear = plan.height_change[:2], plan.height_change[2:]
    assert max(rear) < -1.0 < 0.0 < min(front)


def test_a_mount_that_cannot_hold_its_piece_is_named() -> None:
    with pytest.raises(BadInput, match=r"cannot hold piece big: 1\.00 kg over") as refused:
        plans((Piece("big", 5.0, fitted="tail"),))
    assert refused.value.quantity == "mount tail"


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: plans((Piece("a", 1.0, fitted="roof"),)), "piece a"),
        (lambda: plans((*loose(1.0), *loose(2.0))), "piece P1"),
        (lambda: plans((), (MOUNTS[0], MOUNTS[0])), "mount nose"),
        (lambda: plans(minimum=0.0), "minimum"),
        (lambda: plans(margin=-1.0), "margin"),
        (lambda: plans(fuel=(-1.0, 0.0)), "fuel_now"),
        (lambda: plans(fuel=(0.0, float("nan"))), "fuel_at_weighing"),
        (lambda: plans(fuel=(1.0, 0.0), tank=None), "tank"),
        (lambda: plans(u_scale=-1.0), "u_scale"),
        (lambda: plans(seconds=0.0), "seconds"),
        (lambda: plans(loads=Corners.same(0.0)), "loads"),
        (lambda: plans(loose(*np.linspace(1.0, 2.0, 21))), "pieces"),
        (lambda: Piece("a", 0.0), "piece a mass"),
        (lambda: Piece("a", 1.0, -0.1), "piece a u"),
        (lambda: Piece("a", 1.0, stays=True), "piece a"),
        (lambda: Mount("m", float("inf"), 0.0, 1.0), "mount m x"),
        (lambda: Mount("m", 0.0, 0.0, -1.0), "mount m capacity"),
    ],
)
def test_wrong_figures_are_named(make: Callable[[], object], named: str) -> None:
    with pytest.raises(BadInput) as refused:
        make()
    assert refused.value.quantity == named


def test_fitted_pieces_cannot_weigh_more_than_the_car() -> None:
    light = Corners.same(1.0)
    with pytest.raises(BadInput, match="weigh more than the car"):
        plans((Piece("a", 5.0, fitted="nose"),), loads=light)
