"""What fuel weighs. Volumes litres, masses kg, density kg/L, temperature degree C."""

from typing import Literal, NamedTuple

from cars.mechanics.errors import BadInput, not_negative

Fuel = Literal["gasoline", "ethanol", "methanol"]

LB_PER_US_GALLON = 0.45359237 / 3.785411784  # kg/L; exact (NIST SP 811, NIST Handbook 44 App. C)


class Density(NamedTuple):
    """Density at 60 degF (15.6 degC) and its standard uncertainty, kg/L."""

    value: float
    u: float


# US DOE Alternative Fuels Data Center, fuel properties, lb per US gallon at 60 degF. Gasoline is
# given as 6.0 to 6.5: its middle, and a rectangle that wide. The other two are given to 0.01.
DENSITIES: dict[Fuel, Density] = {
    "gasoline": Density(6.25 * LB_PER_US_GALLON, 0.25 * LB_PER_US_GALLON / 3.0**0.5),
    "ethanol": Density(6.61 * LB_PER_US_GALLON, 0.005 * LB_PER_US_GALLON / 3.0**0.5),
    "methanol": Density(6.63 * LB_PER_US_GALLON, 0.005 * LB_PER_US_GALLON / 3.0**0.5),
}


def fuel_mass(litres: float, fuel: Fuel) -> tuple[float, float]:
    """Mass of so much fuel at 60 degF and its standard uncertainty from the density, kg.

    m = V rho. On a hot day fuel is about 1 % lighter per 10 degC, which is left out: on two
    litres that is 20 g. Source of rho: the table above. Raises BadInput for a negative volume
    or an unknown fuel.
    """
    if fuel not in DENSITIES:
        raise BadInput("fuel", f"{fuel!r} is none of {', '.join(DENSITIES)}")
    volume = not_negative("litres", litres)
    return volume * DENSITIES[fuel].value, volume * DENSITIES[fuel].u
