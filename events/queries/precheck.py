"""Before queueing: what the class's rules would say of a car, from the team's own readings.

Everything here stands on the team's sheet, which row security shows to the team and its coaches
alone; an official asking finds no car.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from cars.entries import Key
from cars.models import BallastPiece, Car, Sheet
from cars.queries.bench import Bench, bench_of
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from events.models import Entry, Event, RuleSet
from events.queries.rule_sets import rules_on
from events.rules import (
    DecisionRule,
    Facts,
    PieceSeen,
    RuleKind,
    RuleResult,
    Stage,
    Where,
    rule_from,
)
from events.rules.light import Race, at_the_scales, risk_of_light, to_add
from events.rules.weight import MinimumWeight

LOOKED_AT = 8  # sheets; older weights say nothing of today's car


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
    said: str


@dataclass(frozen=True)
class Said:
    """What another rule would say."""

    words: str
    result: RuleResult


@dataclass(frozen=True)
class Precheck:
    """The whole answer for one car."""

    sheet: Sheet
    rule_set: RuleSet
    entry: Entry | None
    weight: Estimate
    lights: list[Light]
    others: list[Said]


def rules_for(car: Car) -> tuple[RuleSet | None, Entry | None]:
    """The rules frozen by the event the car is entered in next; else its class's of today."""
    entry = (
        Entry.objects.filter(car=car, withdrawn_at__isnull=True)
        .exclude(event__state=Event.State.OVER)
        .select_related("event_class__rule_set__race_class", "event")
        .order_by("event__starts_on")
        .first()
    )
    if entry is not None:
        return entry.event_class.rule_set, entry
    if car.race_class is None:
        return None, None
    return rules_on(car.race_class, timezone.localdate()), None


def weighed_sheet(car: Car, viewer: User) -> Bench | None:
    """The newest sheet with four weights that still hold."""
    sheets = Sheet.objects.filter(car=car).exclude(role=Sheet.Role.TARGET)
    for sheet in sheets.select_related("team__club", "car__chassis")[:LOOKED_AT]:
        bench = bench_of(sheet, viewer)
        if bench.corners("weight") is not None:
            return bench
    return None


def precheck(
    bench: Bench, rule_set: RuleSet, entry: Entry | None, race: Race, risk: float
) -> Precheck:
    """What every rule would say, the minimum weights after the race."""
    total = bench.figures[Key("total-weight", "car")]
    now = Estimate(float(total.value), float(total.u))
    rules = [rule_from(rule.kind, rule.parameters) for rule in rule_set.rules.order_by("order")]
    minima = [rule for rule in rules if isinstance(rule, MinimumWeight) and rule.as_raced]
    facts, decision = _facts(bench, now, entry), DecisionRule(rule_set.decision)
    return Precheck(
        sheet=bench.sheet,
        rule_set=rule_set,
        entry=entry,
        weight=now,
        lights=[_light(one, now, race, risk, bench.units) for one in minima],
        others=[
            Said(one.words(bench.units), one.check(facts, decision, bench.units))
            for one in _others(rules, minima)
        ],
    )


def _others(rules: Iterable[RuleKind], minima: Iterable[RuleKind]) -> list[RuleKind]:
    return [rule for rule in rules if not any(rule is one for one in minima)]


def _light(rule: MinimumWeight, now: Estimate, race: Race, risk: float, units: Units) -> Light:
    # Before the race no fuel is burnt yet.
    laps = 0 if rule.stage == Stage.ENTRY else race.laps
    weight = at_the_scales(
        now,
        Race(
            laps=laps,
            burn=race.burn,
            u_burn=race.u_burn,
            filled=race.filled,
            scales_apart=race.scales_apart,
        ),
    )
    minimum = float(rule.minimum)
    add = round_up(to_add(weight, minimum, risk), units)
    then = risk_of_light(Estimate(weight.value + float(add), weight.u), minimum)
    light = risk_of_light(weight, minimum)
    return Light(
        minimum=rule,
        words=rule.words(units),
        weight=weight,
        laps=laps,
        risk=light,
        add=add,
        risk_then=then,
        said=say(add, then, laps, units),
    )


def say(add: Decimal, risk: float, laps: int, units: Units) -> str:
    """'Add 1.4 lb before the race: 3 % risk of light after 20 laps.'"""
    when = f"after {laps} lap{'' if laps == 1 else 's'}" if laps else "before the race"
    told = f"{percent(risk)} risk of light {when}."
    if not add:
        return f"Nothing to add: {told}"
    amount = show(add, Kind.MASS, unit=units.mass, style="decimal", places=1).text
    return f"Add {amount} before the race: {told}"


def percent(share: float) -> str:
    """A chance as people say it."""
    if share < 0.001:
        return "under 0.1 %"
    if share > 0.999:
        return "over 99.9 %"
    return f"{100 * share:.0f} %" if 0.1 <= share <= 0.9 else f"{100 * share:.1f} %"


def round_up(kilograms: float, units: Units) -> Decimal:
    """To the next tenth of the reader's unit."""
    unit = unit_of(Kind.MASS, units.mass)
    # Rounding noise of the last digits must not add a tenth of its own.
    tenths = math.ceil(round(kilograms / float(unit.factor) * 10, 6))
    return Decimal(tenths) / 10 * Decimal(unit.factor.numerator) / unit.factor.denominator


def _facts(bench: Bench, now: Estimate, entry: Entry | None) -> Facts:
    """The sheet as if an official had read it; nothing that only a look at the car can tell."""
    car = bench.sheet.car
    labels = (car.number, entry.display_name) if entry else ()
    return Facts(
        stage=Stage.ENTRY,
        driver_in=True,
        weight=now,
        left=_share(bench, "left-share"),
        rear=_share(bench, "rear-share"),
        cross=_share(bench, "cross"),
        own_labels=labels,
        pieces=tuple(_pieces(car)),
        readings={
            Where(key.measure, key.spot): Estimate(float(one.value), float(one.u))
            for key, one in bench.figures.items()
            if key not in bench.stale
        },
    )


def _share(bench: Bench, measure: str) -> Estimate | None:
    figure = bench.figures.get(Key(measure, "car"))
    return Estimate(float(figure.value), float(figure.u)) if figure else None


def _pieces(car: Car) -> list[PieceSeen]:
    kept = BallastPiece.objects.filter(car=car, retired_at__isnull=True).select_related("mount")
    return [
        PieceSeen(
            label=piece.label,
            marked_mass=float(piece.marked_mass),
            place=str(piece.mount or ""),
        )
        for piece in kept
    ]
