"""Rules on the driver. They say eligible or not, and show no figure of a child's."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import ClassVar, NamedTuple, Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from events.rules.base import CUSTOMARY, RuleKind, refuse_backward
from events.rules.changed import unless_changed
from events.rules.decision import Outcome
from events.rules.example_cars import PADS, figure, limits_of
from events.rules.facts import Facts
from events.rules.judging import Judge, RuleResult, not_checked
from events.rules.parameters import Bounds, asked, least, most, one_of
from events.rules.rule_text import format_band

EVENT_DAY, YEAR_START, YEAR_END = "event_day", "year_start", "year_end"
RECKONED = {
    EVENT_DAY: "on the day of the event",
    YEAR_START: "on 1 January of the year",
    YEAR_END: "on 31 December of the year",
}
AGE = Bounds(Decimal(4), Decimal(21))
POUND = Decimal("0.45359237")
DRIVER = Bounds(30 * POUND, 300 * POUND, apart=5 * POUND)


class BornBetween(NamedTuple):
    """The first and last birth date that are eligible; None where there is no end."""

    first: date | None
    last: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverAge(RuleKind):
    """The driver's age in whole years lies in a band on the day the class reckons by.

    Whoever may read the birth date asks `eligible`; a database that answers for those who may
    not compares it with `born_between`. The facts carry the answer only.
    """

    kind: ClassVar[str] = "driver_age"
    title: ClassVar[str] = "Driver's age"
    topic: ClassVar[str] = "Driver"

    at_least: int | None = field(default=None, metadata=asked("Youngest", "whole", bounds=AGE))
    at_most: int | None = field(default=None, metadata=asked("Oldest", "whole", bounds=AGE))
    reckoned: str = field(
        default=EVENT_DAY, metadata=asked("Age reckoned", "choice", choices=tuple(RECKONED))
    )

    def __post_init__(self) -> None:
        refuse_backward(self)
        one_of("reckoned", self.reckoned, tuple(RECKONED))

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        if self.at_most is None:
            band = f"at least {self.at_least}"
        elif self.at_least is None:
            band = f"at most {self.at_most}"
        elif self.at_least == self.at_most:
            band = f"{self.at_least}"
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

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
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

    def car(self, *, inside: bool) -> Facts:
        """Its driver is eligible or not; the facts tell no age."""
        return Facts(age_eligible=inside)


def _years_before(day: date, years: int) -> date:
    """The last birth date of those who are so many years old on `day`.

    Somebody born on 29 February is a year older on 1 March of a common year.
    """
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return date(day.year - years, 2, 28)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverWeightBand(RuleKind):
    """The driver, dressed to race, weighs within a band; the weight itself is not shown."""

    kind: ClassVar[str] = "driver_weight_band"
    title: ClassVar[str] = "Driver's weight"
    topic: ClassVar[str] = "Driver"

    at_least: Decimal | None = field(default=None, metadata=least(Kind.MASS, DRIVER))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.MASS, DRIVER))

    def __post_init__(self) -> None:
        refuse_backward(self)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return (
            f"Driver dressed to race {format_band(self.at_least, self.at_most, Kind.MASS, units)}"
        )

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """In the band or not; no weight is told."""
        if facts.driver_weight is None:
            return not_checked("Driver not weighed yet.")
        outcome = by.decide(facts.driver_weight, limits_of(self.at_least, self.at_most)).outcome
        sentences = {
            Outcome.MEETS: "The driver's weight is in the band.",
            Outcome.FAILS: "The driver's weight is outside the band.",
            Outcome.TOO_CLOSE: "The driver's weight is too close to call; weigh again.",
        }
        return unless_changed(RuleResult(outcome, sentences[outcome]), facts.driver_changed)

    @classmethod
    def example(cls) -> Self:
        """At most 100 lb."""
        return cls(at_most=100 * POUND)

    def car(self, *, inside: bool) -> Facts:
        """Its driver was weighed."""
        limits = limits_of(self.at_least, self.at_most)
        return Facts(driver_weight=figure(limits, PADS, inside=inside))
