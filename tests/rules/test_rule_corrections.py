"""Errors and corrections of checked scales, against figures worked by hand and GTC."""

import math

import pytest
from GTC import ureal
from hypothesis import given
from hypothesis import strategies as st

from events.rules.corrections import (
    CheckedLoad,
    checked_load,
    correction_at,
    corrections,
    together,
)
from events.rules.scales import ScaleError

loads = st.floats(1, 200)


def pad(load: float, error: float, u: float = 0.03) -> CheckedLoad:
    return CheckedLoad(load, error, 1.0, u, True)


class TestOnePad:
    def test_the_display_alone(self) -> None:
        # e = 0.1 kg, 38 kg: allowed +-0.1 kg in service (OIML R 76-1:2006, table 6 and 3.5.2).
        found = checked_load(38.1, 38.0, 0.1)
        assert found.error == pytest.approx(0.1)
        assert found.allowed == pytest.approx(0.1)
        assert found.within
        assert found.u == pytest.approx(0.1 / math.sqrt(12))

    def test_the_extra_mass_tells_ten_times_finer(self) -> None:
        # P = I + e/2 - dL = 38.1 + 0.05 - 0.07 = 38.08 (A.4.4.3).
        found = checked_load(38.1, 38.0, 0.1, added=0.07)
        assert found.error == pytest.approx(0.08)
        assert found.u == pytest.approx(0.01 / math.sqrt(12))

    def test_a_step_too_far_fails(self) -> None:
        assert not checked_load(38.2, 38.0, 0.1).within
        assert not checked_load(37.8, 38.0, 0.1).within

    def test_the_extra_mass_can_fail_what_the_display_passes(self) -> None:
        assert checked_load(38.1, 38.0, 0.1).within
        assert not checked_load(38.1, 38.0, 0.1, added=0.01).within

    @pytest.mark.parametrize("load", [0.0, -1.0])
    def test_nothing_on_the_pad_is_no_check(self, load: float) -> None:
        with pytest.raises(ScaleError):
            checked_load(0.1, load, 0.1)


class TestCorrection:
    def test_is_the_error_turned_round(self) -> None:
        assert correction_at(80, [pad(80, 0.2)]).value == -0.2

    def test_lies_on_the_line_between_two_loads(self) -> None:
        half = correction_at(60, [pad(80, 0.2), pad(40, 0.0)])
        assert half.value == pytest.approx(-0.1)
        assert half.u == pytest.approx(0.03 * math.sqrt(0.5))

    def test_stands_still_beyond_the_loads_checked(self) -> None:
        two = [pad(40, 0.1), pad(80, 0.2)]
        assert correction_at(10, two).value == -0.1
        assert correction_at(300, two).value == -0.2

    def test_needs_a_check(self) -> None:
        with pytest.raises(ScaleError):
            correction_at(40, [])

    @given(loads, st.floats(-1, 1), st.floats(-1, 1), st.floats(0.001, 1), st.floats(0.001, 1))
    def test_agrees_with_gtc(
        self, load: float, low: float, high: float, u_low: float, u_high: float
    ) -> None:
        found = correction_at(load, [pad(40, low, u_low), pad(80, high, u_high)])
        share = min(max((load - 40) / 40, 0.0), 1.0)
        a, b = ureal(low, u_low), ureal(high, u_high)
        said = -(a * (1 - share) + b * share)
        assert found.value == pytest.approx(said.x)
        assert found.u == pytest.approx(said.u)

    @given(loads)
    def test_a_right_scale_needs_none(self, load: float) -> None:
        assert correction_at(load, [pad(40, 0.0), pad(80, 0.0)]).value == 0.0


class TestTotal:
    def test_is_the_sum_of_the_pads(self) -> None:
        each = corrections(
            {"LF": 40.0, "RF": 40.0}, 80.0, {"LF": [pad(40, 0.1)], "RF": [pad(40, -0.3)]}
        )
        said = together(each)
        assert said.value == pytest.approx(0.2)
        assert said.u == pytest.approx(0.03 * math.sqrt(2))

    def test_of_a_total_alone_is_taken_at_a_quarter_each(self) -> None:
        line = [pad(20, 0.0), pad(60, 0.4)]
        each = corrections({}, 160.0, dict.fromkeys(("LF", "RF", "LR", "RR"), line))
        assert each["LF"].value == pytest.approx(-0.2)

    def test_of_a_platform_is_taken_at_the_total(self) -> None:
        each = corrections({}, 160.0, {"car": [pad(100, 0.1), pad(200, 0.2)]})
        assert each["car"].value == pytest.approx(-0.16)
