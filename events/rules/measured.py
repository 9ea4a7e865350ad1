"""Rules on what an official measures on the car with a tool.

The lengths that most classes limit have kinds of their own, so that their spots and bounds are
theirs; `LengthLimit` is for any other length of the catalogue, and `RequiredReading` asks for
a reading whatever it says.
"""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import ClassVar, Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.base import CUSTOMARY, RuleKind, refuse_backward
from events.rules.counting import counted
from events.rules.decision import Outcome, worst
from events.rules.example_cars import TAPE, figure, limits_of
from events.rules.facts import SPOTS, Facts, Where
from events.rules.judging import Judge, RuleResult, not_checked
from events.rules.measure_names import EVERY, headed, spoken
from events.rules.parameters import Bounds, Parameter, ParameterError, asked, least, most, one_of
from events.rules.rule_text import format_band

SPOT_CHOICES = (EVERY, *SPOTS)
CORNERS = (EVERY, "LF", "RF", "LR", "RR")
SIDES = (EVERY, "left", "right")
AXLES = (EVERY, "front", "rear")

INCH = Decimal("25.4")
# A tape tells a sixteenth of an inch; a band must be wide enough for two of them.
_APART = INCH / 8
HEIGHT = Bounds(INCH / 2, 12 * INCH, apart=_APART)
BASE = Bounds(30 * INCH, 100 * INCH, apart=_APART)
WIDTH = Bounds(20 * INCH, 80 * INCH, apart=_APART)
ROUND = Bounds(20 * INCH, 70 * INCH, apart=_APART)
LENGTH = Bounds(INCH / 4, 130 * INCH, apart=_APART)


def where(*choices: str) -> dict[str, Parameter]:
    """The metadata of the parameter that says at which spot; left empty, it is at every one."""
    return asked("Where", "choice", choices=choices)


class OnTheCar(RuleKind):
    """A rule on one measure of the catalogue, at one spot or at each."""

    topic: ClassVar[str] = "Measured on the car"

    measure: str
    spot: str
    # Where a measure with a kind of its own is taken; of others the facts tell.
    own_spots: ClassVar[tuple[str, ...]] = ()

    def __post_init__(self) -> None:
        if not self.measure:
            raise ParameterError("measure", "is needed")
        one_of("spot", self.spot, self.parameters()["spot"].choices)

    def about(self) -> tuple[object, ...]:
        """A class may limit each spot by itself."""
        return (self.measure, self.spot)

    def reads(self) -> Where | None:
        """What an official must read."""
        return Where(self.measure, self.spot)

    def readings(self, facts: Facts) -> dict[Where, Estimate]:
        """The readings that it speaks of."""
        return {
            Where(*at): estimate
            for at, estimate in (facts.readings or {}).items()
            if at[0] == self.measure and self.spot in (EVERY, at[1])
        }

    def spots(self, facts: Facts) -> tuple[str, ...]:
        """Every spot that must be read; none where nobody knows which there are."""
        return (self.spot,) if self.spot else facts.spots.get(self.measure) or self.own_spots

    def every(self, result: RuleResult, facts: Facts) -> RuleResult:
        """The result once it is said which spots have not been read yet."""
        read = {at.spot for at in self.readings(facts)}
        missing = [spot for spot in self.spots(facts) if spot not in read]
        done = f"measured; {', '.join(missing)} not yet"
        return counted(result, len(read), len(read) + len(missing), done)

    def example_readings(self, read: Estimate) -> dict[Where, Estimate]:
        """The same at every spot of an example car."""
        spots = self.spots(Facts()) or ("car",)
        return {Where(self.measure, spot): read for spot in spots}


class Limited(OnTheCar):
    """A length with a least, a most or both.

    Without a spot, every spot must be read and meet it; the one nearest to missing it is told.
    """

    at_least: Decimal | None
    at_most: Decimal | None

    def __post_init__(self) -> None:
        super().__post_init__()
        refuse_backward(self)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        band = format_band(self.at_least, self.at_most, Kind.LENGTH, units)
        return f"{headed(self.measure, self.spot)} {band}"

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """The length read against its limits."""
        readings = self.readings(facts)
        if not readings:
            return not_checked(f"No {spoken(self.measure, self.spot)} has been measured yet.")
        limits = limits_of(self.at_least, self.at_most)
        results = {at: by.figure(one, limits, Kind.LENGTH) for at, one in readings.items()}
        outcome = worst([result.outcome for result in results.values()])
        least = [at for at, result in results.items() if result.outcome is outcome]
        place = min(least, key=lambda at: (results[at].margin or 0.0, at))
        result = results[place]
        return self.every(replace(result, sentence=f"{headed(*place)}: {result.sentence}"), facts)

    def car(self, *, inside: bool) -> Facts:
        """It was measured with a tape."""
        limits = limits_of(self.at_least, self.at_most)
        read = figure(limits, TAPE, inside=inside)
        return Facts(readings=self.example_readings(read))


@dataclass(frozen=True, slots=True, kw_only=True)
class RideHeightLimit(Limited):
    """Ground to frame rail."""

    kind: ClassVar[str] = "ride_height_limit"
    title: ClassVar[str] = "Ride height"
    measure = "ride-height"
    own_spots: ClassVar[tuple[str, ...]] = CORNERS[1:]

    spot: str = field(default=EVERY, metadata=where(*CORNERS))
    at_least: Decimal | None = field(default=None, metadata=least(Kind.LENGTH, HEIGHT))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.LENGTH, HEIGHT))

    @classmethod
    def example(cls) -> Self:
        """At least 2 in at every corner."""
        return cls(at_least=2 * INCH)


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelbaseLimit(Limited):
    """Front hub to rear hub of one side."""

    kind: ClassVar[str] = "wheelbase_limit"
    title: ClassVar[str] = "Wheelbase"
    measure = "wheelbase"
    own_spots: ClassVar[tuple[str, ...]] = SIDES[1:]

    spot: str = field(default=EVERY, metadata=where(*SIDES))
    at_least: Decimal | None = field(default=None, metadata=least(Kind.LENGTH, BASE))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.LENGTH, BASE))

    @classmethod
    def example(cls) -> Self:
        """45 in to 50 in on either side."""
        return cls(at_least=45 * INCH, at_most=50 * INCH)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackWidthLimit(Limited):
    """Middle of the left tyre to middle of the right tyre of one axle."""

    kind: ClassVar[str] = "track_width_limit"
    title: ClassVar[str] = "Track width"
    measure = "track-width"
    own_spots: ClassVar[tuple[str, ...]] = AXLES[1:]

    spot: str = field(default=EVERY, metadata=where(*AXLES))
    at_least: Decimal | None = field(default=None, metadata=least(Kind.LENGTH, WIDTH))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.LENGTH, WIDTH))

    @classmethod
    def example(cls) -> Self:
        """At most 36 in, front and rear."""
        return cls(at_most=36 * INCH)


@dataclass(frozen=True, slots=True, kw_only=True)
class TyreLimit(Limited):
    """A tyre's roll-out."""

    kind: ClassVar[str] = "tyre_limit"
    title: ClassVar[str] = "Tyre size"
    measure = "circumference"
    own_spots: ClassVar[tuple[str, ...]] = CORNERS[1:]

    spot: str = field(default=EVERY, metadata=where(*CORNERS))
    at_least: Decimal | None = field(default=None, metadata=least(Kind.LENGTH, ROUND))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.LENGTH, ROUND))

    @classmethod
    def example(cls) -> Self:
        """At most 36 in, right rear."""
        return cls(spot="RR", at_most=36 * INCH)


# Bounds of the lengths that have a kind of their own.
OWN_BOUNDS = {
    RideHeightLimit.measure: HEIGHT,
    WheelbaseLimit.measure: BASE,
    TrackWidthLimit.measure: WIDTH,
    TyreLimit.measure: ROUND,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthLimit(Limited):
    """Any length of the catalogue."""

    kind: ClassVar[str] = "length_limit"
    title: ClassVar[str] = "Another length on the car"

    measure: str = field(metadata=asked("Measure", "text"))
    spot: str = field(default=EVERY, metadata=where(*SPOT_CHOICES))
    at_least: Decimal | None = field(default=None, metadata=least(Kind.LENGTH, LENGTH))
    at_most: Decimal | None = field(default=None, metadata=most(Kind.LENGTH, LENGTH))

    def asks(self) -> dict[str, Parameter]:
        """The bounds are those of the measure."""
        own = OWN_BOUNDS.get(self.measure, LENGTH)
        asks = self.parameters()
        ends = {name: replace(asks[name], bounds=own) for name in ("at_least", "at_most")}
        return {**asks, **ends}

    @classmethod
    def example(cls) -> Self:
        """Frame bar to rear axle, at most 12 in on either side."""
        return cls(measure="rear-bar", at_most=12 * INCH)


@dataclass(frozen=True, slots=True, kw_only=True)
class RequiredReading(OnTheCar):
    """A reading that must be taken, whatever it says; without a spot, at every one.

    Without any readings it is not checked; with readings, but not this one, it fails; with some of
    its spots read it is not checked.
    """

    kind: ClassVar[str] = "required_reading"
    title: ClassVar[str] = "A reading that must be taken"

    measure: str = field(metadata=asked("Measure", "text"))
    spot: str = field(default=EVERY, metadata=where(*SPOT_CHOICES))

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return f"{headed(self.measure, self.spot)} must be measured"

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """Whether the reading is there; its figure is not shown."""
        name = headed(self.measure, self.spot)
        if facts.readings is None:
            return not_checked("Nothing has been measured yet.")
        if self.readings(facts):
            return self.every(RuleResult(Outcome.MEETS, f"{name} has been measured."), facts)
        return RuleResult(Outcome.FAILS, f"{name} has not been measured.")

    @classmethod
    def example(cls) -> Self:
        """The left rear tyre's roll-out."""
        return cls(measure="circumference", spot="LR")

    def car(self, *, inside: bool) -> Facts:
        """It was measured, or something else was."""
        read = Estimate(850.0, 0.5)
        return Facts(readings=self.example_readings(read) if inside else {})
