"""The class's published minimum stands where a team plans its ballast."""

from datetime import date
from decimal import Decimal

from cars.plans.queries.class_limits import class_limit
from clubsetup.access.viewer import viewing_as
from events.actions.entries import withdraw_entry
from events.models import RuleSet
from tests.events.meeting import Meeting, publish_rules

LATER = [
    ("minimum_weight", {"minimum": "150", "with_driver": True}),
    ("minimum_weight", {"minimum": "155", "with_driver": True, "stage": "after"}),
    ("minimum_weight", {"minimum": "170", "with_driver": False}),
]


def later_rules(meeting: Meeting) -> RuleSet:
    return publish_rules(meeting.people, meeting.race_class, LATER, valid_from=date(2026, 2, 1))


def test_an_entered_car_is_held_to_what_its_event_froze(meeting: Meeting) -> None:
    later_rules(meeting)
    with viewing_as(meeting.people.chief.pk):
        limit = class_limit(meeting.car)
    assert limit is not None
    assert limit.minimum == Decimal("145.1495584")
    assert "June Meeting" in limit.words


def test_else_the_largest_minimum_with_the_driver_of_its_class(meeting: Meeting) -> None:
    made, by = later_rules(meeting), meeting.people.chief
    with viewing_as(by.pk):
        withdraw_entry(by=by, entry=meeting.entry)
        meeting.car.race_class = meeting.race_class
        limit = class_limit(meeting.car)
    assert limit is not None
    assert limit.minimum == Decimal(155)
    assert str(made) in limit.words


def test_nothing_is_known_of_a_car_without_class_or_entry(meeting: Meeting) -> None:
    by = meeting.people.chief
    with viewing_as(by.pk):
        withdraw_entry(by=by, entry=meeting.entry)
        meeting.car.race_class = None
        assert class_limit(meeting.car) is None


def test_the_least_of_the_largest_pieces_holds_too(meeting: Meeting) -> None:
    by = meeting.people.chief
    publish_rules(
        meeting.people,
        meeting.race_class,
        [("ballast_largest_piece", {"at_most": "5"}), ("ballast_marked", {})],
        valid_from=date(2026, 2, 1),
    )
    with viewing_as(by.pk):
        withdraw_entry(by=by, entry=meeting.entry)
        meeting.car.race_class = meeting.race_class
        limit = class_limit(meeting.car)
    assert limit is not None
    assert (limit.minimum, limit.largest_piece) == (None, Decimal(5))
    assert limit.words == ""


def test_a_minimum_with_the_tank_empty_is_not_for_the_car_as_raced(meeting: Meeting) -> None:
    by = meeting.people.chief
    publish_rules(
        meeting.people,
        meeting.race_class,
        [("minimum_weight", {"minimum": "150", "fuel": "tank_empty"})],
        valid_from=date(2026, 2, 1),
    )
    with viewing_as(by.pk):
        withdraw_entry(by=by, entry=meeting.entry)
        meeting.car.race_class = meeting.race_class
        assert class_limit(meeting.car) is None
