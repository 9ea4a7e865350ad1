"""A car carried as numbers says what the calibration itself says."""

import json
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cars.catalogue.keys import Key
from cars.figures.geometry import mechanics_of
from cars.mechanics import (
    BadInput,
    Calibrated,
    Corners,
    Noise,
    Observation,
    calibrate,
    response,
    shares,
)
from cars.mechanics.linear_response import LinearResponse, linear_response
from cars.mechanics.observations import difference_covariance
from cars.mechanics.turnplan import Room
from cars.plans.presenters.display_context import PlanDisplayContext, plan_display_context
from cars.plans.queries.turns import turn_table
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import GEOMETRY
from tests.cars.plans.evening import STARTED, Evening
from tests.examples import examples
from tests.people import People

NOISE = Noise(pad=0.07, tape=0.46, level=0.3, total=0.3, shift=300.0)
LOADS, HEIGHTS = STARTED


def learned() -> Calibrated:
    chassis = mechanics_of(GEOMETRY)
    assert chassis is not None
    after = Corners(35.2, 29.9, 40.8, 34.1)
    seen = Observation(Corners(1, 0, 0, 0.5), NOISE, LOADS, after)
    return calibrate(chassis, [seen])


CAR = learned()
LINEAR = linear_response(CAR, LOADS, HEIGHTS, noise=NOISE, room=Room.same(6.0))
TURN = st.floats(-6, 6).map(lambda turns: round(turns * 4) / 4)


@settings(deadline=None, max_examples=examples(60), suppress_health_check=[HealthCheck.too_slow])
@given(st.tuples(TURN, TURN, TURN, TURN))
def test_it_agrees_with_the_calibration_for_any_turns(turned: tuple[float, ...]) -> None:
    turns = Corners.of(turned)
    what, change = LINEAR.predict(turns), CAR.change(turns)
    cross = CAR.cross_change(turns, LOADS, NOISE)
    weighings = difference_covariance(response(CAR.chassis), NOISE).diagonal()
    for place in range(4):
        assert what.loads[place] == pytest.approx(LOADS[place] + change.loads[place])
        assert what.heights is not None
        assert what.heights[place] == pytest.approx(HEIGHTS[place] + change.heights[place])
        u = math.hypot(change.u_loads[place], math.sqrt(weighings[place]))
        assert what.u_loads[place] == pytest.approx(u, rel=1e-6)
        u = math.hypot(change.u_heights[place], math.sqrt(weighings[4 + place]))
        assert what.u_heights[place] == pytest.approx(u, rel=1e-6)
    assert what.cross == pytest.approx(shares(LOADS).cross + cross.change)
    assert what.u_cross == pytest.approx(cross.u_reading, rel=1e-6)


def test_turns_leave_the_total_and_shares_add_up() -> None:
    what = LINEAR.predict(Corners(1, -0.5, 0.25, 2))
    assert sum(what.loads) == pytest.approx(sum(LOADS))
    assert what.left == pytest.approx(shares(what.loads).left)
    assert what.cross == pytest.approx(shares(what.loads).cross)


def test_it_survives_the_way_there_and_back() -> None:
    back = LinearResponse.of_plain(json.loads(json.dumps(LINEAR.plain)))
    turns = Corners(1.25, -0.5, 0, 3)
    there, here = back.predict(turns), LINEAR.predict(turns)
    assert there.loads == pytest.approx(here.loads, rel=1e-6)
    assert there.u_heights == pytest.approx(here.u_heights, rel=1e-6)
    assert there.u_cross == pytest.approx(here.u_cross, rel=1e-5)


def test_without_heights_none_are_predicted() -> None:
    bare = linear_response(CAR, LOADS, None, noise=NOISE, room=Room.same(6.0))
    assert bare.predict(Corners(1, 0, 0, 0)).heights is None
    assert LinearResponse.of_plain(bare.plain).heights is None


def test_what_no_seat_does_is_refused_and_what_it_has_no_thread_for_said() -> None:
    for turns in (Corners(math.nan, 0, 0, 0), Corners(0, math.inf, 0, 0), Corners(0, 0, 1e6, 0)):
        with pytest.raises(BadInput):
            LINEAR.predict(turns)
    assert LINEAR.predict(Corners(6, -6, 0, 0)).beyond == ()
    assert LINEAR.predict(Corners(6.25, -6.25, 0, 0)).beyond == ("LF", "RF")
    assert LINEAR.predict(Corners(40, -40, -40, 40)).lifted == ("RF", "LR")


def test_what_figures_are_shown_against_survives_too(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        frame = plan_display_context(turn_table(evening.sheet, people.chief, cross=54.0))
    back = PlanDisplayContext.of_plain(json.loads(json.dumps(frame.plain)))
    assert back.units == frame.units
    assert back.standards == frame.standards
    assert back.standing == frame.standing
    assert len(back.standing) == 11
    assert back.standards[Key("cross", "car")].target == 54
    for slug, measure in frame.measures.items():
        assert back.measures[slug].kind == measure.kind
        assert back.measures[slug].more_less == measure.more_less
