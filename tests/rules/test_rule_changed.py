"""A car whose mass has changed since it was weighed: 'meets' goes, nothing else does."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clubsetup.quantities.uncertainty import Estimate
from events.rules import DecisionRule, Facts, Outcome, ScaleDoubt, Stage, rule_from
from events.rules.base import RuleKind

CAME_OFF = "a piece of ballast came off"
BY_SCALES = [
    rule_from("minimum_weight", {"minimum": "145"}),
    rule_from("left_limit", {"at_least": "50", "at_most": "58"}),
    rule_from("rear_limit", {"at_most": "60"}),
    rule_from("cross_limit", {"at_least": "48", "at_most": "56"}),
    rule_from("driver_weight_band", {"at_most": "45"}),
]


@st.composite
def cars(draw: st.DrawFn) -> Facts:
    """A weighed car, near its limits and far from them."""
    share = st.builds(Estimate, st.floats(40, 70), st.floats(0, 1))
    return Facts(
        stage=draw(st.sampled_from(list(Stage))),
        driver_in=draw(st.booleans()),
        weight=draw(st.builds(Estimate, st.floats(144, 146), st.floats(0, 0.3))),
        left=draw(st.none() | share),
        rear=draw(st.none() | share),
        cross=draw(st.none() | share),
        driver_weight=draw(st.none() | st.builds(Estimate, st.floats(44, 46), st.floats(0, 0.3))),
        scales=draw(st.sampled_from(list(ScaleDoubt))),
    )


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(cars(), st.sampled_from(BY_SCALES), st.sampled_from(list(DecisionRule)))
def test_meets_is_taken_away_and_fails_never(car: Facts, rule: RuleKind, how: DecisionRule) -> None:
    before = rule.check(car, how)
    after = rule.check(replace(car, changed=CAME_OFF, driver_changed=CAME_OFF), how)
    if before.outcome is Outcome.MEETS:
        assert after.outcome is Outcome.NOT_CHECKED
        assert after.sentence == "Weigh again: since it was weighed, a piece of ballast came off."
        assert after.evidence() == {}
    else:
        assert after == before


@pytest.mark.parametrize("kind", ["ballast_fixed", "ballast_marked", "ride_height_limit"])
def test_what_is_not_weighed_stands(kind: str) -> None:
    rule = rule_from(kind, {"at_least": "50"} if kind == "ride_height_limit" else {})
    car = replace(rule.example_pass(), changed=CAME_OFF, driver_changed=CAME_OFF)
    assert rule.check(car).outcome is Outcome.MEETS
