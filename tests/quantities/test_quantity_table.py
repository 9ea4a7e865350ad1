"""The table of units against pint's registry and the constants it is said to come from."""

from fractions import Fraction
from typing import Any

import pint
import pytest

from clubsetup.quantities.kinds import PLACES, Kind, Unit
from clubsetup.quantities.spelling import normal, tidy
from clubsetup.quantities.table import CANONICAL, COMPOUNDS, SPOKEN, UNITS, unit_of
from clubsetup.quantities.units import Units

REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)
REGISTRY.define("flat = turn / 6")  # of a hexagon; pint has no word for it

# What pint calls each unit. Hardness points and counts are not units of anything.
PINT = {
    Kind.LENGTH: {
        "in": "inch",
        "ft": "foot",
        "mm": "millimeter",
        "cm": "centimeter",
        "m": "meter",
        "yd": "yard",
        "mi": "mile",
        "km": "kilometer",
    },
    Kind.MASS: {"lb": "pound", "oz": "ounce", "kg": "kilogram", "g": "gram"},
    Kind.ANGLE: {"deg": "degree", "arcmin": "arcminute"},
    Kind.PRESSURE: {
        "psi": "psi",
        "bar": "bar",
        "kPa": "kilopascal",
        "hPa": "hectopascal",
        "Pa": "pascal",
        "inHg": "inch_Hg",
    },
    Kind.SPRING_RATE: {
        "lb/in": "force_pound / inch",
        "N/mm": "newton / millimeter",
        "N/m": "newton / meter",
        "kg/mm": "kilogram_force / millimeter",
        "kg/cm": "kilogram_force / centimeter",
    },
    Kind.TEMPERATURE: {"degF": "degree_Fahrenheit", "degC": "degree_Celsius", "K": "kelvin"},
    Kind.VOLUME: {
        "gal": "US_liquid_gallon",
        "qt": "US_liquid_quart",
        "pt": "US_pint",
        "floz": "US_fluid_ounce",
        "L": "liter",
        "mL": "milliliter",
    },
    Kind.TORQUE: {
        "ft lb": "force_pound * foot",
        "in lb": "force_pound * inch",
        "N m": "newton * meter",
    },
    Kind.SPEED: {
        "mph": "mile / hour",
        "km/h": "kilometer / hour",
        "m/s": "meter / second",
        "ft/s": "foot / second",
    },
    Kind.TURNS: {"turn": "turn", "flat": "flat"},
    Kind.PERCENT: {"%": "percent"},
}
EVERY = [(kind, unit) for kind, units in UNITS.items() for unit in units.values()]
CONVERTED = [pair for pair in EVERY if pair[0] in PINT]


def ids(pairs: list[tuple[Kind, Unit]]) -> list[str]:
    return [f"{kind}-{unit.name}" for kind, unit in pairs]


@pytest.mark.parametrize(("kind", "unit"), CONVERTED, ids=ids(CONVERTED))
@pytest.mark.parametrize("number", [Fraction(0), Fraction(1), Fraction(-40), Fraction(59, 8)])
def test_every_factor_and_offset_is_the_one_of_pint(
    kind: Kind, unit: Unit, number: Fraction
) -> None:
    canonical = REGISTRY.parse_units(PINT[kind][CANONICAL[kind]])
    told = REGISTRY.Quantity(number, PINT[kind][unit.name])
    assert (number + unit.offset) * unit.factor == told.to(canonical).magnitude


def test_pint_is_asked_about_every_unit_but_points_and_counts() -> None:
    unasked = {kind for kind, unit in EVERY if unit.name not in PINT.get(kind, {})}
    assert unasked == {Kind.HARDNESS, Kind.COUNT}


@pytest.mark.parametrize(
    ("kind", "unit", "factor"),
    [
        # NIST SP 811 App. B.8 and NIST Handbook 44 App. C; the products to sixteen digits.
        (Kind.MASS, "lb", "0.45359237"),
        (Kind.LENGTH, "in", "25.4"),
        (Kind.VOLUME, "gal", "3.785411784"),
        (Kind.PRESSURE, "psi", "6.894757293168361"),
        (Kind.SPRING_RATE, "lb/in", "0.1751268352464764"),
    ],
)
def test_factors_as_published(kind: Kind, unit: str, factor: str) -> None:
    published = Fraction(factor)
    assert abs(unit_of(kind, unit).factor - published) <= published * Fraction(1, 10**15)


def test_a_pound_force_is_the_published_number_of_newtons() -> None:
    # lbf 4.4482216152605 N exactly (NIST SP 811 App. B.8).
    assert unit_of(Kind.SPRING_RATE, "lb/in").factor == Fraction("4.4482216152605") / Fraction(
        "25.4"
    )


def test_59_degrees_fahrenheit_are_15_celsius() -> None:
    assert unit_of(Kind.TEMPERATURE, "degF").to_canonical(Fraction(59)) == 15


@pytest.mark.parametrize("kind", Kind)
def test_each_kind_has_units_a_canonical_one_and_words_for_a_sentence(kind: Kind) -> None:
    canonical = UNITS[kind][CANONICAL[kind]]
    assert (canonical.factor, canonical.offset) == (Fraction(1), Fraction(0))
    assert SPOKEN[kind].name
    assert SPOKEN[kind].example


@pytest.mark.parametrize(("kind", "unit"), EVERY, ids=ids(EVERY))
def test_spellings_are_in_the_form_that_typed_words_are_brought_to(kind: Kind, unit: Unit) -> None:
    assert len(set(unit.spellings)) == len(unit.spellings)
    for spelling in unit.spellings:
        assert normal(tidy(spelling)) == spelling
    for written in {unit.suffix, unit.suffix_one or unit.suffix} - {""}:
        assert normal(tidy(written)) in unit.spellings


@pytest.mark.parametrize("kind", Kind)
def test_no_spelling_means_two_units_of_a_kind_save_the_bare_degree_of_temperature(
    kind: Kind,
) -> None:
    seen: dict[str, str] = {}
    for unit in UNITS[kind].values():
        for spelling in unit.spellings:
            if (kind, spelling) != (Kind.TEMPERATURE, "°"):
                assert spelling not in seen, f"{spelling}: {seen.get(spelling)} and {unit.name}"
            seen[spelling] = unit.name


def places_needed(number: Fraction) -> int:
    places = 0
    while (number * 10**places).denominator != 1:
        places += 1
    return places


EXACT = [pair for pair in EVERY if pair[0] is Kind.LENGTH or pair[1].name in ("lb", "kg", "g")]


@pytest.mark.parametrize(("kind", "unit"), EXACT, ids=ids(EXACT))
def test_lengths_and_masses_are_kept_exactly_to_the_last_digit_accepted(
    kind: Kind, unit: Unit
) -> None:
    assert places_needed(unit.factor / 10**unit.places) <= PLACES
    for denominator in unit.denominators:
        assert places_needed(unit.factor / denominator) <= PLACES


@pytest.mark.parametrize(("kind", "unit"), EVERY, ids=ids(EVERY))
def test_rounding_the_last_digit_kept_is_far_below_the_last_digit_accepted(
    kind: Kind, unit: Unit
) -> None:
    # Else two decimals could read back as one value, and the shortest would not be the typed one.
    rounding = Fraction(1, 2 * 10**PLACES) / unit.factor
    assert rounding < Fraction(1, 1000 * 10**unit.places)


@pytest.mark.parametrize(("kind", "unit"), EVERY, ids=ids(EVERY))
def test_the_usual_digits_could_have_been_typed(kind: Kind, unit: Unit) -> None:
    assert 0 <= unit.usual <= unit.places


def test_the_parts_of_a_compound_are_as_many_as_the_factors_say() -> None:
    for (large, small), compound in COMPOUNDS.items():
        kind = next(kind for kind, units in UNITS.items() if large in units and small in units)
        assert UNITS[kind][large].factor == compound.ratio * UNITS[kind][small].factor
        assert compound.alone in (large, small)


def test_a_unit_that_the_kind_does_not_have_is_refused() -> None:
    with pytest.raises(ValueError, match="'psi' is not a unit of length"):
        unit_of(Kind.LENGTH, "psi")


class TestUnits:
    def test_imperial_and_metric_name_units_of_their_kinds(self) -> None:
        for units in (Units.imperial(), Units.metric()):
            for kind in Kind:
                assert unit_of(kind, units.for_kind(kind))

    def test_the_default_is_imperial(self) -> None:
        assert Units() == Units.imperial()
        assert Units().length == "in"

    def test_kinds_with_one_unit_have_no_preference(self) -> None:
        assert Units.metric().for_kind(Kind.PERCENT) == "%"
        assert Units.metric().for_kind(Kind.TURNS) == "turn"

    def test_a_person_overrides_the_club_only_where_they_differ(self) -> None:
        club = Units.imperial()
        merged = club.merged({"pressure": "bar", "mass": ""})
        assert merged.pressure == "bar"
        assert merged.mass == club.mass
        assert merged.length == club.length

    def test_nothing_over_changes_nothing(self) -> None:
        assert Units.metric().merged(None) == Units.metric()
        assert Units.metric().merged({}) == Units.metric()

    def test_whole_units_over_replace_all(self) -> None:
        assert Units.imperial().merged(Units.metric()) == Units.metric()

    def test_a_unit_of_another_kind_is_refused(self) -> None:
        with pytest.raises(ValueError, match="'psi' is not a unit of length"):
            Units(length="psi")
        with pytest.raises(ValueError, match="'stone' is not a unit of mass"):
            Units.imperial().merged({"mass": "stone"})

    def test_a_kind_that_has_no_preference_is_refused(self) -> None:
        with pytest.raises(ValueError, match="no unit can be preferred for colour"):
            Units.imperial().merged({"colour": "red"})
