"""On target, off, or too close to tell: what must hold whatever the figures."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.judgement import COVERAGE, Outcome, judge

numbers = st.decimals(-1000, 1000, places=4)
sizes = st.decimals(0, 100, places=4)
SIXTEENTH = Decimal("1.5875")
U_TAPE = SIXTEENTH / Decimal(12).sqrt()  # JCGM 100:2008, 4.3.7: one step, rectangular


def test_nothing_taken_and_nothing_wanted() -> None:
    assert judge(None, Decimal(5)).outcome is Outcome.NOT_TAKEN
    assert judge(Decimal(5), None).outcome is Outcome.NO_TARGET


@pytest.mark.parametrize(
    ("sixteenths_off", "tolerance", "outcome"),
    [
        (0, SIXTEENTH, Outcome.ON_TARGET),
        (1, SIXTEENTH, Outcome.TOO_CLOSE),  # the tape cannot tell 1/16 from a hair less
        (2, SIXTEENTH, Outcome.OFF),
        (-2, SIXTEENTH, Outcome.OFF),
        (1, 2 * SIXTEENTH, Outcome.ON_TARGET),
        (0, SIXTEENTH / 2, Outcome.ON_TARGET),  # half a step is just what the tape can promise
        (0, SIXTEENTH / 4, Outcome.TOO_CLOSE),
    ],
)
def test_a_tape_of_sixteenths(sixteenths_off: int, tolerance: Decimal, outcome: Outcome) -> None:
    value = Decimal(500) + sixteenths_off * SIXTEENTH
    judged = judge(value, Decimal(500), tolerance, U_TAPE)
    assert judged.outcome is outcome
    assert judged.miss == sixteenths_off * SIXTEENTH
    assert judged.is_more is (sixteenths_off > 0)


@given(numbers, numbers, sizes)
def test_without_uncertainty_it_is_plain_arithmetic(
    value: Decimal, target: Decimal, tolerance: Decimal
) -> None:
    inside = abs(value - target) <= tolerance
    assert judge(value, target, tolerance).outcome is (Outcome.ON_TARGET if inside else Outcome.OFF)


@given(numbers, numbers, sizes, sizes, numbers)
def test_it_depends_on_the_difference_alone(
    value: Decimal, target: Decimal, tolerance: Decimal, u: Decimal, shift: Decimal
) -> None:
    here = judge(value, target, tolerance, u)
    assert judge(value + shift, target + shift, tolerance, u) == here
    mirrored = judge(-value, -target, tolerance, u)
    assert (mirrored.outcome, mirrored.miss) == (here.outcome, -here.miss)


@given(numbers, numbers, sizes, sizes, sizes)
def test_knowing_less_never_makes_a_verdict_firmer(
    value: Decimal, target: Decimal, tolerance: Decimal, u: Decimal, more: Decimal
) -> None:
    sure, unsure = (judge(value, target, tolerance, x).outcome for x in (u, u + more))
    assert unsure in (sure, Outcome.TOO_CLOSE)


@given(numbers, numbers, sizes, sizes, st.sampled_from([-1, 0, 1]))
def test_a_firm_verdict_is_true_of_everything_the_figure_may_be(
    value: Decimal, target: Decimal, tolerance: Decimal, u: Decimal, end: int
) -> None:
    outcome = judge(value, target, tolerance, u).outcome
    may_be = value + end * (u * COVERAGE).quantize(Decimal("1e-10"))
    if outcome is Outcome.ON_TARGET:
        assert abs(may_be - target) <= tolerance
    if outcome is Outcome.OFF:
        assert abs(may_be - target) > tolerance


@pytest.mark.parametrize("wrong", [{"tolerance": Decimal(-1)}, {"u": Decimal(-1)}])
def test_negative_sizes_are_refused(wrong: dict[str, Decimal]) -> None:
    with pytest.raises(ValueError, match="zero or more"):
        judge(Decimal(1), Decimal(1), **wrong)
