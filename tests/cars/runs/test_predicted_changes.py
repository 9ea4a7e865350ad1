"""What one more change would make of a car: each adjuster, against the mechanics directly."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from cars.baselines.actions.mounts import add_mount
from cars.catalogue.adjusters import ADJUSTERS
from cars.catalogue.keys import Key
from cars.figures.geometry import mechanics_of
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.parts import add_part
from cars.mechanics import CORNER_NAMES, Corners, response, shares
from cars.mechanics.linear_response import linear_response
from cars.mechanics.turning import hand_angle
from cars.models import BallastPiece, Chassis
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.queries.car_now import car_now
from cars.runs.queries.car_to_change import CarToChange
from cars.runs.queries.predicted_changes import PredictedChange, is_known, predict_change
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from tests.cars.garage import GEOMETRY
from tests.cars.plans.evening import Evening
from tests.cars.runs.trying import change, made
from tests.people import People

CROSS = Key("cross", "car")
INCH = Decimal("25.4")
TYRES = {
    "pressure.LF": "9",
    "pressure.RF": "14",
    "pressure.LR": "8",
    "pressure.RR": "12",
    "circumference.LF": "33 1/2",
    "circumference.RF": "34",
    "circumference.LR": "33 3/4",
    "circumference.RR": "35 3/4",
}
AXLES = {
    "wheelbase.left": "46 1/4",
    "wheelbase.right": "46 3/4",
    "front-lateral.front": "10 1/2",
    "toe.front": "1/16",
    "caster.left": "8",
    "camber.right": "-3",
    "track-width.rear": "34",
}


def car(evening: Evening, corner: float | None = None) -> CarToChange:
    now = car_now(evening.garage.car, evening.by)
    assert now is not None
    return CarToChange(now, corner)


def asked(evening: Evening, text: str, corner: float | None = None) -> PredictedChange:
    return predict_change(car(evening, corner), change(text))


def moved(predicted: PredictedChange, name: str) -> tuple[float, float]:
    """Before and after."""
    box = predicted.moved[Key.of(name)]
    return float(box.was), float(box.value)


def test_every_adjuster_is_told_in_figures_or_says_why_not(evening: Evening) -> None:
    for slug, adjuster in ADJUSTERS.items():
        assert is_known(slug), slug
        units = adjuster.units or ("set",)
        with viewing_as(evening.by.pk):
            told = asked(evening, f"{slug} {adjuster.spots[0]} 0.5 {units[0]}")
            assert told.moved or told.missing, slug


def test_a_seat_is_what_the_linear_response_says_with_its_doubt(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        one = car(evening)
        table = one.now.table
        assert table.calibrated is not None
        assert table.loads is not None
        linear = linear_response(
            table.calibrated, table.loads, table.heights, noise=table.noise, room=table.room
        )
        what = linear.predict(Corners(0.0, 0.5, 0.0, 0.0))
        told = predict_change(one, change("spring-seat RF 0.5 turn"))
    cross = told.moved[CROSS]
    assert float(cross.value) == pytest.approx(100 * what.cross)
    assert float(cross.u) == pytest.approx(100 * what.u_cross)
    assert float(cross.was) == pytest.approx(100 * shares(table.loads).cross)
    assert what.heights is not None
    for place, corner in enumerate(CORNER_NAMES):
        assert moved(told, f"ride-height.{corner}")[1] == pytest.approx(what.heights[place])
        assert moved(told, f"weight.{corner}")[1] == pytest.approx(what.loads[place])
    assert not told.missing
    assert not told.refused


def test_it_comes_on_top_of_what_was_changed_since(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        at_once = asked(evening, "spring-seat RF 0.75 turn")
        made(evening.by, evening.sheet, "spring-seat RF 0.5 turn")
        one = car(evening)
        told = predict_change(one, change("spring-seat RF 0.25 turn"))
        was = one.now.expected[CROSS].value
    assert told.moved[CROSS].was == was
    assert told.moved[CROSS].value == at_once.moved[CROSS].value
    assert told.moved[CROSS].u == at_once.moved[CROSS].u


def test_what_was_weighed_again_is_where_it_starts(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        made(evening.by, evening.sheet, "spring-seat RF 0.5 turn")
        read = {Key("weight", corner): parse("80 lb", Kind.MASS) for corner in CORNER_NAMES}
        take_track_readings(by=evening.by, sheet=evening.sheet, readings=read)
        told = asked(evening, "spring-seat RF 0.5 turn")
        whole = asked(evening, "spring-seat RF 1 turn")
    assert moved(told, "cross.car")[0] == pytest.approx(50.0)
    # Heights were not read again: they go on from the sheet's, with both turns.
    assert moved(told, "ride-height.RF")[1] < moved(whole, "ride-height.RF")[1]


def test_what_unsettles_the_weights_asks_for_them_again(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take(TYRES)
        made(evening.by, evening.sheet, "gearing car 1 tooth")
        assert asked(evening, "spring-seat RF 0.5 turn").moved
        made(evening.by, evening.sheet, "stagger rear 0.25 in")
        told = asked(evening, "spring-seat RF 0.5 turn")
        assert told.moved == {}
        assert "weigh the car again" in told.missing


def test_without_geometry_or_weights_it_says_what_is_missing(
    evening: Evening, people: People
) -> None:
    with viewing_as(people.steward.pk):
        Chassis.objects.filter(pk=evening.garage.chassis.pk).update(geometry={})
    with viewing_as(evening.by.pk):
        evening.take(TYRES)
        told = asked(evening, "spring-seat RF 0.5 turn")
        assert told.moved == {}
        assert "no geometry yet" in told.missing
        # What needs none is told all the same.
        assert moved(asked(evening, "stagger rear 0.25 in"), "stagger.rear")[1] > 0


def test_a_seat_without_thread_and_a_wheel_in_the_air_are_refused(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take({"seat-thread.RF": "1/16"})
        assert "thread" in asked(evening, "spring-seat RF -3 turn").refused
        evening.take({"weight.LF": "10"})
        made(evening.by, evening.sheet, "spring-seat LR 6 turn")
        assert "LF would come off" in asked(evening, "spring-seat LR 4 turn").refused


@pytest.mark.parametrize(
    ("text", "box", "by"),
    [
        ("pressure RF -1 psi", "pressure.RF", Decimal("-6.894757293")),
        ("lead rear 0.125 in", "lead.car", INCH / 8),
        ("side-to-side front 0.125 in", "front-lateral.front", INCH / 8),
        ("toe front -0.0625 in", "toe.front", -INCH / 16),
        ("caster left 0.5 deg", "caster.left", Decimal("0.5")),
        ("camber right -0.5 deg", "camber.right", Decimal("-0.5")),
        ("stagger rear 0.25 in", "stagger.rear", INCH / 4),
        ("wheel-spacer RR 0.25 in", "track-width.rear", INCH / 4),
    ],
)
def test_what_is_read_there_moves_by_the_amount(
    evening: Evening, text: str, box: str, by: Decimal
) -> None:
    with viewing_as(evening.by.pk):
        evening.take({**TYRES, **AXLES})
        told = asked(evening, text)
        was, value = moved(told, box)
        assert value - was == pytest.approx(float(by), abs=1e-6)
        assert ("cross" in told.again) == (not text.startswith("toe"))


def test_lead_says_what_is_left_to_steer(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take(AXLES)
        told = asked(evening, "lead rear 0.125 in", corner=14_000.0)
        unknown = asked(evening, "lead rear 0.125 in")
        chassis, _ = car(evening).now.table.on_sheet.chassis
    assert told.wheels is not None
    assert chassis is not None
    assert told.wheels.was == pytest.approx(hand_angle(chassis, 14_000.0, 12.7, 1.0))
    assert told.wheels.then == pytest.approx(hand_angle(chassis, 14_000.0, 15.875, 1.0))
    assert abs(told.wheels.then) < abs(told.wheels.was)
    assert "radius" in unknown.missing


def test_stagger_is_made_of_the_teams_own_tyre_where_one_is_near(
    evening: Evening, people: People
) -> None:
    by = evening.by
    with viewing_as(by.pk):
        tyre = add_part(by=by, team=people.team, sort="tyre", code="T7")
        fit_part(by=by, sheet=evening.sheet, sort="tyre", spot="RR", part=tyre, seen=OVER_ANYTHING)
        evening.take({"circumference.RR": "36 1/16"})
        # The car stands on the sheet that was opened last, on other tyres.
        newest = evening.garage.sheet(by, "set")
        replace(evening, sheet=newest).take(TYRES)
        told = asked(evening, "stagger rear 0.25 in")
        other_way = asked(evening, "stagger rear -0.5 in")
    assert told.tyre is not None
    assert (told.tyre.code, told.tyre.spot) == ("T7", "RR")
    assert moved(told, "circumference.RR")[1] == pytest.approx(36.0625 * 25.4)
    assert moved(told, "stagger.rear")[1] == pytest.approx((36.0625 - 33.75) * 25.4)
    assert other_way.tyre is None
    assert moved(other_way, "stagger.rear")[1] == pytest.approx(1.5 * 25.4)


def test_a_spring_is_the_nearest_that_the_team_has(evening: Evening, people: People) -> None:
    with viewing_as(evening.by.pk):
        rate = GEOMETRY["spring_rate"][1]
        softer = add_part(
            by=evening.by,
            team=people.team,
            sort="spring",
            code="S1",
            rate=parse(f"{rate - 1.5} N/mm", Kind.SPRING_RATE),
        )
        told = asked(evening, "spring RF -10 lb/in")
        stiffer = asked(evening, "spring RF 10 lb/in")
    assert told.spring == softer
    assert moved(told, "spring-rate.RF") == pytest.approx((rate, rate - 1.5))
    assert "set them again" in told.missing
    assert stiffer.spring is None
    assert moved(stiffer, "spring-rate.RF")[1] == pytest.approx(rate + 1.75126835, abs=1e-6)


@pytest.fixture
def mounted(evening: Evening, people: People) -> BallastPiece:
    """Ten pounds at the nose, four on the shelf, and a mount behind."""
    by = people.steward
    with viewing_as(by.pk):
        nose, _ = (
            add_mount(
                by=by,
                chassis=evening.garage.chassis,
                name=name,
                x=parse(x, Kind.LENGTH),
                y=parse(y, Kind.LENGTH),
                capacity=parse("20 lb", Kind.MASS),
            )
            for name, x, y in (("nose", "40 in", "2 in"), ("tail", "-4 in", "-3 in"))
        )
    given: dict[str, Any] = {"by": evening.by, "team": people.team, "label": "7"}
    with viewing_as(evening.by.pk):
        add_ballast_piece(**given, marked_mass=parse("4 lb", Kind.MASS))
        return add_ballast_piece(
            **given, marked_mass=parse("10 lb", Kind.MASS), car=evening.garage.car, mount=nose
        )


def test_ballast_moved_along_the_car_moves_the_weight_by_its_moment(
    evening: Evening, mounted: BallastPiece
) -> None:
    with viewing_as(evening.by.pk):
        told = asked(evening, "ballast-forward car -4 in")
    chassis = mechanics_of(GEOMETRY)
    assert chassis is not None
    mass, back = float(mounted.marked_mass), 4 * 25.4
    front = sum(moved(told, f"weight.{c}")[1] - moved(told, f"weight.{c}")[0] for c in ("LF", "RF"))
    # The front axle is skewed by the lead, so that the moment is shared by two wheelbases.
    assert front == pytest.approx(-mass * back / chassis.wheelbase, rel=0.01)
    assert moved(told, "rear-share.car")[1] > moved(told, "rear-share.car")[0]
    assert moved(told, "total-weight.car")[1] == pytest.approx(moved(told, "total-weight.car")[0])


def test_ballast_put_on_is_a_piece_of_the_shelf_at_the_mount_that_way(
    evening: Evening, mounted: BallastPiece
) -> None:
    with viewing_as(evening.by.pk):
        one = car(evening)
        told = predict_change(one, change("ballast rear 5 lb"))
        calibrated = one.now.table.calibrated
        assert calibrated is not None
        per_kg = response(calibrated.chassis).loads_per_kg(-4 * 25.4, -3 * 25.4)
        off = predict_change(one, change("ballast front -10 lb"))
        none = predict_change(one, change("ballast rear 30 lb"))
    assert told.piece is not None
    assert told.pieces is not None
    assert (told.piece.place, len(told.pieces)) == ("tail", 2)
    mass = float(told.piece.piece.marked_mass)
    was, value = moved(told, "weight.RR")
    assert value - was == pytest.approx(mass * per_kg.rr)
    assert off.piece is not None
    assert off.piece.piece == mounted
    assert off.pieces == []
    assert moved(off, "total-weight.car")[1] < moved(off, "total-weight.car")[0]
    assert "room" in none.missing


def test_no_ballast_says_so(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        assert "No piece" in asked(evening, "ballast-forward car 1 in").missing
        assert "No mount" in asked(evening, "ballast rear 5 lb").missing


def test_camber_names_the_block_marks_of_this_car(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take({"camber.right": "-3", "block-marks.right": "2 / 1"})
        told = asked(evening, "camber right -0.5 deg")
        unknown = asked(evening, "camber left 0.5 deg")
    assert told.marks is not None or told.missing
    assert "take it first" in unknown.missing
