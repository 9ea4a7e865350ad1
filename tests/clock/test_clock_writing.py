"""Days and times are written in one way."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.clock import writing

CHICAGO = ZoneInfo("America/Chicago")
EVENING = datetime(2026, 11, 6, 1, 4, 31, tzinfo=UTC).astimezone(CHICAGO)
# The clocks go back at two: half past one comes twice.
FIRST = datetime(2026, 11, 1, 6, 30, tzinfo=UTC).astimezone(CHICAGO)
SECOND = datetime(2026, 11, 1, 7, 30, tzinfo=UTC).astimezone(CHICAGO)


@pytest.mark.parametrize(
    ("write", "words"),
    [
        (writing.day, "5 Nov 2026"),
        (writing.short_day, "5 Nov"),
        (writing.month, "Nov 2026"),
        (writing.minute, "5 Nov 2026 19:04"),
        (writing.clock, "19:04 CST"),
        (writing.stamp, "5 Nov 2026 19:04:31 CST"),
    ],
)
def test_each_way_of_writing(write: object, words: str) -> None:
    assert write(EVENING) == words  # type: ignore[operator]


def test_a_day_is_written_without_a_zero() -> None:
    assert writing.day(date(2026, 3, 1)) == "1 Mar 2026"


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    assert writing.stamp(FIRST) == "1 Nov 2026 01:30:00 CDT"
    assert writing.stamp(SECOND) == "1 Nov 2026 01:30:00 CST"


def test_under_a_named_zone_only_a_time_of_another_names_its_own() -> None:
    assert writing.second_in_zone_of(SECOND, EVENING) == "1 Nov 2026 01:30:00"
    assert writing.second_in_zone_of(FIRST, EVENING) == "1 Nov 2026 01:30:00 CDT"


def test_a_zone_without_a_name_for_its_clocks_says_its_distance() -> None:
    there = EVENING.astimezone(ZoneInfo("America/Sao_Paulo"))
    assert writing.stamp(there) == "5 Nov 2026 22:04:31 UTC-03"


@given(st.datetimes(datetime(2000, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC)))
def test_two_moments_of_a_zone_are_never_written_alike(moment: datetime) -> None:
    moment = moment.replace(microsecond=0)
    here = moment.astimezone(CHICAGO)
    for later in (timedelta(seconds=1), timedelta(hours=1)):
        then = (moment + later).astimezone(CHICAGO)
        assert writing.stamp(here) != writing.stamp(then)
        assert writing.second_in_zone_of(here, EVENING) != writing.second_in_zone_of(then, EVENING)
