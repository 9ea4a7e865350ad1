"""The air an engine breathes: density, and the altitude that it amounts to.

Temperature degree C, pressure kPa, relative humidity as a fraction, density kg/m3, altitude m.
"""

import math

from cars.mechanics.errors import BadInput, positive, within

# CIPM-2007: Picard, Davis, Glaser, Fujii, Metrologia 45 (2008) 149-155.
GAS_CONSTANT = 8.314472  # J/(mol K), the value that belongs to the formula
WATER = 18.01528e-3  # kg/mol
ZERO_CELSIUS = 273.15  # K

# ISA, ISO 2533:1975: sea level and the first 11 km.
ISA_TEMPERATURE = 288.15  # K
ISA_PRESSURE = 101.325  # kPa
DRY_AIR = 287.05287  # J/(kg K)
ISA_DENSITY = 1000.0 * ISA_PRESSURE / (DRY_AIR * ISA_TEMPERATURE)  # kg/m3: 1.225
LAPSE = 0.0065  # K/m
PRESSURE_EXPONENT = 9.80665 / (DRY_AIR * LAPSE)  # g / (R lapse), R of dry air: 5.25588
DENSITY_EXPONENT = PRESSURE_EXPONENT - 1.0
LOWEST, HIGHEST = -1000.0, 11_000.0  # m


def density(
    temperature: float, pressure: float, humidity: float, carbon_dioxide: float = 400e-6
) -> float:
    """Density of moist air, kg/m3, by the CIPM-2007 formula.

    rho = p Ma / (Z R T) (1 - xv (1 - Mv/Ma)), with xv the mole fraction of water vapour and Z
    the compressibility. Stated for 15 to 27 degC and 60 to 110 kPa (2.2e-5 relative); here taken
    from -10 to 50 degC, where the tests find it within 2e-4 of an equation of state.
    Source: Picard et al., Metrologia 45 (2008) 149. Raises BadInput naming the figure outside
    -10 to 50 degC, 60 to 110 kPa, humidity 0 to 1 or carbon dioxide 0 to 0.01.
    """
    t = within("temperature", temperature, -10.0, 50.0)
    p = within("pressure", pressure, 60.0, 110.0) * 1000.0
    dry_mass = (28.96546 + 12.011 * (_carbon_dioxide(carbon_dioxide) - 0.0004)) * 1e-3
    vapour = _vapour_fraction(t, p, _humidity(humidity))
    compressed = _compressibility(t, p, vapour)
    dry = p * dry_mass / (compressed * GAS_CONSTANT * (t + ZERO_CELSIUS))
    return dry * (1.0 - vapour * (1.0 - WATER / dry_mass))


def isa_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere at a geopotential altitude in m, kPa.

    p = p0 (1 - lapse h / T0)^(g / (R lapse)). Source: ISO 2533:1975. Raises BadInput outside
    -1000 to 11000 m.
    """
    return ISA_PRESSURE * math.pow(_fall(altitude), PRESSURE_EXPONENT)


def isa_density(altitude: float) -> float:
    """Density of the standard atmosphere, kg/m3; as `isa_pressure`, exponent less one."""
    return ISA_DENSITY * math.pow(_fall(altitude), DENSITY_EXPONENT)


def pressure_altitude(pressure: float) -> float:
    """The altitude at which the standard atmosphere has this pressure (kPa), m.

    The inverse of `isa_pressure`. `pressure` is the station's own, not reduced to sea level.
    Raises BadInput for a pressure outside that of -1000 to 11000 m.
    """
    p = within("pressure", pressure, isa_pressure(HIGHEST), isa_pressure(LOWEST))
    return _altitude((p / ISA_PRESSURE) ** (1.0 / PRESSURE_EXPONENT))


def density_altitude(air_density: float) -> float:
    """The altitude at which the standard atmosphere is this dense (kg/m3), m.

    H = (T0 / lapse) (1 - (rho / rho0)^(1/4.25588)), the inverse of `isa_density`. Raises
    BadInput for a density outside that of -1000 to 11000 m.
    """
    rho = positive("air density", air_density)
    within("air density", rho, isa_density(HIGHEST), isa_density(LOWEST))
    return _altitude((rho / ISA_DENSITY) ** (1.0 / DENSITY_EXPONENT))


def _humidity(humidity: float) -> float:
    if 1.0 < humidity <= 100.0:
        raise BadInput("humidity", f"{humidity:g} looks like percent; a fraction 0 to 1 is meant")
    return within("humidity", humidity, 0.0, 1.0)


def _carbon_dioxide(fraction: float) -> float:
    return within("carbon_dioxide", fraction, 0.0, 0.01)


def _vapour_fraction(t: float, p: float, humidity: float) -> float:
    kelvin = t + ZERO_CELSIUS
    saturation = math.exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )
    enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * t**2
    return humidity * enhancement * saturation / p


def _compressibility(t: float, p: float, vapour: float) -> float:
    ratio = p / (t + ZERO_CELSIUS)
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
    first += (5.707e-6 - 2.051e-8 * t) * vapour + (1.9898e-4 - 2.376e-6 * t) * vapour**2
    return 1.0 - ratio * first + ratio**2 * (1.83e-11 - 0.765e-8 * vapour**2)


def _fall(altitude: float) -> float:
    """Temperature at an altitude as a fraction of that at sea level."""
    return 1.0 - LAPSE * within("altitude", altitude, LOWEST, HIGHEST) / ISA_TEMPERATURE


def _altitude(fall: float) -> float:
    return ISA_TEMPERATURE / LAPSE * (1.0 - fall)
