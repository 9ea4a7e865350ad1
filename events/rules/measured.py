"""Rules on what an official measures on the car with a tool."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar, Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.base import (
    CUSTOMARY,
    RuleKind,
    RuleResult,
    judged,
    limits_of,
    not_checked,
    register,
)
from events.rules.decision import DecisionRule, Outcome
from events.rules.facts import SPOTS, Facts, Where
from events.rules.parameters import ParameterError, asked, in_order, one_of, positive
from events.rules.speech import say_band

EVERY = ""
SPOT_CHOICES = (EVERY, *SPOTS)
# Ride heights and wheelbases are told to a sixteenth of an inch at best.
SIXTEENTH_U = 25.4 / 16 / 12**0.5


# Where the catalogue's name of a measure is not its slug with spaces.
NAMES = {"circumference": "rolled-out circumference"}


def spoken(measure: str, spot: str) -> str:
    """A measure and spot as words."""
    name = NAMES.get(measure, measure.replace("-", " ").replace("_", " "))
    return name if spot in (EVERY, "car") else f"{name} {spot}"


def headed(measure: str, spot: str) -> str:
    """The same at the head of a sentence."""
    name = spoken(measure, spot)
    return name[:1].upper() + name[1:]


def _placed(measure: str, spot: str) -> None:
    if not measure:
        raise ParameterError("measure", "is needed")
    one_of("spot", spot, SPOT_CHOICES)


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class LengthLimit(RuleKind):
    """A length on the car: wheelbase, track, ride height, rolled-out circumference and the like.

    Without a spot, every spot read must meet it; the one nearest to missing it is told.
    """

    kind: ClassVar[str] = "length_limit"
    title: ClassVar[str] = "A length on the car"

    measure: str = field(metadata=asked("Measure", "text"))
    spot: str = field(default=EVERY, metadata=asked("Where", "choice", choices=SPOT_CHOICES))
    at_least: Decimal | None = field(
        default=None, metadata=asked("At least", "quantity", quantity=Kind.LENGTH)
    )
    at_most: Decimal | None = field(
        default=None, metadata=asked("At most", "quantity", quantity=Kind.LENGTH)
    )

    def __post_init__(self) -> None:
        _placed(self.measure, self.spot)
        in_order(self.at_least, self.at_most)
        positive("at_least", self.at_least)
        positive("at_most", self.at_most)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        band = say_band(self.at_least, self.at_most, Kind.LENGTH, units)
        return f"{headed(self.measure, self.spot)} {band}"

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """The length read against its limits."""
        found = self._read(facts)
        if not found:
            return not_checked(f"No {spoken(self.measure, self.spot)} has been measured yet.")
        limits = limits_of(self.at_least, self.at_most)
        results = {w: judged(e, limits, rule, Kind.LENGTH, units) for w, e in found.items()}
        where = min(results, key=lambda one: (results[one].margin or 0.0, one))
        name = headed(*where)
        result = results[where]
        return RuleResult(
            result.outcome,
            f"{name}: {result.sentence}",
            **result.evidence(),
        )

    def _read(self, facts: Facts) -> dict[Where, Estimate]:
        readings = facts.readings or {}
        return {
            Where(*where): estimate
            for where, estimate in readings.items()
            if where[0] == self.measure and self.spot in (EVERY, where[1])
        }

    @classmethod
    def example(cls) -> Self:
        """Wheelbase at least 45 in on either side."""
        return cls(measure="wheelbase", at_least=Decimal("1143"))

    @classmethod
    def example_pass(cls) -> Facts:
        """47 7/8 in left and 48 7/8 in right."""
        return _wheelbases(1216.025, 1241.425)

    @classmethod
    def example_fail(cls) -> Facts:
        """44 in on the left."""
        return _wheelbases(1117.6, 1241.425)


def _wheelbases(left: float, right: float) -> Facts:
    return Facts(
        readings={
            Where("wheelbase", "left"): Estimate(left, SIXTEENTH_U),
            Where("wheelbase", "right"): Estimate(right, SIXTEENTH_U),
        }
    )


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class RequiredReading(RuleKind):
    """A reading that must be taken, whatever it says.

    Without any readings it is not checked; with readings, but not this one, it fails.
    """

    kind: ClassVar[str] = "required_reading"
    title: ClassVar[str] = "A reading that must be taken"

    measure: str = field(metadata=asked("Measure", "text"))
    spot: str = field(default=EVERY, metadata=asked("Where", "choice", choices=SPOT_CHOICES))

    def __post_init__(self) -> None:
        _placed(self.measure, self.spot)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return f"{headed(self.measure, self.spot)} must be measured"

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """Whether the reading is there; its figure is not shown."""
        name = headed(self.measure, self.spot)
        if facts.readings is None:
            return not_checked("Nothing has been measured yet.")
        spots = [where[1] for where in facts.readings if where[0] == self.measure]
        if self.spot in spots or (self.spot == EVERY and spots):
            return RuleResult(Outcome.MEETS, f"{name} has been measured.")
        return RuleResult(Outcome.FAILS, f"{name} has not been measured.")

    @classmethod
    def example(cls) -> Self:
        """The left rear tyre's rolled-out circumference."""
        return cls(measure="circumference", spot="LR")

    @classmethod
    def example_pass(cls) -> Facts:
        """It was rolled out."""
        return Facts(readings={Where("circumference", "LR"): Estimate(850.0, 0.5)})

    @classmethod
    def example_fail(cls) -> Facts:
        """The other side was."""
        return Facts(readings={Where("circumference", "RR"): Estimate(870.0, 0.5)})
