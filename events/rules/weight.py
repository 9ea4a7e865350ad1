"""Rules on what the scales say: the least weight, and how it is spread."""

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
from events.rules.decision import DecisionRule
from events.rules.facts import Facts, Stage
from events.rules.parameters import ParameterError, asked, in_order, one_of, positive
from events.rules.speech import say, say_band

ANY = "any"
POUND = Decimal("0.45359237")
STAGE_WORDS: dict[str, str] = {
    ANY: "",
    Stage.ENTRY: " before the race",
    Stage.AFTER: " after the race",
}


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumWeight(RuleKind):
    """The car weighs at least so much, as it comes to the scales: fuel is neither added nor
    taken off."""

    kind: ClassVar[str] = "minimum_weight"
    title: ClassVar[str] = "Minimum weight"

    minimum: Decimal = field(metadata=asked("Minimum", "quantity", quantity=Kind.MASS))
    with_driver: bool = field(default=True, metadata=asked("With the driver seated", "yes_no"))
    stage: str = field(default=ANY, metadata=asked("Weighed", "choice", choices=tuple(STAGE_WORDS)))

    def __post_init__(self) -> None:
        positive("minimum", self.minimum)
        one_of("stage", self.stage, tuple(STAGE_WORDS))

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        who = "with" if self.with_driver else "without"
        least = say(self.minimum, Kind.MASS, units)
        return f"At least {least} {who} the driver{STAGE_WORDS[self.stage]}, fuel as it comes"

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """The total on the scales against the minimum."""
        if facts.weight is None or facts.driver_in is None:
            return not_checked("Not weighed yet.")
        if self.stage not in (ANY, facts.stage):
            return not_checked(f"Not weighed{STAGE_WORDS[self.stage]} yet.")
        if facts.driver_in != self.with_driver:
            was, wanted = ("with", "without") if facts.driver_in else ("without", "with")
            return not_checked(f"Weighed {was} the driver; this rule is for the car {wanted}.")
        limits = limits_of(self.minimum, None)
        return judged(facts.weight, limits, rule, Kind.MASS, units, doubt=facts.scales)

    @classmethod
    def example(cls) -> Self:
        """340 lb with the driver."""
        return cls(minimum=340 * POUND)

    @classmethod
    def example_pass(cls) -> Facts:
        """342 lb."""
        return _weighed(342 * POUND)

    @classmethod
    def example_fail(cls) -> Facts:
        """338 lb."""
        return _weighed(338 * POUND)


def _weighed(mass: Decimal) -> Facts:
    return Facts(stage=Stage.AFTER, driver_in=True, weight=Estimate(float(mass), 0.05))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareLimit(RuleKind):
    """What the three limits on the spread of the weight have in common."""

    share: ClassVar[str]
    example_value: ClassVar[float]

    at_least: Decimal | None = field(
        default=None, metadata=asked("At least", "quantity", quantity=Kind.PERCENT)
    )
    at_most: Decimal | None = field(
        default=None, metadata=asked("At most", "quantity", quantity=Kind.PERCENT)
    )

    def __post_init__(self) -> None:
        in_order(self.at_least, self.at_most)
        for name in ("at_least", "at_most"):
            limit = getattr(self, name)
            if limit is not None and not 0 < limit < 100:
                raise ParameterError(name, "must lie between 0 and 100 percent")

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        band = say_band(self.at_least, self.at_most, Kind.PERCENT, units)
        return f"{self.share.capitalize()} {band} of the weight"

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """The share of the total, in percent, against its limits."""
        percent: Estimate | None = getattr(facts, self.share)
        if percent is None:
            return not_checked(f"Not weighed on four pads yet, so {self.share} is not known.")
        limits = limits_of(self.at_least, self.at_most)
        return judged(percent, limits, rule, Kind.PERCENT, units, doubt=facts.scales)

    @classmethod
    def example(cls) -> Self:
        """At most 3 percent over what the example car has."""
        return cls(at_most=Decimal(str(cls.example_value)) + 3)

    @classmethod
    def example_pass(cls) -> Facts:
        """The example car."""
        return cls._with(cls.example_value)

    @classmethod
    def example_fail(cls) -> Facts:
        """Five percent more than the example car."""
        return cls._with(cls.example_value + 5)

    @classmethod
    def _with(cls, percent: float) -> Facts:
        estimate = Estimate(percent, 0.05)
        if cls.share == "left":
            return Facts(left=estimate)
        return Facts(rear=estimate) if cls.share == "rear" else Facts(cross=estimate)


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class LeftLimit(ShareLimit):
    """Left weight, (LF + LR) / total."""

    kind: ClassVar[str] = "left_limit"
    title: ClassVar[str] = "Left weight"
    share: ClassVar[str] = "left"
    example_value: ClassVar[float] = 55.0


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class RearLimit(ShareLimit):
    """Rear weight, (LR + RR) / total."""

    kind: ClassVar[str] = "rear_limit"
    title: ClassVar[str] = "Rear weight"
    share: ClassVar[str] = "rear"
    example_value: ClassVar[float] = 57.0


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class CrossLimit(ShareLimit):
    """Cross, (RF + LR) / total."""

    kind: ClassVar[str] = "cross_limit"
    title: ClassVar[str] = "Cross"
    share: ClassVar[str] = "cross"
    example_value: ClassVar[float] = 54.0
