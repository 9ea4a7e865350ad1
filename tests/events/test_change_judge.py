"""What the rules of a class say of a change that is only thought of: every kind, or why not."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from cars.catalogue.keys import Key
from cars.figures.derived import Figure
from cars.models import BallastPiece, Car, Sheet
from cars.runs.queries.change_judges import CarThen, RuleOutcome
from cars.runs.queries.moved_ballast import PieceAt
from clubsetup.quantities.units import Units
from events.precheck.queries.change_judge import (
    NOT_FROM_FIGURES,
    PIECES,
    RulesOfClass,
    looks_at,
)
from events.rules import KINDS, Facts, RuleKind, rule_from
from events.rules.ballast import BallastRule
from events.rules.facts import PieceSeen

SHARES = {"left": "left-share", "rear": "rear-share", "cross": "cross", "weight": "total-weight"}
every_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


def judge(*rules: RuleKind, figures: dict[Key, Figure] | None = None, fuel: Any = None) -> Any:
    """These rules, of a car without ballast that stands by these figures."""
    one = RulesOfClass(Sheet(car=Car(), fuel=fuel), list(rules), None, figures or {}, Units(), {})
    one.__dict__["_pieces"] = ()
    return one


def figure(value: float, u: float = 0.01) -> Figure:
    return Figure(Decimal(str(value)), Decimal(str(u)))


def figures_of(facts: Facts) -> dict[Key, Figure]:
    """The figures of a sheet on which a rule's example car would stand."""
    found = {
        Key(measure, "car"): figure(estimate.value, estimate.u)
        for name, measure in SHARES.items()
        if (estimate := getattr(facts, name)) is not None
    }
    for at, estimate in (facts.readings or {}).items():
        found[Key(at.measure, at.spot)] = figure(estimate.value, estimate.u)
    return found


def piece_at(seen: PieceSeen) -> PieceAt:
    """A piece of the team that an official would see so."""
    marked = seen.marked_mass if seen.weighed_mass is None else seen.weighed_mass.value
    piece = BallastPiece(label=seen.label, marked_mass=Decimal(str(marked or 0)))
    return PieceAt(piece, seen.place)


class TestEveryKind:
    """A kind that somebody adds tomorrow is judged from figures, or says why it is not."""

    @every_kind
    def test_it_looks_at_a_measure_or_says_why_not(self, kind: type[RuleKind]) -> None:
        assert (looks_at(kind.example()) is None) == (kind in NOT_FROM_FIGURES)
        assert all(reason.endswith(".") for reason in NOT_FROM_FIGURES.values())

    @pytest.mark.parametrize(
        "kind", [one for one in KINDS.values() if not issubclass(one, BallastRule)]
    )
    def test_its_example_cars_meet_and_fail_from_their_figures(self, kind: type[RuleKind]) -> None:
        rule = kind.example()
        measure = looks_at(rule)
        for facts, outcome in (
            (rule.example_pass(), RuleOutcome.MEETS),
            (rule.example_fail(), RuleOutcome.FAILS),
        ):
            then = CarThen(figures_of(facts), moved={measure} if measure else {"weight", "cross"})
            told = judge(rule).rules_then(then)
            assert [one.outcome for one in told] == ([outcome] if measure else [])

    @pytest.mark.parametrize(
        "kind",
        [
            one
            for one in KINDS.values()
            if issubclass(one, BallastRule) and one not in NOT_FROM_FIGURES
        ],
    )
    def test_rules_on_ballast_look_at_the_pieces_as_they_would_be(
        self, kind: type[RuleKind]
    ) -> None:
        rule = kind.example()
        assert looks_at(rule) == PIECES
        bad = rule.example_fail().pieces or ()
        (told,) = judge(rule).rules_then(CarThen({}, pieces=[piece_at(one) for one in bad]))
        # What is marked on a piece is not weighed by the team: that cannot be said.
        expected = {RuleOutcome.FAILS, RuleOutcome.NOT_SAID}
        assert told.outcome in expected
        assert judge(rule).rules_then(CarThen({}, moved={"cross"})) == []

    @every_kind
    def test_what_only_reading_tells_cannot_be_said(self, kind: type[RuleKind]) -> None:
        rule = kind.example()
        measure = looks_at(rule)
        told = judge(rule).rules_then(CarThen({}, unknown={measure} if measure else {"weight"}))
        assert all(one.outcome is RuleOutcome.NOT_SAID for one in told)
        assert bool(told) == (measure is not None)

    @every_kind
    def test_without_its_figure_nothing_is_said(self, kind: type[RuleKind]) -> None:
        rule = kind.example()
        measure = looks_at(rule)
        if measure is not None and measure != PIECES:
            (told,) = judge(rule).rules_then(CarThen({}, moved={measure}))
            assert told.outcome is RuleOutcome.NOT_SAID


CROSS = Key("cross", "car")
LIMIT = rule_from("cross_limit", {"at_most": "55"})


def cross(now: float, then: float, u: float = 0.1) -> Any:
    (told,) = judge(LIMIT, figures={CROSS: figure(now, u)}).rules_then(
        CarThen({CROSS: figure(then, u)}, moved={"cross"})
    )
    return told


@pytest.mark.parametrize(
    ("now", "then", "outcome", "leaves"),
    [
        (52.0, 54.0, RuleOutcome.MEETS, False),
        (52.0, 56.0, RuleOutcome.FAILS, True),
        (57.0, 56.0, RuleOutcome.FAILS, False),
        (56.0, 57.0, RuleOutcome.FAILS, True),
        # Inside by less than its doubt: that is no 'legal'.
        (52.0, 54.9, RuleOutcome.TOO_CLOSE, False),
        (52.0, 55.05, RuleOutcome.FAILS, True),
    ],
)
def test_it_leaves_a_limit_where_it_goes_out_or_further_out(
    now: float, then: float, outcome: RuleOutcome, leaves: bool
) -> None:
    told = cross(now, then)
    assert (told.outcome, told.leaves) == (outcome, leaves)


def test_a_car_that_fails_as_it_stands_is_said_to() -> None:
    one = judge(LIMIT, figures={CROSS: figure(56.0)})
    (failing,) = one.failing_now()
    assert "over the most allowed" in failing.sentence
    assert judge(LIMIT, figures={CROSS: figure(54.0)}).failing_now() == []


@pytest.mark.parametrize(
    ("parameters", "fuel", "outcome"),
    [
        ({}, None, RuleOutcome.MEETS),
        ({"stage": "after"}, None, RuleOutcome.MEETS),
        ({"stage": "entry"}, None, RuleOutcome.MEETS),
        ({"fuel": "tank_empty"}, None, RuleOutcome.NOT_SAID),
        ({"fuel": "tank_empty"}, Decimal(0), RuleOutcome.MEETS),
        ({"fuel": "fuel_in"}, Decimal(1), RuleOutcome.MEETS),
        ({"with_driver": False}, None, RuleOutcome.NOT_SAID),
    ],
)
def test_a_minimum_is_held_to_the_car_as_it_was_weighed(
    parameters: dict[str, Any], fuel: Decimal | None, outcome: RuleOutcome
) -> None:
    rule = rule_from("minimum_weight", {"minimum": "140", **parameters})
    then = CarThen({Key("total-weight", "car"): figure(150.0)}, moved={"total-weight"})
    (told,) = judge(rule, fuel=fuel).rules_then(then)
    assert told.outcome is outcome


def test_a_larger_piece_than_allowed_and_a_place_that_is_not_are_seen() -> None:
    rules = [
        rule_from("ballast_largest_piece", {"at_most": "4"}),
        rule_from("ballast_place", {"places": "frame rail"}),
    ]
    piece = BallastPiece(label="7", marked_mass=Decimal(5))
    told = judge(*rules).rules_then(CarThen({}, pieces=[PieceAt(piece, "nose")]))
    assert [one.outcome for one in told] == [RuleOutcome.FAILS, RuleOutcome.FAILS]
    assert all(one.leaves for one in told)
    light = replace(PieceAt(piece, "left frame rail"), piece=BallastPiece(marked_mass=Decimal(3)))
    told = judge(*rules).rules_then(CarThen({}, pieces=[light]))
    assert [one.outcome for one in told] == [RuleOutcome.MEETS, RuleOutcome.MEETS]
