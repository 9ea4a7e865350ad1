"""Scales against OIML R 76-1:2006, table 6 and A.4.4.3."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.rules.scales import (
    ScaleError,
    check_scale,
    indication,
    permissible_error,
)


class TestPermissibleError:
    @pytest.mark.parametrize(
        ("divisions", "allowed"),
        [(0, 0.5), (500, 0.5), (501, 1.0), (2000, 1.0), (2001, 1.5), (10000, 1.5)],
    )
    def test_table_6(self, divisions: int, allowed: float) -> None:
        for e in (0.02, 0.1, 1.0):
            assert permissible_error(divisions * e, e) == pytest.approx(allowed * e)
            assert permissible_error(divisions * e, e, in_service=True) == pytest.approx(
                2 * allowed * e
            )

    def test_a_corner_of_a_small_car(self) -> None:
        """e = 0.1 kg, 38 kg: +-0.05 kg at first, +-0.1 kg in service."""
        assert permissible_error(38, 0.1) == pytest.approx(0.05)
        assert permissible_error(38, 0.1, in_service=True) == pytest.approx(0.1)

    @given(st.floats(0, 900), st.floats(0, 100))
    def test_more_load_never_allows_less(self, load: float, more: float) -> None:
        assert permissible_error(load + more, 0.1) >= permissible_error(load, 0.1)

    @pytest.mark.parametrize(
        ("load", "e", "quantity"),
        [
            (-1, 0.1, "load"),
            (math.nan, 0.1, "load"),
            (1001, 0.1, "load"),
            (10, 0, "scale interval"),
            (10, math.inf, "scale interval"),
        ],
    )
    def test_names_what_is_wrong(self, load: float, e: float, quantity: str) -> None:
        with pytest.raises(ScaleError) as caught:
            permissible_error(load, e)
        assert caught.value.quantity == quantity


class TestErrorOfIndication:
    def test_by_hand(self) -> None:
        """A.4.4.3: P = I + e/2 - dL. 38.0 shown, e 0.1, up at 0.03 more: 38.02, error 0.02."""
        assert indication(38.0, 0.1, 0.03) == pytest.approx(38.02)
        reading = check_scale(38.0, 38.0, 0.1, added=0.03)
        assert reading.error == pytest.approx(0.02)
        assert reading.within

    @given(st.floats(0.0, 90.0), st.floats(-0.3, 0.3))
    def test_finds_the_hidden_error_of_a_rounding_scale(self, load: float, hidden: float) -> None:
        """A simulated scale: rounds load + hidden error to e; mass is added until it steps up."""
        e = 0.1
        shown = round((load + hidden) / e) * e
        added = (shown + e / 2) - (load + hidden)
        found = check_scale(shown, load, e, added=min(max(added, 0.0), e))
        assert found.error == pytest.approx(hidden, abs=1e-9)

    def test_a_scale_that_reads_high(self) -> None:
        assert not check_scale(38.2, 38.0, 0.1, added=0.05).within
        assert check_scale(38.1, 38.0, 0.1, added=0.05).within
        assert not check_scale(38.1, 38.0, 0.1, added=0.05, in_service=False).within

    def test_a_little_over_is_over(self) -> None:
        assert not check_scale(38.0, 38.0, 0.1, added=0.0, zero_error=-0.051).within
        assert check_scale(38.0, 38.0, 0.1, added=0.0, zero_error=-0.05).within

    def test_the_error_at_zero_is_taken_off(self) -> None:
        assert check_scale(38.2, 38.0, 0.1, added=0.05, zero_error=0.1).error == pytest.approx(0.1)

    @pytest.mark.parametrize("added", [-0.01, 0.11, math.nan])
    def test_names_the_added_mass(self, added: float) -> None:
        with pytest.raises(ScaleError) as caught:
            indication(38.0, 0.1, added)
        assert caught.value.quantity == "added mass"

    @pytest.mark.parametrize("added", [None, 0.05])
    def test_names_a_display_that_shows_nothing(self, added: float | None) -> None:
        with pytest.raises(ScaleError) as caught:
            check_scale(math.nan, 38.0, 0.1, added=added)
        assert caught.value.quantity == "shown"
