"""The car as it stands at the track: the sheet as set, and what was changed since."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.mechanics import Corners
from cars.models import ClosedFigures, Reading, Sheet, TrackChange, TrackReading
from cars.runs.actions.track_changes import note_track_change, put_back, take_back_track_change
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.queries.car_now import CarNow, car_now
from cars.runs.queries.track_changes import set_sheet_now
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from cars.sheets.queries.closed_figures import as_values, figures_by_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.people import People

CROSS = Key("cross", "car")


def seat(evening: Evening, spot: str, amount: str, **given: Any) -> TrackChange:
    return note_track_change(
        by=evening.by,
        sheet=evening.sheet,
        adjuster="spring-seat",
        spot=spot,
        amount=Decimal(amount),
        unit="turn",
        **given,
    )


def now(evening: Evening) -> CarNow:
    car = car_now(evening.garage.car, evening.by)
    assert car is not None
    return car


def close(evening: Evening) -> None:
    close_sheet(by=evening.by, sheet=evening.sheet)


def test_without_a_sheet_as_set_nothing_is_known_of_the_car(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        assert car_now(garage.car, people.chief) is None


def test_a_change_on_a_closed_sheet_is_noted_and_alters_nothing_on_it(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        close(evening)
        before = list(Reading.objects.values_list("pk", "value", "replaced_at"))
        seat(evening, "RF", "0.5")
        assert list(Reading.objects.values_list("pk", "value", "replaced_at")) == before
        assert Sheet.objects.get().state == Sheet.State.CLOSED
        assert [str(change) for change in now(evening).standing] == ["spring-seat RF 0.5000 turn"]


def test_what_is_expected_is_what_a_car_of_that_chassis_does(evening: Evening) -> None:
    """The true car has other springs than the page: the prediction is near, within its doubt."""
    with viewing_as(evening.by.pk):
        close(evening)
        was = float(evening.loads.rf + evening.loads.lr) / sum(evening.loads)
        seat(evening, "RF", "0.5")
        evening.turn(Corners(0.0, 0.5, 0.0, 0.0))
        really = 100 * (evening.loads.rf + evening.loads.lr) / sum(evening.loads)
        expected = now(evening).expected
        assert float(expected[CROSS].was) == pytest.approx(100 * was, abs=0.3)
        assert expected[CROSS].value > expected[CROSS].was
        assert abs(float(expected[CROSS].value) - really) < 3 * float(expected[CROSS].u)
        heights = expected[Key("ride-height", "RF")]
        assert abs(float(heights.value) - evening.heights.rf) < 3 * float(heights.u)


def test_putting_all_back_gives_the_car_of_the_sheet(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        close(evening)
        seat(evening, "RF", "0.5")
        seat(evening, "LR", "-0.25")
        put_back(by=evening.by, sheet=evening.sheet)
        car = now(evening)
        assert car.standing == []
        assert car.expected == {}
        assert len(car.changes) == 4
        assert [change.amount for change in car.changes[2:]] == [Decimal("0.25"), Decimal("-0.5")]


def test_one_is_put_back_once_however_many_ask(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        change = seat(evening, "RF", "0.5")
        seat(evening, "LR", "0.25")
        put_back(by=evening.by, sheet=evening.sheet, changes=[change.pk])
        assert [each.spot for each in now(evening).standing] == ["LR"]
        with pytest.raises(WrongState, match="put back already"):
            put_back(by=evening.by, sheet=evening.sheet, changes=[change.pk])
        put_back(by=evening.by, sheet=evening.sheet)
        with pytest.raises(WrongState, match="put back already"):
            put_back(by=evening.by, sheet=evening.sheet)


def test_what_was_never_made_is_taken_back_and_can_be_put_back_no_more(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        change = seat(evening, "RF", "0.5")
        take_back_track_change(by=evening.by, change=change)
        assert now(evening).changes == []
        with pytest.raises(WrongState, match="taken back already"):
            take_back_track_change(by=evening.by, change=change)


def test_what_puts_back_is_taken_back_before_what_it_puts_back(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        change = seat(evening, "RF", "0.5")
        (back,) = put_back(by=evening.by, sheet=evening.sheet)
        with pytest.raises(WrongState, match="take that back first"):
            take_back_track_change(by=evening.by, change=change)
        take_back_track_change(by=evening.by, change=back)
        assert [each.pk for each in now(evening).standing] == [change.pk]
        put_back(by=evening.by, sheet=evening.sheet)  # again, though it was once before
        assert now(evening).standing == []


def test_what_was_weighed_again_is_where_the_next_change_starts(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        close(evening)
        seat(evening, "RF", "0.5")
        heavy = {Key("weight", corner): parse("80 lb", Kind.MASS) for corner in ("LF", "RF", "LR")}
        heavy[Key("weight", "RR")] = parse("82 lb", Kind.MASS)
        take_track_readings(by=evening.by, sheet=evening.sheet, readings=heavy)
        car = now(evening)
        assert CROSS not in car.expected
        assert float(car.read[CROSS].value) == pytest.approx(100 * 160 / 322)
        assert Key("weight", "RF") not in car.due
        seat(evening, "RF", "0.25")
        again = now(evening)
        assert float(again.expected[CROSS].was) == pytest.approx(100 * 160 / 322, abs=1e-6)
        assert again.expected[CROSS].value > again.expected[CROSS].was
        assert again.read == {}


def test_a_rod_moves_what_nothing_but_reading_it_again_can_tell(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        note_track_change(
            by=evening.by,
            sheet=evening.sheet,
            adjuster="rear-rod-upper",
            spot="left",
            amount=Decimal(1),
            unit="turn",
        )
        seat(evening, "RF", "0.5")
        car = now(evening)
        assert Key("weight", "LF") in car.due
        assert "weigh the car again" in car.trouble
        assert car.figure(Key("weight", "LF")) is None


def test_a_pressure_is_what_it_was_and_so_much_more(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take({"pressure.LR": "10 psi"})
        note_track_change(
            by=evening.by,
            sheet=evening.sheet,
            adjuster="pressure",
            spot="LR",
            amount=Decimal("-1.5"),
            unit="psi",
        )
        expected = now(evening).expected[Key("pressure", "LR")]
        wanted = parse("8.5 psi", Kind.PRESSURE).value
        assert float(expected.value) == pytest.approx(float(wanted), abs=1e-4)


@pytest.mark.parametrize("amount", ["0", "0.00001", "41"])
def test_a_change_that_is_none_is_refused(evening: Evening, amount: str) -> None:
    with viewing_as(evening.by.pk), pytest.raises(Invalid) as refused:
        seat(evening, "RF", amount)
    assert refused.value.field == "amount"


def test_changes_rest_on_a_sheet_as_set_alone(
    garage: Garage, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.sheet = garage.sheet(people.chief, "found")
        with pytest.raises(WrongState, match="sheet as set"):
            seat(evening, "RF", "0.5")


def test_who_may_not_write_the_sheet_may_change_nothing_at_the_track(
    evening: Evening, people: People
) -> None:
    with viewing_as(evening.by.pk):
        change = seat(evening, "RF", "0.5")
    for person in (people.guest, people.coach):
        with viewing_as(person.pk), pytest.raises(NotAllowed):
            put_back(by=person, sheet=evening.sheet, changes=[change.pk])
    for person in (people.official, people.steward, people.rival, people.stranger):
        with viewing_as(person.pk):
            assert not TrackChange.objects.exists()
    with viewing_as(people.coach.pk):
        assert TrackChange.objects.count() == 1


def test_what_a_change_at_the_track_touched_is_no_drift(evening: Evening) -> None:
    """What is kept of the closed sheet loses the figures that were turned, and gets them back."""

    def kept() -> dict[str, float]:
        values: dict[str, float] = ClosedFigures.objects.get().values
        (sheet,) = Sheet.objects.all()
        assert values == as_values(figures_by_sheet([sheet], catalogue())[sheet.pk])
        return values

    with viewing_as(evening.by.pk):
        close(evening)
        assert "ride-height.RF" in kept()
        change = seat(evening, "RF", "0.5")
        assert "ride-height.RF" not in kept()
        assert "cross.car" not in kept()
        take_back_track_change(by=evening.by, change=change)
        assert "ride-height.RF" in kept()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"adjuster": "pressure", "unit": "turn"}, "unit"),
        ({"adjuster": "spring-seat", "unit": "flat"}, "unit"),
        ({"adjuster": "spring-seat", "spot": "front"}, "spot"),
        ({"adjuster": " pressure ", "unit": "psi", "spot": "car"}, "spot"),
        ({"made_at": datetime(2999, 1, 1, tzinfo=UTC)}, "made_at"),
    ],
)
def test_a_change_that_no_figure_can_be_worked_out_from_is_refused(
    evening: Evening, wrong: dict[str, Any], field: str
) -> None:
    """Kept, it would stand in the way of every look at the car from then on."""
    given = {"adjuster": "spring-seat", "spot": "RF", "unit": "turn", **wrong}
    with viewing_as(evening.by.pk):
        with pytest.raises(Invalid) as refused:
            note_track_change(by=evening.by, sheet=evening.sheet, amount=Decimal(1), **given)
        assert refused.value.field == field
        assert not TrackChange.objects.exists()


def test_nothing_is_read_at_the_track_on_a_car_as_found_or_in_time_to_come(
    garage: Garage, people: People, evening: Evening
) -> None:
    readings = {Key("pressure", "LF"): parse("9 psi", Kind.PRESSURE)}
    with viewing_as(people.chief.pk):
        found = garage.sheet(people.chief, "found")
        with pytest.raises(WrongState, match="sheet as set"):
            take_track_readings(by=people.chief, sheet=found, readings=readings)
        with pytest.raises(Invalid) as refused:
            take_track_readings(
                by=people.chief,
                sheet=evening.sheet,
                readings=readings,
                taken_at=timezone.now() + timedelta(hours=1),
            )
        assert refused.value.field == "taken_at"
        assert not TrackReading.objects.exists()


def test_a_car_that_went_to_another_team_does_not_stand_on_the_sheet_of_the_one_before(
    garage: Garage, people: People, evening: Evening
) -> None:
    """Not even for somebody who is in both teams: the sheet stays the other team's."""
    with viewing_as(people.chief.pk):
        garage.car.team = people.rival_team
        assert set_sheet_now(garage.car) is None
        assert car_now(garage.car, people.chief) is None


def test_a_corrected_sheet_keeps_what_was_changed_since(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        close(evening)
        first = seat(evening, "RF", "0.5")
        seat(evening, "LR", "0.25")
        evening.sheet = correct_sheet(by=evening.by, sheet=evening.sheet, reason="A slip.")
        assert [each.spot for each in now(evening).standing] == ["RF", "LR"]
        close(evening)

        def kept() -> bool:
            return "ride-height.RF" in ClosedFigures.objects.get(sheet=evening.sheet).values

        assert not kept()
        take_back_track_change(by=evening.by, change=first)
        put_back(by=evening.by, sheet=evening.sheet)
        assert now(evening).standing == []
        assert kept()
