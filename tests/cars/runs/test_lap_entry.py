"""Lap times as people write them, and what is none."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.figures.lap_entry import LapsRefusedError, read_laps


def laps(*seconds: str) -> list[Decimal]:
    return [Decimal(each) for each in seconds]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("7.41 7.52 7,48", laps("7.41", "7.52", "7.48")),
        ("0:07.41\n0:07.52", laps("7.41", "7.52")),
        ("7.41, 7.52, 7.48", laps("7.41", "7.52", "7.48")),
        ("7.41,7.52", laps("7.41", "7.52")),
        ("7,41; 7,52", laps("7.41", "7.52")),
        ("1\t7.41\n2\t7.52\n3\t8", laps("7.41", "7.52", "8")),
        ("1. 7.41\n2. 7.52", laps("7.41", "7.52")),
        ("1:02.5", laps("62.5")),
        ("7.4123s", laps("7.412")),
        ("7.41\u00a07.52", laps("7.41", "7.52")),
        ("12 13\n14", laps("12", "13", "14")),
        ("7 8\n9 8", laps("7", "8", "9", "8")),
        ("\n \n", []),
        ("7.41 7.41 7.41 7.41", laps(*["7.41"] * 4)),
    ],
)
def test_as_people_write_them(text: str, wanted: list[Decimal]) -> None:
    assert read_laps(text) == wanted


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("7.41\nseven", "Row 2: seven is no lap time"),
        ("7.41 0", "Row 1: 0: no lap takes no time"),
        ("-7.41", "Row 1: -7.41 is no lap time"),
        ("600", "no lap takes ten minutes"),
        ("10:00.00", "no lap takes ten minutes"),
        ("1:61", "60 seconds or more"),
        ("1 7.41\n2 7.52\n7.48\n4 7.5", "Row 3: the other rows hold a lap's number and its time"),
        ("1 7.41\n2 7.52\n3 7.48 7.5", "Row 3: the other rows"),
        ("7.41 7.52 7.48\n7.41 7.52 7.48", "Laps 4 to 6 are laps 1 to 3 again"),
        ("7,41,7,52", "is no lap time"),
        ("7.41 " * 501, "These are 501 laps"),
    ],
)
def test_what_is_none_is_named_with_its_row(text: str, says: str) -> None:
    with pytest.raises(LapsRefusedError) as refused:
        read_laps(text)
    assert says in str(refused.value)


def test_of_many_rows_that_are_wrong_a_few_are_said() -> None:
    with pytest.raises(LapsRefusedError) as refused:
        read_laps("\n".join(["x"] * 9))
    assert len(refused.value.problems) == 9
    assert str(refused.value).endswith("And 4 more.")


@given(
    st.lists(st.decimals("0.01", "599.99", places=2), min_size=1, max_size=40, unique=True),
    st.sampled_from(["\n", " ", "; ", "\t", ", "]),
)
def test_what_is_written_is_read_again(times: list[Decimal], between: str) -> None:
    assert read_laps(between.join(str(each) for each in times)) == times


@given(st.text(max_size=60))
def test_nothing_breaks_it(text: str) -> None:
    try:
        read = read_laps(text)
    except LapsRefusedError:
        return
    assert all(0 < each < 600 for each in read)
