"""Rules on ballast: what is written on each piece, how large it is, where it is, that it holds.

Every piece must meet the rule, so the worst piece is the outcome and the sentence names it. While
a piece that the team says is on the car has not been looked at, the rule is not met.
"""

from abc import abstractmethod
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import ClassVar, Self

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.base import CUSTOMARY, RuleKind
from events.rules.counting import counted
from events.rules.decision import Outcome, RuleLimits, worst
from events.rules.example_cars import BENCH, figure, limits_of
from events.rules.facts import Facts, PieceSeen
from events.rules.judging import Judge, RuleResult, not_checked, result_of
from events.rules.marks import TRUE_TO, too_close, untrue_marks
from events.rules.parameters import Bounds, ParameterError, asked
from events.rules.rule_text import format_figure

POUND = Decimal("0.45359237")
PIECE = Bounds(POUND / 2, 60 * POUND)
AGREEMENT = Bounds(POUND / 50, 2 * POUND)
LONGEST_PLACES = 120

# The example's piece, and places for it of which no class can name each.
FOUR_POUNDS = float(4 * POUND)
GOOD = PieceSeen(label="7", marked_mass=FOUR_POUNDS, place="frame rail", fixed=True)
ELSEWHERE = ("nose", "side pod", *map(str, range(LONGEST_PLACES)))


class BallastRule(RuleKind):
    """What rules on every piece of ballast have in common."""

    topic: ClassVar[str] = "Ballast"

    @abstractmethod
    def judged_piece(self, piece: PieceSeen, facts: Facts, by: Judge) -> RuleResult:
        """What the rule says of one piece; the sentence follows its name."""

    @abstractmethod
    def piece(self, *, inside: bool) -> PieceSeen:
        """A piece that is in order, or one that is not."""

    def car(self, *, inside: bool) -> Facts:
        """One piece in order, and one that is not beside it."""
        good = self.piece(inside=True)
        return Facts(pieces=(good,) if inside else (good, self.piece(inside=False)))

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """The worst of the pieces, all looked at; a car without ballast meets the rule."""
        if facts.pieces is None and facts.off and not facts.unseen:
            return not_checked(
                "Every piece on record is off the car; nobody has said yet that no other is on it."
            )
        seen = len(facts.pieces or ())
        return counted(self._of_those_seen(facts, by), seen, seen + facts.unseen, "looked at")

    def _of_those_seen(self, facts: Facts, by: Judge) -> RuleResult:
        if facts.pieces is None:
            return not_checked("The ballast has not been looked at yet.")
        if not facts.pieces:
            return RuleResult(Outcome.MEETS, "No ballast in the car.")
        judged = [(piece, self.judged_piece(piece, facts, by)) for piece in facts.pieces]
        outcome = worst([result.outcome for _, result in judged])
        least = [pair for pair in judged if pair[1].outcome is outcome]
        piece, result = min(least, key=_margin)
        if outcome is Outcome.MEETS:
            return replace(result, sentence=f"{_pieces(len(judged))} looked at, all in order.")
        sentence = f"{piece.name}: {result.sentence}"
        more = f" And {_pieces(len(least) - 1)} more like it." if len(least) > 1 else ""
        return replace(result, sentence=sentence + more)


def _margin(pair: tuple[PieceSeen, RuleResult]) -> float:
    margin = pair[1].margin
    return 0.0 if margin is None else margin


def _pieces(count: int) -> str:
    return f"{count} piece" if count == 1 else f"{count} pieces"


@dataclass(frozen=True, slots=True, kw_only=True)
class BallastMarked(BallastRule):
    """Each piece carries a name or car number, and its weight unless the rule leaves it out.

    With `agree_within`, a piece that was weighed must agree with its marking; one that was not
    weighed is then not checked. Without it a weight that is not true meets the rule, and the
    sentence says so.
    """

    kind: ClassVar[str] = "ballast_marked"
    title: ClassVar[str] = "Ballast marked"

    weight_marked: bool = field(
        default=True, metadata=asked("The weight must be marked too", "yes_no")
    )
    agree_within: Decimal | None = field(
        default=None,
        metadata=asked(
            "Marked and true weight agree within",
            "quantity",
            quantity=Kind.MASS,
            bounds=AGREEMENT,
            help="Every piece must then be weighed. Left empty, any weight on a piece will do.",
        ),
    )

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        line = "Every piece of ballast marked with name or car number"
        if self.weight_marked:
            line += " and its weight"
        if self.agree_within is None:
            return line
        true = f"true to {format_figure(self.agree_within, Kind.MASS, units)}"
        return f"{line}, {true}" if self.weight_marked else f"{line}; a weight on it {true}"

    def renewed(self, units: Units = CUSTOMARY) -> Self:
        """With a tolerance where the earlier version asked for a weight and set none."""
        if not self.weight_marked or self.agree_within is not None:
            return self
        return replace(self, agree_within=self.example_in(units).agree_within)

    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """As every rule on ballast; of a rule without tolerance, also which marks are not true."""
        result = BallastRule.judged(self, facts, by)
        if self.agree_within is not None:
            return result
        return replace(
            result, sentence=result.sentence + untrue_marks(facts.pieces or (), by.units)
        )

    def judged_piece(self, piece: PieceSeen, facts: Facts, by: Judge) -> RuleResult:
        """The label first, then the weight marked, then whether that is true."""
        if not piece.label.strip():
            return RuleResult(Outcome.FAILS, "no name or car number on it.")
        if facts.own_labels and not names_one(piece.label, facts.own_labels):
            return RuleResult(Outcome.FAILS, "not the name or number of this car.")
        if self.weight_marked and piece.marked_mass is None:
            return RuleResult(Outcome.FAILS, "no weight on it.")
        if self.agree_within is None or piece.marked_mass is None:
            return RuleResult(Outcome.MEETS, "marked.")
        return self._agreement(piece.marked_mass, piece.weighed_mass, by)

    def _agreement(self, marked: float, weighed: Estimate | None, by: Judge) -> RuleResult:
        if weighed is None:
            return not_checked("not weighed, so its marking is not checked.")
        within = float(self.agree_within or 0)
        decision = by.decide(weighed, RuleLimits(marked - within, marked + within))
        weighs, marking = (
            format_figure(weighed.value, Kind.MASS, by.units),
            format_figure(marked, Kind.MASS, by.units),
        )
        sentence = f"marked {marking}, weighs {weighs}."
        if decision.outcome is Outcome.TOO_CLOSE:
            sentence += f" {too_close(decision, by.units)}; weigh it again."
        return result_of(decision, sentence)

    @classmethod
    def example(cls) -> Self:
        """Name or number and weight, true to a quarter of a pound."""
        return cls(agree_within=TRUE_TO)

    def piece(self, *, inside: bool) -> PieceSeen:
        """Marked and true to it; or not marked, or untrue where that counts."""
        if self.agree_within is None:
            return GOOD if inside else PieceSeen()
        untrue = 0.0 if inside else float(self.agree_within) + BENCH.gap
        return replace(GOOD, weighed_mass=Estimate(FOUR_POUNDS + untrue, BENCH.u))


@dataclass(frozen=True, slots=True, kw_only=True)
class BallastLargestPiece(BallastRule):
    """No piece is heavier than so much; what it weighs counts before what is marked on it."""

    kind: ClassVar[str] = "ballast_largest_piece"
    title: ClassVar[str] = "Largest piece of ballast"

    at_most: Decimal = field(
        metadata=asked("Heaviest", "quantity", quantity=Kind.MASS, bounds=PIECE)
    )

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return f"No piece of ballast over {format_figure(self.at_most, Kind.MASS, units)}"

    def judged_piece(self, piece: PieceSeen, facts: Facts, by: Judge) -> RuleResult:
        """The piece's weight, or the weight marked on it, against the most allowed."""
        mass = piece.weighed_mass
        if mass is None and piece.marked_mass is not None:
            mass = Estimate(piece.marked_mass)
        if mass is None:
            return not_checked("neither weighed nor marked with its weight.")
        return by.figure(mass, limits_of(None, self.at_most), Kind.MASS)

    @classmethod
    def example(cls) -> Self:
        """10 lb."""
        return cls(at_most=10 * POUND)

    def piece(self, *, inside: bool) -> PieceSeen:
        """Weighed on a bench scale."""
        limits = limits_of(None, self.at_most)
        return replace(GOOD, weighed_mass=figure(limits, BENCH, inside=inside))


@dataclass(frozen=True, slots=True, kw_only=True)
class BallastFixed(BallastRule):
    """Each piece is fixed so that it holds. The official's hand and eye decide."""

    kind: ClassVar[str] = "ballast_fixed"
    title: ClassVar[str] = "Ballast fixed"

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return "Every piece of ballast fixed so that it cannot come loose"

    def judged_piece(self, piece: PieceSeen, facts: Facts, by: Judge) -> RuleResult:
        """What the official saw."""
        if piece.fixed is None:
            return not_checked("nobody has tried whether it holds.")
        if piece.fixed:
            return RuleResult(Outcome.MEETS, "holds.")
        return RuleResult(Outcome.FAILS, "comes loose. The car must not run with it.")

    @classmethod
    def example(cls) -> Self:
        """It has no parameters."""
        return cls()

    def piece(self, *, inside: bool) -> PieceSeen:
        """It holds, or it does not."""
        return replace(GOOD, fixed=inside)


@dataclass(frozen=True, slots=True, kw_only=True)
class BallastPlace(BallastRule):
    """Each piece is at a place that the class allows, as the official notes it.

    A place counts as allowed if the words of an allowed one stand in it: 'left frame rail' is at
    'frame rail'.
    """

    kind: ClassVar[str] = "ballast_place"
    title: ClassVar[str] = "Place of the ballast"

    places: str = field(
        metadata=asked(
            "Allowed places",
            "text",
            longest=LONGEST_PLACES,
            help="With commas between, in the words that officials use: frame rail, seat back.",
        )
    )

    def __post_init__(self) -> None:
        if not self.allowed():
            raise ParameterError("places", "must name at least one place")

    def allowed(self) -> tuple[str, ...]:
        """The places, as they were named; what holds no letter or figure names none."""
        named = (" ".join(one.split()).rstrip(" .;:") for one in self.places.split(","))
        return tuple(place for place in named if any(map(str.isalnum, place)))

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return f"Every piece of ballast at an allowed place: {', '.join(self.allowed())}"

    def judged_piece(self, piece: PieceSeen, facts: Facts, by: Judge) -> RuleResult:
        """The place noted against those allowed."""
        if not piece.place.strip():
            return not_checked("nobody has noted where it is.")
        if names_one(piece.place, self.allowed()):
            return RuleResult(Outcome.MEETS, "at an allowed place.")
        return RuleResult(Outcome.FAILS, f"not an allowed place ({', '.join(self.allowed())}).")

    @classmethod
    def example(cls) -> Self:
        """Two places on the frame."""
        return cls(places="frame rail, seat back")

    def piece(self, *, inside: bool) -> PieceSeen:
        """At the first place allowed, or somewhere that is none of them."""
        elsewhere = next(one for one in ELSEWHERE if not names_one(one, self.allowed()))
        return replace(GOOD, place=self.allowed()[0] if inside else elsewhere)


def names_one(text: str, names: tuple[str, ...]) -> bool:
    """Whether one of the names stands in the text, as words of its own."""
    text_words = _plain(text)
    return any(f" {_plain(name)} " in f" {text_words} " for name in names if _plain(name))


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("#", " ").split())
