"""The draw: what anybody gets who repeats it by hand."""

import hashlib
import subprocess
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.rules.draw import by_hand, drawn, ticket_hash, tickets

CARS = ["4", "12", "19", "27", "31", "31a"]


def test_the_hash_is_that_of_seed_colon_car() -> None:
    # Computed with sha256sum: printf %s 'three sixes:27' | sha256sum
    said = subprocess.run(
        ["sha256sum"], input=b"three sixes:27", capture_output=True, check=True
    ).stdout.split()[0]
    assert ticket_hash("three sixes", "27") == said.decode()


def test_the_order_is_that_of_the_hashes() -> None:
    by_hash = sorted(CARS, key=lambda car: hashlib.sha256(f"s:{car}".encode()).hexdigest())
    assert [ticket.car for ticket in tickets("s", CARS)] == by_hash
    assert drawn("s", CARS, 3) == by_hash[:3]


def test_it_does_not_depend_on_the_order_of_the_start_list() -> None:
    assert drawn("s", CARS, 6) == drawn("s", CARS[::-1], 6)


@pytest.mark.parametrize("count", [0, -1, 7])
def test_more_than_there_are_cannot_be_drawn(count: int) -> None:
    with pytest.raises(ValueError):
        drawn("s", CARS, count)


@pytest.mark.parametrize(
    "seed", ["three sixes", "it's 4", "$(echo no)", "a;b", "Ärger", '"', "%s", "\\n", "-n"]
)
def test_the_line_for_the_shell_prints_the_same_cars(seed: str) -> None:
    cars = ["Junior 4", "Junior 12", "Senior 4", "x'y", "$A", "31"]
    said = subprocess.run(
        ["sh", "-c", by_hand(seed, cars, 4)], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert [line.split(" ", 1)[1] for line in said] == drawn(seed, cars, 4)


def test_every_car_has_the_same_chance() -> None:
    # 3,000 seeds, one of six: 500 each, s = 20.4; 6 s is a chance of about 1 in 10^8.
    found = Counter(drawn(f"seed {n}", CARS, 1)[0] for n in range(3000))
    assert set(found) == set(CARS)
    assert all(abs(count - 500) < 6 * 20.4 for count in found.values())


@given(st.text(min_size=1, max_size=20), st.sets(st.text(min_size=1, max_size=6), min_size=1))
def test_a_longer_draw_begins_with_the_shorter(seed: str, cars: set[str]) -> None:
    whole = drawn(seed, cars, len(cars))
    assert set(whole) == cars
    assert drawn(seed, cars, 1) == whole[:1]
