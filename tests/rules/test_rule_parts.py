"""Requirements with parts: some of them are not all, and the whole is never better than a part."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clubsetup.quantities.uncertainty import Estimate
from events.rules import KINDS, DecisionRule, Facts, Outcome, PieceSeen, Where, rule_from
from events.rules.ballast import BallastRule
from events.rules.base import RuleKind
from events.rules.decision import worst
from events.rules.judging import RuleResult

BALLAST = [kind.example() for kind in KINDS.values() if issubclass(kind, BallastRule)]
SPOTS = {
    "ride-height": ("LF", "RF", "LR", "RR"),
    "wheelbase": ("left", "right"),
    "rear-bar": ("left", "right"),
    "track-width": ("front", "rear"),
    "circumference": ("LF", "RF", "LR", "RR"),
}
BANDS = {"at_least": "300", "at_most": "1300"}
KIND_OF = {
    "ride-height": "ride_height_limit",
    "wheelbase": "wheelbase_limit",
    "track-width": "track_width_limit",
    "circumference": "tyre_limit",
}
PIECE = st.builds(
    PieceSeen,
    label=st.sampled_from(["", "7"]),
    marked_mass=st.none() | st.floats(0.5, 8),
    weighed_mass=st.none() | st.builds(Estimate, st.floats(0.5, 8), st.floats(0, 0.1)),
    place=st.sampled_from(["", "frame rail", "nose"]),
    fixed=st.none() | st.booleans(),
)
GOOD = PieceSeen(
    label="7",
    marked_mass=2.0,
    weighed_mass=Estimate(2.0, 0.0),
    place="frame rail",
    fixed=True,
)
HOW = st.sampled_from(list(DecisionRule))


def limit(measure: str, spot: str = "") -> RuleKind:
    """A limit on the measure, as the club would declare it, at one spot or every one."""
    if kind := KIND_OF.get(measure):
        return rule_from(kind, {**BANDS, "spot": spot})
    return rule_from("length_limit", {**BANDS, "measure": measure, "spot": spot})


@pytest.mark.parametrize("rule", BALLAST, ids=lambda rule: rule.kind)
class TestPieces:
    def test_one_of_two_is_not_all(self, rule: RuleKind) -> None:
        result = rule.check(Facts(pieces=(GOOD,), unseen=1))
        assert result.outcome is Outcome.NOT_CHECKED
        assert result.sentence == "1 of 2 looked at."
        assert result.evidence() == {}

    def test_the_second_makes_them_all(self, rule: RuleKind) -> None:
        assert rule.check(Facts(pieces=(GOOD, GOOD))).outcome is Outcome.MEETS

    def test_nobody_has_looked(self, rule: RuleKind) -> None:
        result = rule.check(Facts(unseen=2))
        assert result.outcome is Outcome.NOT_CHECKED
        assert result.sentence == "The ballast has not been looked at yet. 0 of 2 looked at."

    def test_a_piece_listed_after_none_was_found(self, rule: RuleKind) -> None:
        result = rule.check(Facts(pieces=(), unseen=1))
        assert (result.outcome, result.sentence) == (Outcome.NOT_CHECKED, "0 of 1 looked at.")

    def test_all_off_is_not_yet_none(self, rule: RuleKind) -> None:
        assert rule.check(Facts(off=1)).outcome is Outcome.NOT_CHECKED
        assert rule.check(Facts(pieces=(), off=1)).outcome is Outcome.MEETS


def test_what_is_wrong_already_is_told_with_the_count() -> None:
    rule = KINDS["ballast_fixed"].example()
    result = rule.check(Facts(pieces=(PieceSeen(label="7", fixed=False),), unseen=2))
    assert result.outcome is Outcome.FAILS
    assert result.sentence.endswith("The car must not run with it. 1 of 3 looked at.")


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(BALLAST), st.lists(PIECE, max_size=4), st.integers(0, 3), HOW)
def test_ballast_is_never_better_than_a_piece(
    rule: RuleKind, pieces: list[PieceSeen], unseen: int, how: DecisionRule
) -> None:
    def of(*seen: PieceSeen, more: int = 0) -> RuleResult:
        return rule.check(Facts(pieces=seen, unseen=more), how)

    whole = of(*pieces, more=unseen)
    parts = [of(piece).outcome for piece in pieces] + [Outcome.NOT_CHECKED] * unseen
    assert whole.outcome is worst(parts)
    if unseen:
        assert f"{len(pieces)} of {len(pieces) + unseen} looked at." in whole.sentence


@pytest.mark.parametrize("measure", SPOTS)
def test_some_spots_are_not_all(measure: str) -> None:
    spots = SPOTS[measure]
    rule, inside = limit(measure), Estimate(305.0, 0.4)
    for seen in range(1, len(spots)):
        read = {Where(measure, spot): inside for spot in spots[:seen]}
        result = rule.check(Facts(readings=read, spots=SPOTS))
        missing = ", ".join(spots[seen:])
        assert result.outcome is Outcome.NOT_CHECKED
        assert result.sentence == f"{seen} of {len(spots)} measured; {missing} not yet."
        assert result.evidence() == {}
    every = {Where(measure, spot): inside for spot in spots}
    assert rule.check(Facts(readings=every, spots=SPOTS)).outcome is Outcome.MEETS


def test_one_side_outside_fails_before_the_other_is_measured() -> None:
    read = {Where("wheelbase", "left"): Estimate(1400.0, 0.4)}
    result = limit("wheelbase").check(Facts(readings=read, spots=SPOTS))
    assert result.outcome is Outcome.FAILS
    assert result.sentence.endswith(" 1 of 2 measured; right not yet.")


def test_a_rule_for_one_spot_asks_for_no_other() -> None:
    read = {Where("ride-height", "LF"): Estimate(305.0, 0.4)}
    assert limit("ride-height", "LF").check(Facts(readings=read, spots=SPOTS)).outcome is (
        Outcome.MEETS
    )


def test_a_reading_that_must_be_taken_is_taken_at_every_spot() -> None:
    rule = rule_from("required_reading", {"measure": "ride-height"})
    read = {Where("ride-height", spot): Estimate(55.0, 0.4) for spot in ("LF", "RF")}
    result = rule.check(Facts(readings=read, spots=SPOTS))
    assert result.outcome is Outcome.NOT_CHECKED
    assert result.sentence == "2 of 4 measured; LR, RR not yet."
    read |= {Where("ride-height", spot): Estimate(55.0, 0.4) for spot in ("LR", "RR")}
    assert rule.check(Facts(readings=read, spots=SPOTS)).outcome is Outcome.MEETS


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.sampled_from(sorted(SPOTS)), HOW)
def test_a_measure_is_never_better_than_a_spot(
    data: st.DataObject, measure: str, how: DecisionRule
) -> None:
    reading = st.builds(Estimate, st.floats(298, 302) | st.floats(1298, 1302), st.floats(0, 2))
    read = {
        Where(measure, spot): one
        for spot in SPOTS[measure]
        if (one := data.draw(st.none() | reading)) is not None
    }
    facts = Facts(readings=read, spots=SPOTS)
    parts = [limit(measure, spot).check(facts, how).outcome for spot in SPOTS[measure]]
    assert limit(measure).check(facts, how).outcome is (
        worst(parts) if read else Outcome.NOT_CHECKED
    )
