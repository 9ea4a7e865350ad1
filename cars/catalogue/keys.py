"""The key of a box: a measure at a spot, and which take of it."""

import re
from dataclasses import dataclass

from cars.models.catalogue import Spot


@dataclass(frozen=True, slots=True)
class Key:
    """One box of a sheet: a measure at a spot, and which take of it."""

    measure: str
    spot: str
    take: int = 1

    def __str__(self) -> str:
        return f"{self.measure}.{self.spot}" + (f".{self.take}" if self.take > 1 else "")

    @classmethod
    def of(cls, name: str) -> "Key":
        """The key that a box's name says. Raises ValueError."""
        measure, spot, *take = name.split(".")
        if len(take) > 1 or spot not in Spot.values or not _SLUG.fullmatch(measure):
            raise ValueError(f"{name!r} names no box of a sheet")
        return cls(measure, spot, int(take[0]) if take else 1)


_SLUG = re.compile(r"[a-z0-9-]{1,40}")
