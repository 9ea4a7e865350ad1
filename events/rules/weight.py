"""Rules on what the scales say: the least weight, and how it is spread."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar, Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.base import CUSTOMARY, RuleKind, refuse_backward
from events.rules.changed import unless_changed
from events.rules.example_cars import PADS, SHARES, figure, limits_of
from events.rules.facts import Facts, Stage
from events.rules.judging import Judge, RuleResult, not_checked
from events.rules.parameters import Bounds, asked, least, most, one_of
from events.rules.rule_text import format_band, format_figure

ANY = "any"
POUND = Decimal("0.45359237")
STAGE_WORDS: dict[str, str] = {
    ANY: "",
    Stage.ENTRY: " before the race",
    Stage.AFTER: " after the race",
}
FUEL_IN, TANK_EMPTY = "fuel_in", "tank_empty"
FUEL_WORDS = {
    ANY: "fuel as it comes",
    FUEL_IN: "with fuel in the tank",
    TANK_EMPTY: "with the tank empty",
}
CAR = Bounds(100 * POUND, 1500 * POUND)
SHARE = Bounds(Decimal(30), Decimal(70), apart=Decimal("0.5"))


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumWeight(RuleKind):
    """The car weighs at least so much, with the driver or without, and with the fuel that comes
    in it, with some, or with none."""

    kind: ClassVar[str] = "minimum_weight"
    title: ClassVar[str] = "Minimum weight"
    topic: ClassVar[str] = "Weight"

    minimum: Decimal = field(metadata=asked("Minimum", "quantity", quantity=Kind.MASS, bounds=CAR))
    with_driver: bool = field(default=True, metadata=asked("With the driver seated", "yes_no"))
    fuel: str = field(default=ANY, metadata=asked("Fuel", "choice", choices=tuple(FUEL_WORDS)))
    stage: str = field(default=ANY, metadata=asked("Weighed", "choice", choices=tuple(STAGE_WORDS)))

    def __post_init__(self) -> None:
        one_of("fuel", self.fuel, tuple(FUEL_WORDS))
        one_of("stage", self.stage, tuple(STAGE_WORDS))

    @property
    def as_raced(self) -> bool:
        """Whether it is for the car with its driver and its fuel."""
        return self.with_driver and self.fuel != TANK_EMPTY

    def about(self) -> tuple[object, ...]:
        """A class may have a minimum for each state of the car."""
        return (self.with_driver, self.fuel, self.stage)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        who = "with" if self.with_driver else "without"
        low = format_figure(self.minimum, Kind.MASS, units)
        return f"At least {low} {who} the driver{STAGE_WORDS[self.stage]}, {FUEL_WORDS[self.fuel]}"

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """The total on the scales against the minimum."""
        if facts.weight is None or facts.driver_in is None:
            return not_checked("Not weighed yet.")
        if self.stage not in (ANY, facts.stage):
            return not_checked(f"Not weighed{STAGE_WORDS[self.stage]} yet.")
        if facts.driver_in != self.with_driver:
            was, wanted = ("with", "without") if facts.driver_in else ("without", "with")
            return not_checked(f"Weighed {was} the driver; this rule is for the car {wanted}.")
        if self.fuel != ANY and facts.tank_empty != (self.fuel == TANK_EMPTY):
            return not_checked(f"Not weighed {FUEL_WORDS[self.fuel]} yet.")
        limits = limits_of(self.minimum, None)
        result = by.figure(facts.weight, limits, Kind.MASS, facts.scales)
        return unless_changed(result, facts.changed)

    @classmethod
    def example(cls) -> Self:
        """340 lb with the driver."""
        return cls(minimum=340 * POUND)

    def car(self, *, inside: bool) -> Facts:
        """Two pounds over or under, weighed as the rule has it."""
        return Facts(
            stage=Stage.AFTER if self.stage == ANY else Stage(self.stage),
            driver_in=self.with_driver,
            tank_empty=self.fuel == TANK_EMPTY,
            weight=figure(limits_of(self.minimum, None), PADS, inside=inside),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareLimit(RuleKind):
    """What the three limits on the spread of the weight have in common."""

    topic: ClassVar[str] = "Weight"
    share: ClassVar[str]
    named: ClassVar[str]
    usual: ClassVar[int]

    at_least: Decimal | None = field(default=None, metadata=least(Kind.PERCENT, SHARE))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.PERCENT, SHARE))

    def __post_init__(self) -> None:
        refuse_backward(self)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        band = format_band(self.at_least, self.at_most, Kind.PERCENT, units)
        return f"{self.named.capitalize()} {band} of the weight"

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """The share of the total, in percent, against its limits."""
        percent: Estimate | None = getattr(facts, self.share)
        if percent is None:
            return not_checked(f"Not weighed on four pads yet, so {self.named} is not known.")
        limits = limits_of(self.at_least, self.at_most)
        result = by.figure(percent, limits, Kind.PERCENT, facts.scales)
        return unless_changed(result, facts.changed)

    @classmethod
    def example(cls) -> Self:
        """At most a little over what such cars have."""
        return cls.from_params({"at_most": cls.usual + 3})

    def car(self, *, inside: bool) -> Facts:
        """A car that was weighed on four pads."""
        limits = limits_of(self.at_least, self.at_most)
        shares = {self.share: figure(limits, SHARES, inside=inside)}
        return Facts(left=shares.get("left"), rear=shares.get("rear"), cross=shares.get("cross"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftLimit(ShareLimit):
    """Left side, (LF + LR) / total."""

    kind: ClassVar[str] = "left_limit"
    title: ClassVar[str] = "Left side"
    share: ClassVar[str] = "left"
    named: ClassVar[str] = "left side"
    usual: ClassVar[int] = 55


@dataclass(frozen=True, slots=True, kw_only=True)
class RearLimit(ShareLimit):
    """Rear weight, (LR + RR) / total."""

    kind: ClassVar[str] = "rear_limit"
    title: ClassVar[str] = "Rear weight"
    share: ClassVar[str] = "rear"
    named: ClassVar[str] = "rear"
    usual: ClassVar[int] = 57


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossLimit(ShareLimit):
    """Cross, (RF + LR) / total."""

    kind: ClassVar[str] = "cross_limit"
    title: ClassVar[str] = "Cross"
    share: ClassVar[str] = "cross"
    named: ClassVar[str] = "cross"
    usual: ClassVar[int] = 54
