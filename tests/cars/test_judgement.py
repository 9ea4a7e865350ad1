"""On target, off, or too close to tell: what must hold whatever the figures."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.figures.judgement import K_95, FigureOutcome, judge, reach_of, worst

numbers = st.decimals(-1000, 1000, places=4)
sizes = st.decimals(0, 100, places=4)
SIXTEENTH = Decimal("1.5875")
HALF_STEP = SIXTEENTH / 2


def test_nothing_taken_and_nothing_wanted() -> None:
    assert judge(None, Decimal(5)).outcome is FigureOutcome.NOT_TAKEN
    assert judge(Decimal(5), None).outcome is FigureOutcome.NO_TARGET


@pytest.mark.parametrize(
    ("sixteenths_off", "tolerance", "outcome"),
    [
        (0, SIXTEENTH, FigureOutcome.ON_TARGET),
        (1, SIXTEENTH, FigureOutcome.TOO_CLOSE),  # the tape cannot tell 1/16 from a hair less
        (2, SIXTEENTH, FigureOutcome.OFF),
        (-2, SIXTEENTH, FigureOutcome.OFF),
        (1, 2 * SIXTEENTH, FigureOutcome.ON_TARGET),
        (
            0,
            SIXTEENTH / 2,
            FigureOutcome.ON_TARGET,
        ),  # half a step is just what the tape can promise
        (0, SIXTEENTH / 4, FigureOutcome.TOO_CLOSE),
    ],
)
def test_a_tape_of_sixteenths(
    sixteenths_off: int, tolerance: Decimal, outcome: FigureOutcome
) -> None:
    value = Decimal(500) + sixteenths_off * SIXTEENTH
    judged = judge(value, Decimal(500), tolerance, HALF_STEP)
    assert judged.outcome is outcome
    assert judged.miss == sixteenths_off * SIXTEENTH
    assert judged.is_more is (sixteenths_off > 0)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("off_by", "outcome"),
    [
        ("1", FigureOutcome.ON_TARGET),  # the far end lies just on the limit
        ("1.0001", FigureOutcome.TOO_CLOSE),
        ("3", FigureOutcome.TOO_CLOSE),  # the near end lies just on the limit, which is on target
        ("3.0001", FigureOutcome.OFF),
    ],
)
def test_the_edges_on_either_side(sign: int, off_by: str, outcome: FigureOutcome) -> None:
    """A tolerance of 2 and a reach of 1: sure up to 1, and sure again past 3."""
    value = Decimal(500) + sign * Decimal(off_by)
    judged = judge(value, Decimal(500), Decimal(2), Decimal(1))
    assert (judged.outcome, judged.miss) == (outcome, sign * Decimal(off_by))
    assert judged.is_more is (sign > 0)


def test_on_the_target_to_the_last_digit_it_is_not_more() -> None:
    assert judge(Decimal(5), Decimal(5)).is_more is False


@given(numbers, numbers, sizes)
def test_without_reach_it_is_plain_arithmetic(
    value: Decimal, target: Decimal, tolerance: Decimal
) -> None:
    inside = abs(value - target) <= tolerance
    assert judge(value, target, tolerance).outcome is (
        FigureOutcome.ON_TARGET if inside else FigureOutcome.OFF
    )


@given(numbers, numbers, sizes, sizes, numbers)
def test_it_depends_on_the_difference_alone(
    value: Decimal, target: Decimal, tolerance: Decimal, reach: Decimal, shift: Decimal
) -> None:
    here = judge(value, target, tolerance, reach)
    assert judge(value + shift, target + shift, tolerance, reach) == here
    mirrored = judge(-value, -target, tolerance, reach)
    assert (mirrored.outcome, mirrored.miss) == (here.outcome, -here.miss)


@given(numbers, numbers, sizes, sizes, sizes)
def test_knowing_less_never_makes_a_verdict_firmer(
    value: Decimal, target: Decimal, tolerance: Decimal, reach: Decimal, more: Decimal
) -> None:
    sure, unsure = (judge(value, target, tolerance, x).outcome for x in (reach, reach + more))
    assert unsure in (sure, FigureOutcome.TOO_CLOSE)


@given(numbers, numbers, sizes, sizes, st.sampled_from([-1, 0, 1]))
def test_a_firm_verdict_is_true_of_everything_the_figure_may_be(
    value: Decimal, target: Decimal, tolerance: Decimal, reach: Decimal, end: int
) -> None:
    outcome = judge(value, target, tolerance, reach).outcome
    may_be = value + end * reach
    if outcome is FigureOutcome.ON_TARGET:
        assert abs(may_be - target) <= tolerance
    if outcome is FigureOutcome.OFF:
        assert abs(may_be - target) > tolerance


@pytest.mark.parametrize("wrong", [{"tolerance": Decimal(-1)}, {"reach": Decimal(-1)}])
def test_negative_sizes_are_refused(wrong: dict[str, Decimal]) -> None:
    with pytest.raises(ValueError, match=r"^tolerance and reach are zero or more$"):
        judge(Decimal(1), Decimal(1), **wrong)


def test_what_is_computed_reaches_as_far_as_its_95_percent() -> None:
    """k = 1.96 for 95 % of a normal distribution (JCGM 100:2008, table G.1)."""
    assert round(K_95, 2) == Decimal("1.96")
    assert reach_of(Decimal(1)) == Decimal("1.9599639845")
    assert reach_of(Decimal(0)) == 0


def test_a_prediction_that_may_as_well_be_off_is_not_on_target() -> None:
    """56.1 +- 0.6 against 56.0 +- 0.5 may be 55.5 to 56.7."""
    judged = judge(Decimal("56.1"), Decimal(56), Decimal("0.5"), Decimal("0.6"))
    assert judged.outcome is FigureOutcome.TOO_CLOSE


@pytest.mark.parametrize(
    ("outcomes", "together"),
    [
        ([], FigureOutcome.NO_TARGET),
        ([FigureOutcome.ON_TARGET, FigureOutcome.ON_TARGET], FigureOutcome.ON_TARGET),
        ([FigureOutcome.ON_TARGET, FigureOutcome.TOO_CLOSE], FigureOutcome.TOO_CLOSE),
        ([FigureOutcome.TOO_CLOSE, FigureOutcome.OFF, FigureOutcome.ON_TARGET], FigureOutcome.OFF),
    ],
)
def test_several_are_as_good_as_the_worst(
    outcomes: list[FigureOutcome], together: FigureOutcome
) -> None:
    assert worst(outcomes) is together
