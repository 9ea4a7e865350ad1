"""A draw of cars that anybody can repeat by hand.

For each car the SHA-256 hash (FIPS 180-4) of the text `seed:car` is written in hexadecimal; the
cars are put in the order of their hashes, and the first so many are drawn. `car` is as it stands
on the start list. Nobody can tell the order before the seed is known, and everybody can compute
it afterwards.
"""

import hashlib
import shlex
from collections.abc import Iterable
from typing import NamedTuple

METHOD = (
    "The cars in the order of SHA-256 of the text seed:car, in hexadecimal; the first so many "
    "are drawn."
)


class Ticket(NamedTuple):
    """A car and the hash that decides its place."""

    hash: str
    car: str


def tickets(seed: str, cars: Iterable[str]) -> list[Ticket]:
    """Every car with its hash, in the order of the draw; a car named twice counts once."""
    return sorted(Ticket(ticket_hash(seed, car), car) for car in set(cars))


def ticket_hash(seed: str, car: str) -> str:
    """SHA-256 of `seed:car` in UTF-8, in hexadecimal."""
    return hashlib.sha256(f"{seed}:{car}".encode()).hexdigest()


def drawn(seed: str, cars: Iterable[str], count: int) -> list[str]:
    """The cars drawn, in order. Raises ValueError for fewer than one or more than there are."""
    ordered = tickets(seed, cars)
    if not 1 <= count <= len(ordered):
        raise ValueError(f"{count} of {len(ordered)} cars cannot be drawn")
    return [ticket.car for ticket in ordered[:count]]


def by_hand(seed: str, cars: Iterable[str], count: int) -> str:
    """One line for a POSIX shell with sha256sum that prints the cars drawn."""
    listed = " ".join(shlex.quote(car) for car in cars)
    key = shlex.quote(f"{seed}:")
    return (
        f'for car in {listed}; do printf \'%s %s\\n\' "$(printf %s {key}"$car" | sha256sum | '
        f'cut -c1-64)" "$car"; done | LC_ALL=C sort | head -n {count}'
    )
