"""Rules on the driver. They say eligible or not, and show no figure of a child's."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import ClassVar, NamedTuple, Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.base import (
    CUSTOMARY,
    RuleKind,
    RuleResult,
    limits_of,
    not_checked,
    register,
)
from events.rules.decision import DecisionRule, Outcome, decide
from events.rules.facts import Facts
from events.rules.parameters import ParameterError, asked, in_order, one_of, positive
from events.rules.speech import say_band

EVENT_DAY, YEAR_START, YEAR_END = "event_day", "year_start", "year_end"
RECKONED = {
    EVENT_DAY: "on the day of the event",
    YEAR_START: "on 1 January of the year",
    YEAR_END: "on 31 December of the year",
}
OLDEST = 99


class BornBetween(NamedTuple):
    """The first and last birth date that are eligible; None where there is no end."""

    first: date | None
    last: date | None


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class DriverAge(RuleKind):
    """The driver's age in whole years lies in a band on the day the class reckons by.

    Whoever may read the birth date asks `eligible`; a database that answers for those who may
    not compares it with `born_between`. The facts carry the answer only.
    """

    kind: ClassVar[str] = "driver_age"
    title: ClassVar[str] = "Driver's age"
    once: ClassVar[bool] = True

    at_least: int | None = field(default=None, metadata=asked("Youngest", "whole"))
    at_most: int | None = field(default=None, metadata=asked("Oldest", "whole"))
    reckoned: str = field(
        default=EVENT_DAY, metadata=asked("Age reckoned", "choice", choices=tuple(RECKONED))
    )

    def __post_init__(self) -> None:
        in_order(self.at_least, self.at_most)
        one_of("reckoned", self.reckoned, tuple(RECKONED))
        for name in ("at_least", "at_most"):
            age = getattr(self, name)
            if age is not None and not 1 <= age <= OLDEST:
                raise ParameterError(name, f"must be an age from 1 to {OLDEST}")

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        if self.at_most is None:
            band = f"at least {self.at_least}"
        elif self.at_least is None:
            band = f"at most {self.at_most}"
        else:
            band = f"{self.at_least} to {self.at_most}"
        return f"Driver aged {band} {RECKONED[self.reckoned]}"

    def born_between(self, event_day: date) -> BornBetween:
        """Birth dates that are eligible at an event on this day, both ends included."""
        day = self._reckoning_day(event_day)
        last = None if self.at_least is None else _years_before(day, self.at_least)
        too_old = None if self.at_most is None else _years_before(day, self.at_most + 1)
        return BornBetween(None if too_old is None else too_old + timedelta(days=1), last)

    def eligible(self, born: date, event_day: date) -> bool:
        """Whether somebody born on this day is eligible at an event on that day."""
        first, last = self.born_between(event_day)
        return (first is None or first <= born) and (last is None or born <= last)

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """Eligible or not; no age is told."""
        if facts.age_eligible is None:
            return not_checked("Age not checked yet.")
        if facts.age_eligible:
            return RuleResult(Outcome.MEETS, "Eligible by age.")
        return RuleResult(Outcome.FAILS, "Not eligible by age.")

    def _reckoning_day(self, event_day: date) -> date:
        if self.reckoned == YEAR_START:
            return date(event_day.year, 1, 1)
        return date(event_day.year, 12, 31) if self.reckoned == YEAR_END else event_day

    @classmethod
    def example(cls) -> Self:
        """5 to 8 on the day of the event."""
        return cls(at_least=5, at_most=8)

    @classmethod
    def example_pass(cls) -> Facts:
        """Eligible."""
        return Facts(age_eligible=True)

    @classmethod
    def example_fail(cls) -> Facts:
        """Not eligible."""
        return Facts(age_eligible=False)


def _years_before(day: date, years: int) -> date:
    """The last birth date of those who are so many years old on `day`.

    Somebody born on 29 February is a year older on 1 March of a common year.
    """
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return date(day.year - years, 2, 28)


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class DriverWeightBand(RuleKind):
    """The driver, dressed to race, weighs within a band; the weight itself is not shown."""

    kind: ClassVar[str] = "driver_weight_band"
    title: ClassVar[str] = "Driver's weight"
    once: ClassVar[bool] = True

    at_least: Decimal | None = field(
        default=None, metadata=asked("At least", "quantity", quantity=Kind.MASS)
    )
    at_most: Decimal | None = field(
        default=None, metadata=asked("At most", "quantity", quantity=Kind.MASS)
    )

    def __post_init__(self) -> None:
        in_order(self.at_least, self.at_most)
        positive("at_least", self.at_least)
        positive("at_most", self.at_most)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return f"Driver dressed to race {say_band(self.at_least, self.at_most, Kind.MASS, units)}"

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """In the band or not; no weight is told."""
        if facts.driver_weight is None:
            return not_checked("Driver not weighed yet.")
        outcome = decide(facts.driver_weight, limits_of(self.at_least, self.at_most), rule).outcome
        sentences = {
            Outcome.MEETS: "The driver's weight is in the band.",
            Outcome.FAILS: "The driver's weight is outside the band.",
            Outcome.TOO_CLOSE: "The driver's weight is too close to call; weigh again.",
        }
        return RuleResult(outcome, sentences[outcome])

    @classmethod
    def example(cls) -> Self:
        """At most 45 kg."""
        return cls(at_most=Decimal(45))

    @classmethod
    def example_pass(cls) -> Facts:
        """40 kg."""
        return Facts(driver_weight=Estimate(40.0, 0.1))

    @classmethod
    def example_fail(cls) -> Facts:
        """48 kg."""
        return Facts(driver_weight=Estimate(48.0, 0.1))
