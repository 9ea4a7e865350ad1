"""A rule calls a measure by the catalogue's name."""

from cars.models import Measure
from clubsetup.access.viewer import viewing_as
from events.rules import KINDS
from tests.events.meeting import Meeting


def test_the_example_speaks_of_a_measure_of_the_catalogue(meeting: Meeting) -> None:
    example = KINDS["required_reading"].example()
    with viewing_as(meeting.people.official.pk):
        measure = Measure.objects.get(pk=example.to_params()["measure"])
    assert example.words() == f"{measure.name} LR must be measured"
