"""Lap times as people type and paste them."""

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.figures.lap_entry import LapEntryError, read_laps


def seconds(*times: str) -> tuple[Decimal, ...]:
    return tuple(map(Decimal, times))


@pytest.mark.parametrize(
    ("text", "times"),
    [
        ("7.41 7.52 7,48", ("7.41", "7.52", "7.48")),
        ("0:07.41", ("7.41",)),
        ("1:02.35 0:59,999", ("62.35", "59.999")),
        ("10:00", ("600",)),
        ("600", ("600",)),
        ("7.41\n7.52\r\n\n 7.48 \n", ("7.41", "7.52", "7.48")),
        ("7.41, 7.52, 7.48", ("7.41", "7.52", "7.48")),
        ("7.41,7.52,7.480,7.5,8", ("7.41", "7.52", "7.480", "7.5", "8")),
        ("7,41; 7,52;7,48", ("7.41", "7.52", "7.48")),
        ("7,41, 7,52,", ("7.41", "7.52")),
        ("7.41\t7.52|8", ("7.41", "7.52", "8")),
        ("7.", ("7",)),
        ("1 7.41\n2 7.52\n3 7.48", ("7.41", "7.52", "7.48")),
        ("1. 7.41\n2) 7.52", ("7.41", "7.52")),
        ("1 7.41", ("1", "7.41")),
        ("1 7.41\n3 7.52", ("1", "7.41", "3", "7.52")),
        ("1 7.41\n2 7.52 7.6", ("1", "7.41", "2", "7.52", "7.6")),
        ("0.001", ("0.001",)),
    ],
)
def test_as_people_write_them(text: str, times: tuple[str, ...]) -> None:
    assert read_laps(text) == seconds(*times)


@pytest.mark.parametrize(
    ("text", "row", "message"),
    [
        ("", 1, "Nothing is written here. Write the lap times, as in 7.41 7.52 7.48."),
        (" \n\n", 1, "Nothing is written here. Write the lap times, as in 7.41 7.52 7.48."),
        ("7.41\n7.5x", 2, "7.5x is not a lap time. Write it as 7.41 or 1:02.35."),
        ("7.41\n\nspin 7.5", 3, "spin is not a lap time. Write it as 7.41 or 1:02.35."),
        ("7.41 0", 1, "0 is zero, and no lap is."),
        ("0:00.00", 1, "0:00.00 is zero, and no lap is."),
        ("-7.41", 1, "-7.41 is below zero, and no lap is."),
        ("−7.41", 1, "-7.41 is below zero, and no lap is."),
        ("600.001", 1, "600.001 is over ten minutes. Write the time of one lap."),
        ("10:00.01", 1, "10:00.01 is over ten minutes. Write the time of one lap."),
        ("0:60", 1, "0:60 has 60 seconds or more beside its minutes."),
        ("7.4123", 1, "7.4123 has more digits than a lap is timed to. Write 7.412."),
        ("7.4.1", 1, "7.4.1 is not a lap time. Write it as 7.41 or 1:02.35."),
        ("٧.٤١", 1, "٧.٤١ is not a lap time. Write it as 7.41 or 1:02.35."),
        ("7,48,7,52", 1, "7,48,7,52 is not a lap time. Write it as 7.41 or 1:02.35."),
        ("1:02:03", 1, "1:02:03 is not a lap time. Write it as 7.41 or 1:02.35."),
    ],
)
def test_what_is_refused_is_named_with_its_row(text: str, row: int, message: str) -> None:
    with pytest.raises(LapEntryError) as caught:
        read_laps(text)
    (problem,) = caught.value.problems
    assert (problem.row, problem.message) == (row, message)
    assert str(caught.value) == f"Row {row}: {message}"
    assert caught.value.text == text


def test_five_hundred_laps_and_no_more() -> None:
    assert len(read_laps("7.5\n" * 500)) == 500
    with pytest.raises(LapEntryError) as caught:
        read_laps("7.5\n" * 502)
    (problem,) = caught.value.problems
    assert str(problem) == (
        "Row 501: With this row there are over 500 laps. Write one run at a time."
    )


def test_all_rows_are_named_and_the_first_are_told() -> None:
    with pytest.raises(LapEntryError) as caught:
        read_laps("x\n" * 7)
    assert [problem.row for problem in caught.value.problems] == [1, 2, 3, 4, 5, 6, 7]
    assert str(caught.value).endswith(
        "Row 5: " + caught.value.problems[4].message + (" And 2 more like these.")
    )
    with pytest.raises(LapEntryError) as caught:
        read_laps("x\n" * 5)
    assert "more like these" not in str(caught.value)


def test_a_text_without_end_is_refused() -> None:
    with pytest.raises(LapEntryError, match="Row 1: This is too long for the laps of one run"):
        read_laps("7.5 " * 5001)
    with pytest.raises(LapEntryError, match="over 500 laps"):
        read_laps("7.5 " * 5000)


@given(st.lists(st.integers(1, 600_000), min_size=1, max_size=30), st.sampled_from(" \n\t;"))
def test_what_is_written_comes_back(thousandths: list[int], between: str) -> None:
    times = [Decimal(number) / 1000 for number in thousandths]
    assert read_laps(between.join(f"{time:.3f}" for time in times)) == tuple(times)
    minutes = [f"{time // 60}:{time % 60:06.3f}".replace(".", ",") for time in times]
    assert read_laps(between.join(minutes)) == tuple(times)


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(LapEntryError):
        assert all(0 < time <= 600 for time in read_laps(text))
