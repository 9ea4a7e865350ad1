"""Air and fuel against CoolProp and the published standard atmosphere."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics.air import (
    density,
    density_altitude,
    isa_density,
    isa_pressure,
    pressure_altitude,
)
from cars.mechanics.errors import BadInput
from cars.mechanics.fuel import DENSITIES, Fuel, fuel_mass

altitudes = st.floats(-500, 4000)


class TestDensity:
    def test_cipm_values(self) -> None:
        """CIPM-2007 with Picard et al.'s coefficients, computed apart from this code."""
        assert density(20, 101.325, 0.5) == pytest.approx(1.199313895, abs=2e-9)
        assert density(20, 101.325, 0.0) == pytest.approx(1.204557342, abs=2e-9)

    def test_offset_from_coolprop(self) -> None:
        """CoolProp HAPropsSI gives 3.8e-5 more at 20 degC, 101.325 kPa, 50 %."""
        theirs = 1 / HAPropsSI("Vha", "T", 293.15, "P", 101325, "R", 0.5)
        assert theirs / density(20, 101.325, 0.5) - 1 == pytest.approx(3.8e-5, abs=1e-6)

    @given(st.floats(-10, 50), st.floats(60, 110), st.floats(0, 1))
    def test_against_coolprop_over_the_range(
        self, temperature: float, pressure: float, humidity: float
    ) -> None:
        theirs = 1 / HAPropsSI(
            "Vha", "T", temperature + 273.15, "P", pressure * 1000, "R", humidity
        )
        assert density(temperature, pressure, humidity) == pytest.approx(theirs, rel=2e-4)

    @given(st.floats(0, 45), st.floats(80, 105), st.floats(0, 0.9))
    def test_hot_low_or_wet_air_is_thin(
        self, temperature: float, pressure: float, humidity: float
    ) -> None:
        here = density(temperature, pressure, humidity)
        assert density(temperature + 1, pressure, humidity) < here
        assert density(temperature, pressure + 1, humidity) > here
        assert density(temperature, pressure, humidity + 0.1) < here

    def test_carbon_dioxide_makes_it_heavier(self) -> None:
        assert density(20, 100, 0.5, 1000e-6) > density(20, 100, 0.5)

    @pytest.mark.parametrize(
        ("arguments", "quantity"),
        [
            ((60, 100, 0.5), "temperature"),
            ((math.nan, 100, 0.5), "temperature"),
            ((20, 101325, 0.5), "pressure"),
            ((20, 0, 0.5), "pressure"),
            ((20, 100, -0.1), "humidity"),
            ((20, 100, 50), "humidity"),
            ((20, 100, math.inf), "humidity"),
            ((20, 100, 0.5, 400), "carbon_dioxide"),
        ],
    )
    def test_names_what_is_wrong(self, arguments: tuple[float, ...], quantity: str) -> None:
        with pytest.raises(BadInput) as caught:
            density(*arguments)
        assert caught.value.quantity == quantity

    def test_percent_is_recognised(self) -> None:
        with pytest.raises(BadInput, match="percent"):
            density(20, 100, 50)


class TestStandardAtmosphere:
    def test_a_thousand_metres(self) -> None:
        """ISA at 1000 m geopotential: 89874.5629 Pa, 1.111642500 kg/m3 (density published)."""
        assert isa_pressure(1000) == pytest.approx(89.8745629, abs=1e-7)
        assert isa_density(1000) == pytest.approx(1.1116425, abs=1e-9)

    def test_the_published_exponent(self) -> None:
        """H = (288.15/0.0065) (1 - (rho/1.225)^(1/4.255879813)), as published."""
        published = 288.15 / 0.0065 * (1 - (1.15 / 1.225) ** (1 / 4.255879813))
        assert density_altitude(1.15) == pytest.approx(published, abs=1e-3)

    def test_sea_level(self) -> None:
        assert isa_pressure(0) == 101.325
        assert isa_density(0) == pytest.approx(1.225, abs=2e-8)
        assert pressure_altitude(101.325) == pytest.approx(0, abs=1e-9)
        assert density_altitude(1.225) == pytest.approx(0, abs=1e-3)

    @given(altitudes)
    def test_there_and_back(self, altitude: float) -> None:
        assert pressure_altitude(isa_pressure(altitude)) == pytest.approx(altitude, abs=1e-6)
        assert density_altitude(isa_density(altitude)) == pytest.approx(altitude, abs=1e-6)

    @given(altitudes)
    def test_a_standard_day_is_where_it_is(self, altitude: float) -> None:
        """Dry CIPM air at the standard's temperature and pressure: within 12 m of its altitude.

        The standard air is ideal and holds 314 ppm of carbon dioxide (from memory).
        """
        temperature = 15 - 0.0065 * altitude
        if not -10 <= temperature <= 50 or not 60 <= isa_pressure(altitude) <= 110:
            return
        rho = density(temperature, isa_pressure(altitude), 0, 314e-6)
        assert density_altitude(rho) == pytest.approx(altitude, abs=12)

    def test_a_hot_wet_day_runs_high(self) -> None:
        assert density_altitude(density(35, 101.325, 0.8)) > 700

    @pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, 3.0])
    def test_names_the_density(self, bad: float) -> None:
        with pytest.raises(BadInput) as caught:
            density_altitude(bad)
        assert caught.value.quantity == "air density"

    @pytest.mark.parametrize(("bad", "ask"), [(5.0, pressure_altitude), (2e4, isa_pressure)])
    def test_names_what_lies_outside(self, bad: float, ask: Callable[[float], float]) -> None:
        with pytest.raises(BadInput) as caught:
            ask(bad)
        assert caught.value.quantity in ("pressure", "altitude")


class TestFuel:
    """US DOE Alternative Fuels Data Center: 6.61, 6.63 and 6.0 to 6.5 lb per US gallon."""

    @pytest.mark.parametrize(("fuel", "pounds"), [("ethanol", 6.61), ("methanol", 6.63)])
    def test_a_gallon(self, fuel: Fuel, pounds: float) -> None:
        mass, _ = fuel_mass(3.785411784, fuel)
        assert mass / 0.45359237 == pytest.approx(pounds)

    def test_gasoline_covers_its_range(self) -> None:
        mass, u = fuel_mass(3.785411784, "gasoline")
        assert (mass - u * 3**0.5) / 0.45359237 == pytest.approx(6.0)
        assert (mass + u * 3**0.5) / 0.45359237 == pytest.approx(6.5)

    def test_methanol_against_coolprop(self) -> None:
        """CoolProp: 795.690804 kg/m3 at 15 degC; the table's 60 degF is 15.56 degC."""
        assert PropsSI("D", "T", 288.15, "P", 101325, "Methanol") == pytest.approx(
            795.690804, abs=1e-3
        )
        theirs = PropsSI("D", "T", 288.7056, "P", 101325, "Methanol") / 1000
        assert DENSITIES["methanol"].value == pytest.approx(theirs, rel=2e-3)

    @given(st.floats(0, 20), st.sampled_from(sorted(DENSITIES)))
    def test_twice_the_fuel_is_twice_the_mass(self, litres: float, fuel: Fuel) -> None:
        one, two = fuel_mass(litres, fuel), fuel_mass(2 * litres, fuel)
        assert two == pytest.approx((2 * one[0], 2 * one[1]))

    @pytest.mark.parametrize(
        ("litres", "fuel", "quantity"), [(-1, "ethanol", "litres"), (1, "soup", "fuel")]
    )
    def test_names_what_is_wrong(self, litres: int, fuel: Any, quantity: str) -> None:
        with pytest.raises(BadInput) as caught:
            fuel_mass(litres, fuel)
        assert caught.value.quantity == quantity
