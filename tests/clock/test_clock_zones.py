"""What is a time zone, and which are offered."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.clock.zones import one_zone, unknown_zone, zone_names, zones_by_area

WINTER = datetime(2026, 1, 15, tzinfo=UTC)


@pytest.mark.parametrize("name", ["UTC", "America/Chicago", "Europe/Berlin", "US/Central"])
def test_a_name_of_the_database_is_a_zone(name: str) -> None:
    assert unknown_zone(name) == ""


@pytest.mark.parametrize(
    "name",
    [
        "",
        "Chicago",
        "CST",
        "UTC+6",
        "america/chicago",
        "../../etc/passwd",
        "/etc/localtime",
        "a\0b",
    ],
)
def test_anything_else_is_told_what_to_write(name: str) -> None:
    assert "Choose one such as America/Chicago" in unknown_zone(name)


def test_every_zone_can_be_used() -> None:
    for name in zone_names():
        assert str(ZoneInfo(name)) == name


def test_zones_are_offered_by_area_with_what_their_clocks_are_called() -> None:
    offered = dict(zones_by_area(WINTER))
    assert next(iter(offered)) == "America"
    assert ("America/Chicago", "Chicago, CST (UTC-06:00)") in offered["America"]
    assert ("America/New_York", "New York, EST (UTC-05:00)") in offered["America"]
    assert ("America/Indiana/Knox", "Indiana, Knox, CST (UTC-06:00)") in offered["America"]
    assert ("Asia/Kolkata", "Kolkata, IST (UTC+05:30)") in offered["Asia"]
    assert offered["Everywhere"] == [("UTC", "UTC")]


def test_an_older_spelling_is_offered_to_the_club_that_has_it() -> None:
    def names(also: str) -> set[str]:
        return {name for _, zones in zones_by_area(WINTER, also) for name, _ in zones}

    assert "US/Central" not in names("")
    assert "US/Central" in names("US/Central")
    assert names("No/Where") == names("")


@given(st.lists(st.sampled_from(["America/Chicago", "America/Denver", "UTC"]), max_size=4))
def test_a_zone_is_agreed_on_only_where_there_is_one(names: list[str]) -> None:
    agreed = one_zone(names)
    assert (str(agreed) if agreed else None) == (names[0] if len(set(names)) == 1 else None)
