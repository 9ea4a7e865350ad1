"""The catalogue of steps and measures: the file, and the tables made from it."""

from decimal import Decimal

import pytest
from django.db import ProgrammingError, transaction

from cars.catalogue.queries import catalogue
from cars.catalogue.sync import read_catalogue, sync_catalogue
from cars.models import Measure, Reading, Step
from cars.models.catalogue import Spot, Taken
from cars.sheets.actions.readings import take_typed
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from tests.cars.filling import everything
from tests.cars.garage import Garage
from tests.people import People

STEPS, MEASURES = read_catalogue()
IN_ORDER = [
    *("tyres", "springs-dampers", "rear-axle", "front-axle", "kingpin", "steering", "lead"),
    *("ride-heights", "scales", "ballast", "gearing", "last-check"),
]


def test_the_twelve_steps_in_their_order() -> None:
    assert [step.pk for step in STEPS] == IN_ORDER
    for step in STEPS:
        assert step.why_here
        assert step.caution
        assert set(step.makes_stale) <= set(IN_ORDER)


def test_a_change_never_makes_an_earlier_step_stale_but_for_heights_and_what_lead_turns() -> None:
    order = {step.pk: step.order for step in STEPS}
    backwards = {
        (step.pk, stale)
        for step in STEPS
        for stale in step.makes_stale
        if order[stale] < step.order
    }
    # Spring seats and ballast move the heights; turning the axle for lead moves the toe.
    assert backwards == {
        ("scales", "ride-heights"),
        ("ballast", "ride-heights"),
        ("ballast", "scales"),
        ("lead", "steering"),
    }


@pytest.mark.parametrize("measure", MEASURES, ids=lambda m: m.pk)
def test_every_measure_says_where_how_and_within_what(measure: Measure) -> None:
    assert len(measure.where) > 10
    assert set(measure.spots) <= set(Spot.values)
    assert len(measure.spots) == len(set(measure.spots))
    if measure.taken in (Taken.QUANTITY, Taken.DERIVED):
        assert Kind(measure.kind)
        assert len(measure.more_less) == 2
    else:
        assert measure.kind == ""
    if measure.taken == Taken.QUANTITY:
        assert measure.low is not None
        assert measure.high is not None
        assert measure.low < measure.high
        if measure.kind == Kind.COUNT:
            assert measure.tool_resolution is None
        else:
            assert measure.tool_resolution is not None
            assert 0 < measure.tool_resolution < measure.high - measure.low


def test_a_full_sheet_has_about_eighty_boxes_to_fill() -> None:
    filled = everything({measure.pk: measure for measure in MEASURES})
    assert 75 <= len(filled) <= 90


@pytest.mark.django_db
def test_the_tables_say_what_the_file_says() -> None:
    known = catalogue()
    assert [step.pk for step in known.steps] == IN_ORDER
    assert list(known.measures) == [measure.pk for measure in MEASURES]
    height = known.measures["ride-height"]
    assert height.tool_resolution == Decimal("1.5875")
    assert height.step.name == "Ride heights"
    assert [m.pk for m in known.of_step(known.steps[6])] == [
        "wheelbase", "lead", "hand-angle", "track-width",
    ]  # fmt: skip


@pytest.mark.django_db
def test_the_app_may_read_the_catalogue_and_no_more() -> None:
    for write in (
        lambda: Step.objects.update(name="x"),
        lambda: Measure.objects.filter(pk="toe").delete(),
        lambda: Step.objects.create(slug="x", order=99, name="x", why_here="x"),
    ):
        with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
            write()


@pytest.mark.django_db(databases=["default", "owner"])
def test_syncing_again_writes_nothing_and_mends_what_was_changed() -> None:
    assert sync_catalogue() is False
    Measure.objects.using("owner").filter(pk="toe").update(name="Something else")
    Step.objects.using("owner").filter(pk="tyres").update(order=77)
    assert sync_catalogue() is True
    assert Measure.objects.using("owner").get(pk="toe").name == "Toe"
    assert [s.pk for s in Step.objects.using("owner").all()] == IN_ORDER
    assert sync_catalogue() is False


def test_all_of_it_can_be_taken(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        typed = everything(Measure.objects.in_bulk())
        made = take_typed(by=people.crew, sheet=sheet, typed=typed)
        assert len(made) == len(typed) == Reading.objects.filter(sheet=sheet).count()
