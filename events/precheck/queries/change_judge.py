"""What a class's rules would say of a car after a change, from the team's own figures.

Nothing official: a prediction is held to the rule by its own doubt.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from cars.catalogue.keys import Key
from cars.figures.derived import Figure
from cars.models import Sheet
from cars.runs.queries.change_judges import CarThen, ClassJudge, RuleOutcome, RuleThen
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.models import Entry
from events.precheck.queries.car_facts import PlacedPiece, estimates_of, own_labels, pieces_of
from events.queries.readings import spots_of_lengths
from events.queries.rule_sets import rules_for, rules_in
from events.rules import DecisionRule, Facts, Outcome, PieceSeen, RuleKind, Stage
from events.rules.ballast import BallastFixed, BallastRule
from events.rules.driver import DriverAge, DriverWeightBand
from events.rules.judging import Judge, RuleResult
from events.rules.measured import OnTheCar, RequiredReading
from events.rules.weight import ANY, CrossLimit, LeftLimit, MinimumWeight, RearLimit

PIECES = "pieces"
SHARES: dict[type[RuleKind], str] = {
    LeftLimit: "left-share",
    RearLimit: "rear-share",
    CrossLimit: "cross",
}
# What no figure of a car tells, and why.
NOT_FROM_FIGURES: dict[type[RuleKind], str] = {
    DriverAge: "It is of the driver, and nothing done to the car changes it.",
    DriverWeightBand: "It is of the driver, and nothing done to the car changes it.",
    BallastFixed: "Only a hand at the piece itself tells whether it holds.",
    RequiredReading: "It asks for an official's reading, whatever that says.",
}
SAID = {
    Outcome.MEETS: RuleOutcome.MEETS,
    Outcome.FAILS: RuleOutcome.FAILS,
    Outcome.TOO_CLOSE: RuleOutcome.TOO_CLOSE,
    Outcome.NOT_CHECKED: RuleOutcome.NOT_SAID,
}


def looks_at(rule: RuleKind) -> str | None:
    """The measure that a rule looks at, or `PIECES`; None where no figure tells."""
    if type(rule) in NOT_FROM_FIGURES:
        return None
    if isinstance(rule, MinimumWeight):
        return "total-weight"
    if isinstance(rule, BallastRule):
        return PIECES
    return rule.measure if isinstance(rule, OnTheCar) else SHARES.get(type(rule))


@dataclass(eq=False)
class RulesOfClass:
    """Published rules, and the car as it stands by these figures."""

    sheet: Sheet
    rules: list[RuleKind]
    entry: Entry | None
    figures: Mapping[Key, Figure]
    units: Units
    spots: Mapping[str, tuple[str, ...]]

    def rules_then(self, then: CarThen) -> list[RuleThen]:
        """Every rule that looks at something the change touches."""
        facts = self._facts(then.figures, None if then.pieces is None else _seen(then))
        told = []
        for rule in self.rules:
            what = looks_at(rule)
            if what in then.moved or (what == PIECES and then.pieces is not None):
                told.append(self._then(rule, facts))
            elif what is not None and what in then.unknown:
                again = "What it is then only reading it again tells."
                told.append(RuleThen(rule.words(self.units), RuleOutcome.NOT_SAID, again))
        return told

    def failing_now(self) -> list[RuleThen]:
        """Every rule that the car fails as it stands, by its figures."""
        return [
            RuleThen(rule.words(self.units), RuleOutcome.FAILS, self._now[place].sentence)
            for place, rule in enumerate(self.rules)
            if self._now[place].outcome is Outcome.FAILS
        ]

    @cached_property
    def _now(self) -> list[RuleResult]:
        facts = self._facts(self.figures, None)
        return [self._read(rule, facts) for rule in self.rules]

    @cached_property
    def _pieces(self) -> tuple[PieceSeen, ...]:
        return pieces_of(self.sheet.car)

    def _then(self, rule: RuleKind, facts: Facts) -> RuleThen:
        """By the chance, for a prediction is no reading; but by its middle where that fails."""
        result = self._guarded(rule, facts)
        if result.outcome is Outcome.TOO_CLOSE:
            by_middle = self._read(rule, facts)
            result = by_middle if by_middle.outcome is Outcome.FAILS else result
        before = self._now[self.rules.index(rule)]
        leaves = result.outcome is Outcome.FAILS and _is_worse(before, result)
        return RuleThen(rule.words(self.units), SAID[result.outcome], result.sentence, leaves)

    def _read(self, rule: RuleKind, facts: Facts) -> RuleResult:
        return rule.judged(_as_weighed(rule, facts), Judge(DecisionRule.READING, self.units))

    def _guarded(self, rule: RuleKind, facts: Facts) -> RuleResult:
        return rule.judged(_as_weighed(rule, facts), Judge(DecisionRule.GUARDED, self.units))

    def _facts(self, figures: Mapping[Key, Figure], pieces: tuple[PieceSeen, ...] | None) -> Facts:
        def share(measure: str) -> Estimate | None:
            figure = figures.get(Key(measure, "car"))
            return None if figure is None else Estimate(float(figure.value), float(figure.u))

        return Facts(
            stage=Stage.ENTRY,
            driver_in=True,
            tank_empty=None if self.sheet.fuel is None else self.sheet.fuel == 0,
            weight=share("total-weight"),
            left=share("left-share"),
            rear=share("rear-share"),
            cross=share("cross"),
            own_labels=own_labels(self.sheet.car, self.entry),
            pieces=self._pieces if pieces is None else pieces,
            spots=self.spots,
            readings=estimates_of(figures),
        )


def _seen(then: CarThen) -> tuple[PieceSeen, ...]:
    return tuple(PlacedPiece(each.piece, each.place).seen for each in then.pieces or ())


def _as_weighed(rule: RuleKind, facts: Facts) -> Facts:
    """A minimum for after the race is held to what the car weighs now; the fuel that is burnt till
    then is told by the pre-check."""
    if not isinstance(rule, MinimumWeight) or rule.stage == ANY:
        return facts
    return replace(facts, stage=Stage(rule.stage))


def _is_worse(before: RuleResult, after: RuleResult) -> bool:
    """Whether a rule that fails afterwards did not before, or by less."""
    if before.outcome is not Outcome.FAILS:
        return True
    if before.margin is None or after.margin is None:
        return before.sentence != after.sentence
    return after.margin < before.margin


def published_rules(sheet: Sheet, figures: Mapping[Key, Figure], units: Units) -> ClassJudge | None:
    """The rules frozen by the event that the car is entered in next, else its class's of today.

    Five queries at most.
    """
    rule_set, entry = rules_for(sheet.car)
    if rule_set is None:
        return None
    return RulesOfClass(sheet, rules_in(rule_set), entry, figures, units, spots_of_lengths())


PROVIDERS = (published_rules,)
