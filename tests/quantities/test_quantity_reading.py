"""What people type, and what comes of it."""

import decimal
from decimal import Decimal
from math import sqrt

import pytest
from GTC.type_b import uniform

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, QuantityLimits, parse
from clubsetup.quantities.units import Units

# Text, kind, canonical value, unit, canonical resolution. Lengths by hand: 25.4 mm to the inch.
ACCEPTED = [
    ("46 5/16", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ('46-5/16"', Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("46 5/16″", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("46  5 / 16  in.", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("46 5⁄16 Inches", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("  46 5/16 \n", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("2 1/4 in", Kind.LENGTH, "57.15", "in", "6.35"),
    ("2-1/4", Kind.LENGTH, "57.15", "in", "6.35"),
    ("7/16", Kind.LENGTH, "11.1125", "in", "1.5875"),
    ("-1/16", Kind.LENGTH, "-1.5875", "in", "1.5875"),
    ("− 1/16", Kind.LENGTH, "-1.5875", "in", "1.5875"),
    ("+1/8", Kind.LENGTH, "3.175", "in", "3.175"),
    ("-2 1/4", Kind.LENGTH, "-57.15", "in", "6.35"),
    ("-2-1/4", Kind.LENGTH, "-57.15", "in", "6.35"),
    ("0/16", Kind.LENGTH, "0", "in", "1.5875"),
    ("1/64", Kind.LENGTH, "0.396875", "in", "0.396875"),
    ("8/16", Kind.LENGTH, "12.7", "in", "1.5875"),
    ("46½", Kind.LENGTH, "1181.1", "in", "12.7"),
    ("46 ½ in", Kind.LENGTH, "1181.1", "in", "12.7"),
    ("46-½", Kind.LENGTH, "1181.1", "in", "12.7"),
    ("-¼", Kind.LENGTH, "-6.35", "in", "6.35"),
    ("⅞″", Kind.LENGTH, "22.225", "in", "3.175"),
    ("２ １／４", Kind.LENGTH, "57.15", "in", "6.35"),
    ("46\u00a05/16\u202fin", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("\ufeff46 5/16", Kind.LENGTH, "1176.3375", "in", "1.5875"),
    ("3.1", Kind.LENGTH, "78.74", "in", "2.54"),
    ("3,1", Kind.LENGTH, "78.74", "in", "2.54"),
    ("3.10", Kind.LENGTH, "78.74", "in", "0.254"),
    ("3.", Kind.LENGTH, "76.2", "in", "25.4"),
    (".5", Kind.LENGTH, "12.7", "in", "2.54"),
    (",5", Kind.LENGTH, "12.7", "in", "2.54"),
    ("0,125", Kind.LENGTH, "3.175", "in", "0.0254"),
    ("1234,567 mm", Kind.LENGTH, "1234.567", "mm", "0.001"),
    ("1.234", Kind.LENGTH, "31.3436", "in", "0.0254"),
    ("46", Kind.LENGTH, "1168.4", "in", "25.4"),
    ("0046", Kind.LENGTH, "1168.4", "in", "25.4"),
    ("0" * 58 + "46", Kind.LENGTH, "1168.4", "in", "25.4"),
    ("-0", Kind.LENGTH, "0", "in", "25.4"),
    ("118.1 cm", Kind.LENGTH, "1181", "cm", "1"),
    ("118,1cm", Kind.LENGTH, "1181", "cm", "1"),
    ("1181 MM", Kind.LENGTH, "1181", "mm", "1"),
    ("1.181 metres", Kind.LENGTH, "1181", "m", "1"),
    ("0.05 mi", Kind.LENGTH, "80467.2", "mi", "16093.44"),
    ("4' 2\"", Kind.LENGTH, "1270", "in", "25.4"),
    ("4'2''", Kind.LENGTH, "1270", "in", "25.4"),
    ("4’ 2”", Kind.LENGTH, "1270", "in", "25.4"),
    ("4'-2 1/2\"", Kind.LENGTH, "1282.7", "in", "12.7"),
    ("4 ft 2 1/2 in", Kind.LENGTH, "1282.7", "in", "12.7"),
    ("4 ft. 2.5 in.", Kind.LENGTH, "1282.7", "in", "2.54"),
    ("-4 ft 2 in", Kind.LENGTH, "-1270", "in", "25.4"),
    ("4 1/2 ft", Kind.LENGTH, "1371.6", "ft", "152.4"),
    ("318 lb", Kind.MASS, "144.24237366", "lb", "0.45359237"),
    ("318#", Kind.MASS, "144.24237366", "lb", "0.45359237"),
    ("318.4", Kind.MASS, "144.423810608", "lb", "0.045359237"),
    ("318.25 lbs", Kind.MASS, "144.3557717525", "lb", "0.0045359237"),
    ("2 1/4 pounds", Kind.MASS, "1.0205828325", "lb", "0.1133980925"),
    ("318 lb 4 oz", Kind.MASS, "144.3557717525", "lb", "0.0283495231"),
    ("8 oz", Kind.MASS, "0.226796185", "oz", "0.0283495231"),
    ("144 kg", Kind.MASS, "144", "kg", "1"),
    ("144,35 kg", Kind.MASS, "144.35", "kg", "0.01"),
    ("250 g", Kind.MASS, "0.25", "g", "0.001"),
    ("2°", Kind.ANGLE, "2", "deg", "1"),
    ("-2.5 deg", Kind.ANGLE, "-2.5", "deg", "0.1"),
    ("1 1/4 degrees", Kind.ANGLE, "1.25", "deg", "0.25"),
    ("2° 30'", Kind.ANGLE, "2.5", "deg", "0.0166666667"),
    ("2º30′", Kind.ANGLE, "2.5", "deg", "0.0166666667"),
    ("11 psi", Kind.PRESSURE, "75.8423302249", "psi", "6.8947572932"),
    ("11 1/2", Kind.PRESSURE, "79.2897088714", "psi", "3.4473786466"),
    ("11 lbs/in²", Kind.PRESSURE, "75.8423302249", "psi", "6.8947572932"),
    ("0.75 bar", Kind.PRESSURE, "75", "bar", "1"),
    ("750 mbar", Kind.PRESSURE, "75", "hPa", "0.1"),
    ("110 lb/in", Kind.SPRING_RATE, "19.2639518771", "lb/in", "0.1751268352"),
    ("110 lbs per inch", Kind.SPRING_RATE, "19.2639518771", "lb/in", "0.1751268352"),
    ("110 lb", Kind.SPRING_RATE, "19.2639518771", "lb/in", "0.1751268352"),
    ("19.3 N/mm", Kind.SPRING_RATE, "19.3", "N/mm", "0.1"),
    ("2 kg/mm", Kind.SPRING_RATE, "19.6133", "kg/mm", "9.80665"),
    ("59", Kind.TEMPERATURE, "15", "degF", "0.5555555556"),
    ("59°", Kind.TEMPERATURE, "15", "degF", "0.5555555556"),
    ("15 ℃", Kind.TEMPERATURE, "15", "degC", "1"),
    ("-273.15 °C", Kind.TEMPERATURE, "-273.15", "degC", "0.01"),
    ("-40° F", Kind.TEMPERATURE, "-40", "degF", "0.5555555556"),
    ("288.15 K", Kind.TEMPERATURE, "15", "K", "0.01"),
    ("1 1/2 gal", Kind.VOLUME, "5.678117676", "gal", "1.892705892"),
    ("16 oz", Kind.VOLUME, "0.473176473", "floz", "0.0295735296"),
    ("5.7 l", Kind.VOLUME, "5.7", "L", "0.1"),
    ("500 cc", Kind.VOLUME, "0.5", "mL", "0.001"),
    ("25 ft-lb", Kind.TORQUE, "33.8954487083", "ft lb", "1.3558179483"),
    ("34 N·m", Kind.TORQUE, "34", "N m", "1"),
    ("38 mph", Kind.SPEED, "16.98752", "mph", "0.44704"),
    ("36 km/h", Kind.SPEED, "10", "km/h", "0.2777777778"),
    ("1 1/4", Kind.TURNS, "1.25", "turn", "0.25"),
    ("-1/2 turn", Kind.TURNS, "-0.5", "turn", "0.5"),
    ("1/3", Kind.TURNS, "0.3333333333", "turn", "0.3333333333"),
    ("3 flats", Kind.TURNS, "0.5", "flat", "0.1666666667"),
    ("51.5%", Kind.PERCENT, "51.5", "%", "0.1"),
    ("55", Kind.HARDNESS, "55", "points", "1"),
    ("12", Kind.COUNT, "12", "1", "1"),
]


@pytest.mark.parametrize(("text", "kind", "value", "unit", "resolution"), ACCEPTED)
def test_what_people_type_is_read(
    text: str, kind: Kind, value: str, unit: str, resolution: str
) -> None:
    typed = parse(text, kind)
    assert typed.value == Decimal(value)
    assert typed.unit == unit
    assert typed.resolution == Decimal(resolution)
    assert typed.text == text.strip()


# Text, kind, and the part of the message that tells this refusal from the others.
REFUSED = [
    ("", Kind.LENGTH, "Nothing is written"),
    ("   \t", Kind.LENGTH, "Nothing is written"),
    ("\u200b", Kind.LENGTH, "Nothing is written"),
    ("abc", Kind.LENGTH, "abc is not a number"),
    ("nan", Kind.LENGTH, "nan is not a number"),
    ("-inf", Kind.LENGTH, "-inf is not a number"),
    ("-", Kind.LENGTH, "not a number"),
    ("in", Kind.LENGTH, "not a number"),
    ("46 9/7", Kind.LENGTH, "9/7 is not less than one"),
    ("16/16", Kind.LENGTH, "16/16 is not less than one"),
    ("465/16", Kind.LENGTH, "465/16 is not less than one"),
    ("46 1/3", Kind.LENGTH, "not divided in the usual parts"),
    ("46 5/7", Kind.LENGTH, "a fraction of 2, 4, 8, 16, 32, 64"),
    ("46 1/128", Kind.LENGTH, "not divided in the usual parts"),
    ("1/0", Kind.LENGTH, "1/0 divides by zero"),
    ("46 0/0", Kind.LENGTH, "0/0 divides by zero"),
    ("5/16 mm", Kind.LENGTH, "Fractions are not written in mm"),
    ("46 5/16", Kind.PRESSURE, "46 5/16 is divided as a length is, and this is a pressure"),
    ("46 1/3", Kind.PRESSURE, "not divided in the usual parts"),
    ("1/3 lb", Kind.MASS, "a fraction of 2, 4"),
    ("11 psi", Kind.LENGTH, "psi is for a pressure, and this is a length"),
    ("46 in", Kind.PRESSURE, "in is for a length, and this is a pressure"),
    ("318 lb", Kind.LENGTH, "lb is for a weight, and this is a length"),
    ("11 lb", Kind.PRESSURE, "lb is for a weight, and this is a pressure"),
    ("46 zorks", Kind.LENGTH, "zorks is not a unit known here"),
    ("46 in x", Kind.LENGTH, "in x is not a unit known here"),
    ("46 5", Kind.LENGTH, "46 and 5 are two numbers"),
    ("46.5 1/2", Kind.LENGTH, "are two numbers"),
    ("46 1/2 1/4", Kind.LENGTH, "are two numbers"),
    ("½5", Kind.LENGTH, "1/2 and 5 are two numbers"),
    ("½½", Kind.LENGTH, "are two numbers"),
    ("46 -5/16", Kind.LENGTH, "sign before 5/16 stands in the middle"),
    ("46 - 5/16", Kind.LENGTH, "stands in the middle"),
    ("5+5", Kind.LENGTH, "stands in the middle"),
    ("+-5", Kind.LENGTH, "stands in the middle"),
    ("46 5/16/2", Kind.LENGTH, "/2 is left over"),
    ("46,5/16", Kind.LENGTH, "/16 is left over"),
    ("46 5/", Kind.LENGTH, "/ is left over"),
    ("46 in,", Kind.LENGTH, ", is left over"),
    ("1 ft 2 in 3 mm", Kind.LENGTH, "3 mm is left over"),
    ("in 46", Kind.LENGTH, "does not begin with a number"),
    ("$46", Kind.LENGTH, "does not begin with a number"),
    ("1,234", Kind.LENGTH, "can be read in two ways. Write 1.234 or 1234."),
    ("12,345 mm", Kind.LENGTH, "can be read in two ways"),
    ("1,234.5", Kind.LENGTH, "no mark between the thousands"),
    ("1.234,5", Kind.LENGTH, "no mark between the thousands"),
    ("1,234,567", Kind.LENGTH, "no mark between the thousands"),
    ("1e5", Kind.LENGTH, "without a power of ten"),
    ("1E-999999999", Kind.LENGTH, "without a power of ten"),
    ("٤٦", Kind.LENGTH, "digits 0 to 9"),
    ("४६ in", Kind.LENGTH, "digits 0 to 9"),
    ("46³", Kind.LENGTH, "digits 0 to 9"),
    ("9" * 30, Kind.LENGTH, "far too large for a length"),
    ("100000000 mm", Kind.LENGTH, "far too large"),
    ("9" * 61, Kind.LENGTH, "too long for a length"),
    ("46.1234567", Kind.LENGTH, "at most 6 after the decimal point"),
    ("318.125 lb", Kind.MASS, "at most 2 after the decimal point"),
    ("4 ft 14 in", Kind.LENGTH, "14 in is not less than 1 ft"),
    ("4 ft 12 in", Kind.LENGTH, "12 in is not less than 1 ft"),
    ("318 lb 16 oz", Kind.MASS, "16 oz is not less than 1 lb"),
    ("4.5 ft 2 in", Kind.LENGTH, "whole number before the second one, not 4.5 ft"),
    ("4 1/2 ft 2 in", Kind.LENGTH, "whole number before the second one"),
    ("4 ft 2", Kind.LENGTH, "a unit after 2 too"),
    ("2 in 3 ft", Kind.LENGTH, "do not go together"),
    ("4 in 4 in", Kind.LENGTH, "do not go together"),
    ("4 ft 2 psi", Kind.LENGTH, "psi is for a pressure"),
    ("3.5", Kind.COUNT, "3.5 is not a whole number"),
    ("1/2", Kind.COUNT, "Fractions are not written in whole numbers"),
    ("-500 °F", Kind.TEMPERATURE, "Nothing is colder"),
    ("-1 K", Kind.TEMPERATURE, "Nothing is colder"),
    ("46\x00", Kind.LENGTH, "? is not a unit known here"),
    ("46 \ud800", Kind.LENGTH, "? is not a unit known here"),
]


@pytest.mark.parametrize(("text", "kind", "message"), REFUSED)
def test_what_is_no_such_quantity_is_refused_in_a_sentence(
    text: str, kind: Kind, message: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    said = str(caught.value)
    assert message in said
    assert said == caught.value.message
    assert said.endswith(".")
    assert caught.value.text == text.strip()


def test_a_message_quotes_only_a_little_of_a_long_text() -> None:
    with pytest.raises(QuantityError) as caught:
        parse("5 " + "z" * 57, Kind.LENGTH)
    assert "z" * 24 not in str(caught.value)


def test_the_text_stays_whole_for_the_box_however_long() -> None:
    with pytest.raises(QuantityError) as caught:
        parse("5" * 100_000, Kind.LENGTH)
    assert caught.value.text == "5" * 100_000
    assert len(str(caught.value)) < 120


@pytest.mark.parametrize(
    ("text", "kind", "value", "unit"),
    [
        ("1181", Kind.LENGTH, "1181", "mm"),
        ("46 5/16 in", Kind.LENGTH, "1176.3375", "in"),
        ("144", Kind.MASS, "144", "kg"),
        ("318 lb", Kind.MASS, "144.24237366", "lb"),
        ("0,75", Kind.PRESSURE, "75", "bar"),
        ("19", Kind.SPRING_RATE, "19", "N/mm"),
        ("15", Kind.TEMPERATURE, "15", "degC"),
        ("15°", Kind.TEMPERATURE, "15", "degC"),
        ("5.7", Kind.VOLUME, "5.7", "L"),
    ],
)
def test_the_preferred_unit_is_meant_where_none_is_typed(
    text: str, kind: Kind, value: str, unit: str
) -> None:
    typed = parse(text, kind, units=Units.metric())
    assert (typed.value, typed.unit) == (Decimal(value), unit)


def test_a_bare_fraction_is_not_taken_for_millimetres() -> None:
    with pytest.raises(QuantityError, match="Fractions are not written in mm"):
        parse("46 5/16", Kind.LENGTH, units=Units.metric())


class TestResolution:
    def test_a_tool_that_knows_its_resolution_is_believed(self) -> None:
        typed = parse("46 1/2", Kind.LENGTH, tool_resolution=Decimal("1.5875"))
        assert typed.resolution == Decimal("1.5875")

    @pytest.mark.parametrize("resolution", [Decimal(0), Decimal(-1), Decimal("NaN")])
    def test_a_tool_resolves_something(self, resolution: Decimal) -> None:
        with pytest.raises(ValueError, match="a tool cannot resolve"):
            parse("46", Kind.LENGTH, tool_resolution=resolution)

    @pytest.mark.parametrize("text", ["46 5/16", "3.1", "118.1 cm", "46"])
    def test_standard_uncertainty_is_that_of_a_rectangle_one_step_wide(self, text: str) -> None:
        # JCGM 100:2008 4.3.7, as GTC computes it.
        typed = parse(text, Kind.LENGTH)
        half_width = float(typed.resolution) / 2
        assert float(typed.u) == pytest.approx(uniform(half_width), rel=1e-14)

    def test_half_a_unit_either_side_as_published(self) -> None:
        # GTC.type_b.uniform(0.25) = 0.144337567297406.
        typed = parse("1 1/2", Kind.TURNS)
        assert float(typed.u) == pytest.approx(0.144337567297406, abs=1e-15)
        assert float(typed.u) == pytest.approx(0.5 / (2 * sqrt(3)), rel=1e-14)

    def test_the_writing_alone_decides_not_the_value(self) -> None:
        coarse, fine = parse("3.1", Kind.LENGTH), parse("3.100", Kind.LENGTH)
        assert coarse.value == fine.value
        assert coarse.resolution == 100 * fine.resolution


class TestLimits:
    TRACK = QuantityLimits(Decimal(254), Decimal("1524"), "the front track")

    @pytest.mark.parametrize("text", ["10", "60", "254 mm", "5 ft", "36 1/2"])
    def test_what_lies_within_or_on_the_edge_is_taken(self, text: str) -> None:
        parse(text, Kind.LENGTH, limits=self.TRACK)

    @pytest.mark.parametrize("text", ["9 63/64", "60 1/64", "-36", "463", "253.9 mm"])
    def test_what_lies_outside_is_refused(self, text: str) -> None:
        with pytest.raises(QuantityError, match="cannot be right: the front track is between"):
            parse(text, Kind.LENGTH, limits=self.TRACK)

    def test_the_message_tells_the_unit_that_was_taken(self) -> None:
        with pytest.raises(QuantityError) as caught:
            parse("463", Kind.LENGTH, limits=self.TRACK)
        assert str(caught.value) == (
            "463 in cannot be right: the front track is between 10 in and 60 in. "
            "No unit was typed, so in was taken. Check figure and unit."
        )

    def test_the_message_keeps_to_the_unit_that_was_typed(self) -> None:
        with pytest.raises(QuantityError) as caught:
            parse("46 cm", Kind.LENGTH, limits=QuantityLimits(Decimal(1000), Decimal(1524), "it"))
        assert str(caught.value) == (
            "46 cm cannot be right: it is between 100 cm and 152.4 cm. Check figure and unit."
        )

    @pytest.mark.parametrize(
        ("limits", "text", "message"),
        [
            (QuantityLimits(low=Decimal(0)), "-1", "a weight is never less than 0 lb"),
            (QuantityLimits(high=Decimal(100)), "101 kg", "a weight is never more than 100 kg"),
        ],
    )
    def test_one_side_may_be_open(self, limits: QuantityLimits, text: str, message: str) -> None:
        with pytest.raises(QuantityError, match=message):
            parse(text, Kind.MASS, limits=limits)
        parse("1", Kind.MASS, limits=limits)


class TestDifferences:
    def test_a_tolerance_of_nine_degrees_fahrenheit_is_five_celsius(self) -> None:
        typed = parse("9 °F", Kind.TEMPERATURE, delta=True)
        assert (typed.value, typed.unit) == (Decimal(5), "degF")
        assert typed.resolution == parse("9 °F", Kind.TEMPERATURE).resolution

    def test_a_difference_may_be_larger_than_the_way_to_absolute_zero(self) -> None:
        assert parse("-300", Kind.TEMPERATURE, units=Units.metric(), delta=True).value == -300

    def test_its_limits_are_differences_too(self) -> None:
        with pytest.raises(QuantityError, match="it is between 0 °F and 18 °F"):
            parse(
                "20",
                Kind.TEMPERATURE,
                delta=True,
                limits=QuantityLimits(Decimal(0), Decimal(10), "it"),
            )

    def test_elsewhere_a_difference_is_read_like_any_other_value(self) -> None:
        assert parse("-1/16", Kind.LENGTH, delta=True) == parse("-1/16", Kind.LENGTH)


def test_the_callers_decimal_context_changes_nothing() -> None:
    wanted = parse("1176.337512 mm", Kind.LENGTH)
    with decimal.localcontext() as context:
        context.prec = 2
        context.rounding = decimal.ROUND_DOWN
        read = parse(
            "1176.337512 mm", Kind.LENGTH, limits=QuantityLimits(Decimal(1), Decimal(2000))
        )
        uncertainty = read.u
    assert read.value == Decimal("1176.337512") == wanted.value
    assert uncertainty == wanted.u


def test_what_is_read_cannot_be_altered() -> None:
    typed = parse("46", Kind.LENGTH)
    with pytest.raises(AttributeError):
        typed.value = Decimal(0)  # type: ignore[misc]
