"""The units people type, with every spelling that is understood.

Factors are exact. Length, mass, pressure, spring rate, volume, torque and speed are built from
the defining constants in NIST SP 811 App. B.8 and NIST Handbook 44 App. C: in 25.4 mm, lb
0.45359237 kg, standard gravity 9.80665 m/s2, US gallon 231 cubic inches. A test holds each of
them against pint's registry.

Which fractions go with which unit, how many digits are usual, and that a spring is spoken of as
'a 110 pound spring', is common practice, no source.

A length in any unit, and a mass in kilograms, grams or pounds, is kept exactly: `places` is small
enough for that. The other units have factors with more digits than are kept; there the value is
rounded at the tenth digit (0.1 microgram, 0.1 micropascal), and `places` is small enough that the
number typed can still be read back from it without doubt.
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import NamedTuple, TypedDict, Unpack

from clubsetup.quantities.kinds import Kind, Unit

TAPE = (2, 4, 8, 16, 32, 64)
QUARTERS = (2, 4)
EIGHTHS = (2, 4, 8)
MILE_PARTS = (2, 3, 4, 5, 6, 8, 10, 12, 16, 20)  # as short tracks are named: a 1/20 mile
TURN_PARTS = (2, 3, 4, 6, 8, 12, 16)  # the flats of a hexagon are sixths, its corners twelfths

_FOOT = Fraction("304.8")
_INCH = Fraction("25.4")
_POUND = Fraction("0.45359237")
_POUND_FORCE = _POUND * Fraction("9.80665")  # newtons
_PSI = _POUND_FORCE / _INCH**2 * 1000  # kilopascals
_GALLON = 231 * _INCH**3 / 10**6  # litres


class _Habits(TypedDict, total=False):
    denominators: tuple[int, ...]
    fraction_first: bool
    offset: Fraction
    suffix_one: str


def _unit(  # noqa: PLR0917 (a row of a table)
    name: str,
    suffix: str,
    factor: Fraction | str | int,
    places: int,
    usual: int,
    spellings: str,
    **habits: Unpack[_Habits],
) -> Unit:
    return Unit(
        name=name,
        suffix=suffix,
        factor=Fraction(factor),
        places=places,
        usual=usual,
        spellings=tuple(spellings.split("|")),
        **habits,
    )


_LENGTH = (
    _unit("in", " in", _INCH, 6, 3, 'in|inch|inches|ins|"', denominators=TAPE, fraction_first=True),
    _unit("ft", " ft", _FOOT, 6, 3, "ft|foot|feet|'", denominators=TAPE, fraction_first=True),
    _unit("mm", " mm", 1, 6, 1, "mm|millimeter|millimeters|millimetre|millimetres"),
    _unit("cm", " cm", 10, 6, 2, "cm|centimeter|centimeters|centimetre|centimetres"),
    _unit("m", " m", 1000, 6, 3, "m|meter|meters|metre|metres"),
    _unit("yd", " yd", 3 * _FOOT, 6, 2, "yd|yds|yard|yards", denominators=QUARTERS),
    _unit("mi", " mi", 5280 * _FOOT, 6, 3, "mi|mile|miles", denominators=MILE_PARTS),
    _unit("km", " km", 10**6, 6, 3, "km|kilometer|kilometers|kilometre|kilometres"),
)
_MASS = (
    _unit("lb", " lb", _POUND, 2, 1, "lb|lbs|pound|pounds|#", denominators=QUARTERS),
    _unit("oz", " oz", _POUND / 16, 3, 1, "oz|ozs|ounce|ounces", denominators=EIGHTHS),
    _unit("kg", " kg", 1, 6, 2, "kg|kgs|kilo|kilos|kilogram|kilograms|kilogramme|kilogrammes"),
    _unit("g", " g", "0.001", 4, 0, "g|gram|grams|gramme|grammes"),
)
_ANGLE = (
    _unit("deg", "°", 1, 6, 2, "°|deg|degs|degree|degrees", denominators=EIGHTHS),
    _unit("arcmin", "'", Fraction(1, 60), 3, 0, "'|arcmin|min|minute|minutes"),
)
_PRESSURE = (
    _unit("psi", " psi", _PSI, 4, 1, "psi|psig|lb/in²|lbs/in²", denominators=QUARTERS),
    _unit("bar", " bar", 100, 6, 2, "bar|bars"),
    _unit("kPa", " kPa", 1, 6, 1, "kpa|kilopascal|kilopascals"),
    _unit("hPa", " hPa", "0.1", 6, 1, "hpa|mbar|millibar|millibars"),
    _unit("Pa", " Pa", "0.001", 4, 0, "pa|pascal|pascals"),
    _unit("inHg", " inHg", Fraction("3.386388640341"), 4, 2, "inhg|in hg|inches of mercury"),
)
_SPRING_RATE = (
    _unit(
        "lb/in",
        " lb/in",
        _POUND_FORCE / _INCH,
        4,
        1,
        "lb/in|lb/inch|lbs/in|lbs/inch|lbf/in|lbf/inch|pound/inch|pounds/inch|#/in|#/inch|"
        "lb|lbs|pound|pounds|#",
        denominators=QUARTERS,
    ),
    _unit("N/mm", " N/mm", 1, 6, 2, "n/mm|newton/millimeter|newtons/millimeter"),
    _unit("N/m", " N/m", "0.001", 4, 0, "n/m"),
    _unit("kg/mm", " kg/mm", "9.80665", 4, 3, "kg/mm|kgf/mm"),
    _unit("kg/cm", " kg/cm", "0.980665", 4, 2, "kg/cm|kgf/cm"),
)
_TEMPERATURE = (
    _unit(
        "degF",
        " °F",
        Fraction(5, 9),
        4,
        0,
        "°f|f|degf|deg f|degree f|degrees f|fahrenheit|degrees fahrenheit|°",
        offset=Fraction(-32),
    ),
    _unit(
        "degC",
        " °C",
        1,
        6,
        1,
        "°c|c|degc|deg c|degree c|degrees c|celsius|degrees celsius|°",
    ),
    _unit("K", " K", 1, 6, 1, "k|kelvin|°", offset=Fraction("-273.15")),
)
_VOLUME = (
    _unit("gal", " gal", _GALLON, 4, 2, "gal|gals|gallon|gallons", denominators=EIGHTHS),
    _unit("qt", " qt", _GALLON / 4, 4, 2, "qt|qts|quart|quarts", denominators=EIGHTHS),
    _unit("pt", " pt", _GALLON / 8, 4, 2, "pt|pts|pint|pints", denominators=EIGHTHS),
    _unit(
        "floz",
        " fl oz",
        _GALLON / 128,
        3,
        1,
        "fl oz|floz|oz|ounce|ounces|fluid ounce|fluid ounces",
        denominators=EIGHTHS,
    ),
    _unit("L", " L", 1, 6, 2, "l|liter|liters|litre|litres"),
    _unit("mL", " mL", "0.001", 4, 0, "ml|cc|milliliter|milliliters|millilitre|millilitres"),
)
_TORQUE = (
    _unit(
        "ft lb",
        " ft lb",
        _POUND_FORCE * _FOOT / 1000,
        4,
        1,
        "ft lb|ftlb|ft lbs|ftlbs|lb ft|lbft|lbs ft|lbf ft|ft lbf|foot pound|foot pounds",
    ),
    _unit(
        "in lb",
        " in lb",
        _POUND_FORCE * _INCH / 1000,
        4,
        0,
        "in lb|inlb|in lbs|inlbs|lb in|lbin|lbs in|lbf in|in lbf|inch pound|inch pounds",
    ),
    _unit("N m", " N m", 1, 6, 1, "n m|nm|n·m|newton meter|newton meters|newton metres"),
)
_SPEED = (
    _unit("mph", " mph", "0.44704", 4, 1, "mph|mi/h|mi/hr|miles/hour"),
    _unit("km/h", " km/h", Fraction(5, 18), 4, 1, "km/h|kph|kmh|km/hr|kilometers/hour"),
    _unit("m/s", " m/s", 1, 6, 2, "m/s|m/sec|meters/second|metres/second"),
    _unit("ft/s", " ft/s", "0.3048", 4, 1, "ft/s|ft/sec|fps|feet/second"),
)
_TURNS = (
    _unit(
        "turn",
        " turns",
        1,
        4,
        2,
        "turn|turns|rev|revs|t",
        denominators=TURN_PARTS,
        fraction_first=True,
        suffix_one=" turn",
    ),
    _unit(
        "flat", " flats", Fraction(1, 6), 2, 1, "flat|flats", denominators=(2,), suffix_one=" flat"
    ),
)

UNITS: Mapping[Kind, Mapping[str, Unit]] = {
    kind: {unit.name: unit for unit in units}
    for kind, units in {
        Kind.LENGTH: _LENGTH,
        Kind.MASS: _MASS,
        Kind.ANGLE: _ANGLE,
        Kind.PRESSURE: _PRESSURE,
        Kind.SPRING_RATE: _SPRING_RATE,
        Kind.TEMPERATURE: _TEMPERATURE,
        Kind.VOLUME: _VOLUME,
        Kind.TORQUE: _TORQUE,
        Kind.SPEED: _SPEED,
        Kind.TURNS: _TURNS,
        Kind.PERCENT: (_unit("%", "%", 1, 6, 1, "%|pct|percent", denominators=QUARTERS),),
        Kind.HARDNESS: (_unit("points", " points", 1, 2, 0, "points|point|pts|duro|shore a|a"),),
        Kind.COUNT: (_unit("1", "", 1, 0, 0, "pcs|pc|pieces|piece"),),
    }.items()
}


class Compound(NamedTuple):
    """How many of the smaller unit make the larger, and which is used where one must do."""

    ratio: int
    alone: str


# The smaller unit that may follow a whole number of the larger one: 4 ft 2 1/2 in.
COMPOUNDS: Mapping[tuple[str, str], Compound] = {
    ("ft", "in"): Compound(12, "in"),
    ("lb", "oz"): Compound(16, "lb"),
    ("deg", "arcmin"): Compound(60, "deg"),
}


CANONICAL: Mapping[Kind, str] = {
    Kind.LENGTH: "mm",
    Kind.MASS: "kg",
    Kind.ANGLE: "deg",
    Kind.PRESSURE: "kPa",
    Kind.SPRING_RATE: "N/mm",
    Kind.TEMPERATURE: "degC",
    Kind.VOLUME: "L",
    Kind.TORQUE: "N m",
    Kind.SPEED: "m/s",
    Kind.TURNS: "turn",
    Kind.PERCENT: "%",
    Kind.HARDNESS: "points",
    Kind.COUNT: "1",
}


class Spoken(NamedTuple):
    """How a kind is named and written in a sentence to a person."""

    name: str
    example: str


SPOKEN: Mapping[Kind, Spoken] = {
    Kind.LENGTH: Spoken("a length", "46 5/16 in or 1176.3 mm"),
    Kind.MASS: Spoken("a weight", "318.5 lb or 144.5 kg"),
    Kind.ANGLE: Spoken("an angle", "2.5°"),
    Kind.PRESSURE: Spoken("a pressure", "11 psi or 0.75 bar"),
    Kind.SPRING_RATE: Spoken("a spring rate", "110 lb/in or 19.3 N/mm"),
    Kind.TEMPERATURE: Spoken("a temperature", "59 °F or 15 °C"),
    Kind.VOLUME: Spoken("a volume", "1.5 gal or 5.7 L"),
    Kind.TORQUE: Spoken("a torque", "25 ft lb or 34 N m"),
    Kind.SPEED: Spoken("a speed", "38 mph or 17 m/s"),
    Kind.TURNS: Spoken("a number of turns", "1 1/4 turns"),
    Kind.PERCENT: Spoken("a percentage", "51.5%"),
    Kind.HARDNESS: Spoken("a hardness", "55 points"),
    Kind.COUNT: Spoken("a count", "12"),
}


def units_of(kind: Kind) -> Mapping[str, Unit]:
    """The units of a kind by name, the customary one first."""
    return UNITS[kind]


def unit_of(kind: Kind, name: str) -> Unit:
    """The unit of that name. Raises ValueError where the kind has no such unit."""
    try:
        return UNITS[kind][name]
    except KeyError:
        raise ValueError(f"{name!r} is not a unit of {kind}") from None
