"""Cars for the tests of the mechanics: one from a reference, and any number at random."""

from typing import Any

import numpy as np
from hypothesis import strategies as st

from cars.mechanics import Chassis, Corners
from cars.mechanics.chassis import AxleKind


def warp_car(thread: float = 3.0) -> Chassis:
    """The reference car with lead, turned to our frame of reference.

    Its published coordinates start at the front axle and carry the lead in the rear
    one, so it is driven backwards here: their LR is our LF, their RR our RF, and so on.
    The motion ratio is 1, the tyres 90 N/mm, the heights are read above the springs.
    """
    car: dict[str, Any] = {
        "wheelbase_left": 1219.2,
        "wheelbase_right": 1244.6,
        "track_front": 860.0,
        "track_rear": 900.0,
        "spring_y": Corners(300.0, -300.0, 330.0, -330.0),
        "spring_rate": Corners(19.3, 24.5, 17.5, 21.0),
        "motion_ratio": Corners.same(1.0),
        "thread": Corners.same(thread),
        "tyre_rate": Corners.same(90.0),
    }
    places = Chassis(**car, height_points=[(0.0, 0.0)] * 4).springs
    return Chassis(**car, height_points=places)


def even_car(**changes: Any) -> Chassis:
    """A car the same left and right and front and rear, without lead."""
    car: dict[str, Any] = {
        "wheelbase_left": 1240.0,
        "wheelbase_right": 1240.0,
        "track_front": 880.0,
        "track_rear": 880.0,
        "spring_y": Corners(300.0, -300.0, 300.0, -300.0),
        "spring_rate": Corners.same(20.0),
        "motion_ratio": Corners.same(1.0),
        "thread": Corners.same(1.5),
        "tyre_rate": Corners.same(90.0),
        "height_points": [(1240.0, 350.0), (1240.0, -350.0), (0.0, 350.0), (0.0, -350.0)],
    }
    return Chassis(**{**car, **changes})


def random_chassis(rng: np.random.Generator, **changes: Any) -> Chassis:
    """A car with lead, unequal tracks, bases, rates, ratios, threads and tyres."""
    left = rng.uniform(1150.0, 1280.0)
    right = left + rng.choice([-1.0, 1.0]) * rng.uniform(2.0, 45.0)
    car: dict[str, Any] = {
        "wheelbase_left": left,
        "wheelbase_right": right,
        "track_front": rng.uniform(780.0, 960.0),
        "track_rear": rng.uniform(780.0, 960.0),
        "spring_y": Corners.of(rng.uniform(240.0, 370.0, 4) * (1, -1, 1, -1)),
        "spring_rate": Corners.of(rng.uniform(12.0, 32.0, 4)),
        "motion_ratio": Corners.of(rng.uniform(0.6, 1.2, 4)),
        "thread": Corners.of(rng.uniform(1.2, 2.5, 4)),
        "tyre_rate": Corners.of(rng.uniform(60.0, 130.0, 4)),
        "height_points": [
            (x + rng.uniform(-150.0, 50.0), side * rng.uniform(250.0, 400.0))
            for x, side in ((left, 1), (right, -1), (150.0, 1), (150.0, -1))
        ],
    }
    return Chassis(**{**car, **changes})


def axle_kinds() -> st.SearchStrategy[AxleKind]:
    return st.sampled_from(["solid", "independent"])


@st.composite
def chassis(draw: st.DrawFn, /, **changes: Any) -> Chassis:
    """Any plausible car: solid or independent axles, everything unequal."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    kinds = {"front_axle": draw(axle_kinds()), "rear_axle": draw(axle_kinds())}
    return random_chassis(rng, **{**kinds, **changes})


def scale_readings(low: float = 1.0, high: float = 300.0) -> st.SearchStrategy[Corners]:
    """Four loads in kg."""
    return st.builds(Corners, *[st.floats(low, high)] * 4)
