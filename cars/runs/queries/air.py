"""What the noted weather comes to: density of the air, and the altitude that it amounts to."""

from typing import NamedTuple

from cars.mechanics.air import ISA_PRESSURE, density, density_altitude, isa_pressure
from cars.models import Weather

MM = 1000.0  # a metre


class Air(NamedTuple):
    """kg/m3, and m."""

    density: float
    density_altitude: float


def pressure_of_place(weather: Weather) -> float:
    """kPa where the track lies: as noted, or a forecast's taken up by the standard atmosphere.

    p = p0 p_ISA(h) / p_ISA(0): how pressures are reduced to sea level, for the dry standard
    temperature; some services reduce with the temperature of the day, which departs by 0.5 hPa at
    300 m and 15 degC off. Source: ISO 2533:1975 for p_ISA; the size from memory.
    """
    noted = float(weather.pressure) / 10.0
    if weather.pressure_of == Weather.PressureOf.PLACE or weather.altitude is None:
        return noted
    return noted * isa_pressure(float(weather.altitude) / MM) / ISA_PRESSURE


def air_of(weather: Weather) -> Air:
    """The air of a noted weather."""
    rho = density(
        float(weather.temperature), pressure_of_place(weather), float(weather.humidity) / 100.0
    )
    return Air(rho, density_altitude(rho))
