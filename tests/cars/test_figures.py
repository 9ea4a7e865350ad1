"""Figures read and figures computed, against hand-worked ones and `uncertainties`."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from cars.catalogue.keys import Key
from cars.figures.derived import Figure, add_derived, figures_of
from cars.models import Reading

weights = st.decimals(5, 400, places=3)
spreads = st.decimals("0.01", 2, places=3)


def reading(measure: str, spot: str, value: str, resolution: str = "1", take: int = 1) -> Reading:
    return Reading(
        measure_id=measure,
        spot=spot,
        value=Decimal(value),
        resolution=Decimal(resolution),
        typed=value,
        take=take,
    )


def pads(values: list[Decimal], u: Decimal) -> dict[Key, Figure]:
    spots = ("LF", "RF", "LR", "RR")
    return {Key("weight", s): Figure(v, u) for s, v in zip(spots, values, strict=True)}


def test_lead_and_stagger_by_hand() -> None:
    figures = add_derived(
        figures_of(
            [
                reading("wheelbase", "left", "1174.75"),
                reading("wheelbase", "right", "1187.45"),
                reading("circumference", "LR", "857.25"),
                reading("circumference", "RR", "908.05"),
            ]
        )
    )
    assert figures[Key("lead", "car")].value == Decimal("12.7")
    assert figures[Key("stagger", "rear")].value == Decimal("50.8")
    assert Key("stagger", "front") not in figures
    # Two ends of a tape with steps of 1: sqrt 2 times 1/sqrt 12.
    assert float(figures[Key("lead", "car")].u) == pytest.approx((2 / 12) ** 0.5, rel=1e-6)


@given(st.lists(weights, min_size=4, max_size=4), spreads)
def test_shares_and_their_uncertainty_against_uncertainties(
    values: list[Decimal], u: Decimal
) -> None:
    lf, rf, lr, rr = (ufloat(float(v), float(u)) for v in values)
    total = lf + rf + lr + rr
    expected = {
        "total-weight": total,
        "left-share": 100 * (lf + lr) / total,
        "rear-share": 100 * (lr + rr) / total,
        "cross": 100 * (rf + lr) / total,
    }
    figures = add_derived(pads(values, u))
    for measure, want in expected.items():
        got = figures[Key(measure, "car")]
        assert float(got.value) == pytest.approx(want.nominal_value, abs=1e-6)
        assert float(got.u) == pytest.approx(want.std_dev, abs=1e-6)
    assert figures[Key("total-weight", "car")].value == sum(values)


def test_three_pads_say_nothing() -> None:
    figures = pads([Decimal(50)] * 4, Decimal("0.1"))
    del figures[Key("weight", "RR")]
    assert add_derived(figures) == figures
    assert add_derived(pads([Decimal(0)] * 4, Decimal(0))).keys() == figures.keys() | {
        Key("weight", "RR")
    }


def test_repeats_are_averaged_and_do_not_sharpen_the_tool() -> None:
    rows = [reading("camber", "left", v, "0.1", take) for take, v in enumerate(["1.4", "1.6"], 1)]
    figure = figures_of(rows)[Key("camber", "left")]
    assert figure.value == Decimal("1.5")
    assert float(figure.u) == pytest.approx(0.1 / 12**0.5, rel=1e-6)


def test_a_count_is_exact() -> None:
    key = Key("teeth-driven", "car")
    figure = figures_of([reading("teeth-driven", "car", "62", "0")])[key]
    assert (figure.value, figure.u, figure.reach) == (Decimal(62), Decimal(0), Decimal(0))


def test_a_figure_read_reaches_half_a_step_and_a_computed_one_its_95_percent() -> None:
    """Two wheelbases read to a sixteenth: u of the lead is sqrt(2) step / sqrt(12)."""
    step = Decimal("1.5875")
    rows = [
        reading("wheelbase", side, value, str(step))
        for side, value in (("left", "1174.75"), ("right", "1187.45"))
    ]
    figures = add_derived(figures_of(rows))
    assert figures[Key("wheelbase", "left")].reach == step / 2
    reach = 1.959964 * float(step) / 6**0.5
    assert float(figures[Key("lead", "car")].reach) == pytest.approx(reach, rel=1e-6)
