"""Before queueing: what the class's rules would say of a car, from the team's own readings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from cars.mechanics.fuel import DENSITIES
from cars.models import Car
from clubsetup.access.models import User
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.models import Entry, RuleSet, WeighIn
from events.precheck.presenters.ballast import Need, PreCheckBallast, RuleThen, ballast_for
from events.precheck.presenters.ballast_text import HeldTo
from events.precheck.presenters.underweight_text import underweight_message
from events.precheck.queries.car_facts import birth_date, facts_of
from events.precheck.queries.own_scales import OnScales, on_scales
from events.precheck.queries.precheck_params import Asked
from events.presenters.mass_text import round_up
from events.queries.class_limits import limit_of
from events.queries.rule_sets import rules_for, rules_in
from events.rules import DecisionRule, Facts, RuleKind, Stage
from events.rules.driver import DriverAge
from events.rules.judging import Judge
from events.rules.light import Race, at_the_scales, risk_of_light, to_add
from events.rules.weight import TANK_EMPTY, MinimumWeight

CARS = Car.objects.select_related("team__club", "race_class", "chassis")
NO_RULES = (
    "There are no rules to check against: give the car a class whose rules are published, "
    "or enter it in an event."
)
NO_WEIGHTS = (
    "No sheet of this car has four weights that still hold. Weigh it on your own scales, driver "
    "seated, and write what they say here or on a sheet."
)


@dataclass(frozen=True)
class Light:
    """What one minimum comes to."""

    minimum: MinimumWeight
    words: str
    weight: Estimate  # at the official's scales
    laps: int
    risk: float
    add: Decimal  # kg, rounded up so that adding it is enough
    risk_then: float
    text: str


@dataclass(frozen=True)
class Precheck:
    """The whole answer for one car."""

    scales: OnScales
    rule_set: RuleSet
    entry: Entry | None
    lights: list[Light]
    others: list[RuleThen]
    ballast: PreCheckBallast | None  # None where no minimum with the driver is asked
    cautions: list[str]


@dataclass(frozen=True)
class PrecheckOfCar:
    """What there is to check a car by before the scales, and the pre-check where both are there."""

    rule_set: RuleSet | None
    scales: OnScales | None
    precheck: Precheck | None = None

    @property
    def missing(self) -> list[str]:
        """What there has to be first, in words."""
        return [*([] if self.rule_set else [NO_RULES]), *([] if self.scales else [NO_WEIGHTS])]


def precheck_of_car(car: Car, viewer: User, asked: Asked) -> PrecheckOfCar:
    """The pre-check of a car from what was read just now, or else from its newest sheet."""
    rule_set, entry = rules_for(car)
    scales = on_scales(car, viewer, asked.read)
    if rule_set is None or scales is None:
        return PrecheckOfCar(rule_set, scales)
    return PrecheckOfCar(rule_set, scales, _precheck(scales, rule_set, entry, asked))


def _precheck(scales: OnScales, rule_set: RuleSet, entry: Entry | None, asked: Asked) -> Precheck:
    """What every rule would say, the minimum weights after the race."""
    race, risk = asked.race, asked.risk
    units, rules = scales.on_sheet.units, rules_in(rule_set)
    minima = [rule for rule in rules if isinstance(rule, MinimumWeight) and _is_for(rule, scales)]
    facts, judge = facts_of(scales, entry), Judge(DecisionRule(rule_set.decision), units)
    born = birth_date(entry) if any(isinstance(rule, DriverAge) for rule in rules) else None
    return Precheck(
        scales=scales,
        rule_set=rule_set,
        entry=entry,
        lights=[_light(one, scales.weight, race, risk, units) for one in minima],
        others=[
            RuleThen(one.words(units), one.judged(_with_age(one, facts, entry, born), judge))
            for one in rules
            if not any(one is minimum for minimum in minima)
        ],
        ballast=ballast_for(
            scales,
            _need(minima, scales.weight, race, risk),
            HeldTo(rules, facts, limit_of(rules, rule_set, entry), judge),
        ),
        cautions=[*_raced(entry), *_cautions(scales, race)],
    )


def _with_age(rule: RuleKind, facts: Facts, entry: Entry | None, born: date | None) -> Facts:
    """The crew's own answer to a rule of age, from the date they hold."""
    if not isinstance(rule, DriverAge) or entry is None or born is None:
        return facts
    return replace(facts, age_eligible=rule.eligible(born, entry.event.starts_on))


def _is_for(rule: MinimumWeight, scales: OnScales) -> bool:
    """Whether a minimum is for the car as it raced, with or without the driver as just weighed."""
    return rule.with_driver == scales.driver_in and rule.fuel != TANK_EMPTY


def _during(rule: MinimumWeight, race: Race) -> Race:
    """Before the race no fuel is burnt yet."""
    return replace(race, laps=0) if rule.stage == Stage.ENTRY else race


def _light(rule: MinimumWeight, now: Estimate, race: Race, risk: float, units: Units) -> Light:
    race = _during(rule, race)
    weight, minimum = at_the_scales(now, race), float(rule.minimum)
    add = round_up(to_add(weight, minimum, risk), units)
    then = risk_of_light(Estimate(weight.value + float(add), weight.u), minimum)
    return Light(
        minimum=rule,
        words=rule.words(units),
        weight=weight,
        laps=race.laps,
        risk=risk_of_light(weight, minimum),
        add=add,
        risk_then=then,
        text=underweight_message(add, then, race.laps, units),
    )


def _need(minima: Sequence[MinimumWeight], now: Estimate, race: Race, risk: float) -> Need | None:
    """The minimum that asks for most: a car that is heavy enough for it is so for the others."""
    needs = [Need(float(rule.minimum), now, _during(rule, race), risk) for rule in minima]
    return max(needs, key=lambda need: need.lacks, default=None)


def _raced(entry: Entry | None) -> list[str]:
    """What a family must know before it adds weight to a car that has been weighed as it raced."""
    newest = entry and entry.weighins.current().order_by("-created_at").first()
    if not newest or newest.stage != WeighIn.Stage.AFTER:
        return []
    return [
        "This car has been weighed after the race: nothing done to it now mends what was found "
        "there, and the club's appointed officials decide. This is for its next race."
    ]


def _cautions(scales: OnScales, race: Race) -> list[str]:
    if scales.fuel is None:
        return []
    # The heaviest fuel there is, so that nobody is told so who has enough.
    heaviest = max(density.value for density in DENSITIES.values())
    if race.laps * race.burn <= float(scales.fuel) * heaviest + race.filled:
        return []
    return [
        f"{race.laps} laps burn more fuel than the {scales.fuel_text} in it and what is put in: "
        "look at the fuel again."
    ]
