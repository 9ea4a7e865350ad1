"""Which units a club or a person reads and types."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import CANONICAL, unit_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """One unit for each kind that people differ on; the other kinds have only one.

    The defaults are the customary units of the United States. Raises ValueError for a unit
    that is not one of its kind.
    """

    length: str = "in"
    mass: str = "lb"
    angle: str = "deg"
    pressure: str = "psi"
    spring_rate: str = "lb/in"
    temperature: str = "degF"
    volume: str = "gal"
    torque: str = "ft lb"
    speed: str = "mph"

    def __post_init__(self) -> None:
        for field in fields(self):
            unit_of(Kind(field.name), getattr(self, field.name))

    @classmethod
    def imperial(cls) -> Self:
        """Inches, pounds, psi, lb/in, degrees Fahrenheit, US gallons."""
        return cls()

    @classmethod
    def metric(cls) -> Self:
        """Millimetres, kilograms, bar, N/mm, degrees Celsius, litres."""
        return cls(
            length="mm",
            mass="kg",
            pressure="bar",
            spring_rate="N/mm",
            temperature="degC",
            volume="L",
            torque="N m",
            speed="km/h",
        )

    def for_kind(self, kind: Kind) -> str:
        """The name of the unit preferred for a kind."""
        return getattr(self, kind.value, CANONICAL[kind])

    def merged(self, over: "Mapping[str, str] | Units | None") -> "Units":
        """These units with another's laid over them.

        `over` may be a mapping of only the kinds that differ, so that a club's preference
        stands where a person has none; empty values count as none. Raises ValueError for an
        unknown kind or unit.
        """
        chosen = asdict(over) if isinstance(over, Units) else dict(over or {})
        unknown = chosen.keys() - {field.name for field in fields(self)}
        if unknown:
            raise ValueError(f"no unit can be preferred for {', '.join(sorted(unknown))}")
        return replace(self, **{kind: unit for kind, unit in chosen.items() if unit})
