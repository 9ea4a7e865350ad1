"""A rule calls a measure by the catalogue's name."""

from cars.models import Measure
from clubsetup.access.viewer import viewing_as
from events.queries.readings import lengths
from events.rules import KINDS
from events.rules.measure_names import headed
from events.rules.measured import OWN_BOUNDS
from tests.events.meeting import Meeting


def test_a_length_is_called_as_the_catalogue_calls_it(meeting: Meeting) -> None:
    with viewing_as(meeting.people.official.pk):
        called = {m.pk: m.name for m in lengths()}
    assert {slug: headed(slug, "") for slug in called} == called


def test_every_kind_with_a_measure_of_its_own_reads_it_where_the_catalogue_does(
    meeting: Meeting,
) -> None:
    with viewing_as(meeting.people.official.pk):
        spots = {m.pk: m.spots for m in lengths()}
    for measure in OWN_BOUNDS:
        (kind,) = [k for k in KINDS.values() if getattr(k, "measure", None) == measure]
        assert set(kind.parameters()["spot"].choices) == {"", *spots[measure]}


def test_the_example_speaks_of_a_measure_of_the_catalogue(meeting: Meeting) -> None:
    example = KINDS["required_reading"].example()
    with viewing_as(meeting.people.official.pk):
        measure = Measure.objects.get(pk=example.to_params()["measure"])
    assert example.words() == f"{measure.name} LR must be measured"
