"""Rules on ballast: what is written on each piece, how large it is, and that it holds.

Every piece must meet the rule, so the worst piece is the outcome and the sentence names it.
"""

from abc import abstractmethod
from dataclasses import dataclass, field, replace
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
    result_of,
)
from events.rules.decision import DecisionRule, Outcome, decide, worst
from events.rules.facts import Facts, PieceSeen
from events.rules.parameters import asked, positive
from events.rules.speech import say, say_gap

FOUR_POUNDS = 1.81436948  # kg


class BallastRule(RuleKind):
    """What rules on every piece of ballast have in common."""

    @abstractmethod
    def check_piece(
        self, piece: PieceSeen, facts: Facts, rule: DecisionRule, units: Units
    ) -> RuleResult:
        """What the rule says of one piece; the sentence follows its name."""

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """The worst of the pieces; a car without ballast meets the rule."""
        if facts.pieces is None:
            return not_checked("The ballast has not been looked at yet.")
        if not facts.pieces:
            return RuleResult(Outcome.MEETS, "No ballast in the car.")
        found = [(piece, self.check_piece(piece, facts, rule, units)) for piece in facts.pieces]
        outcome = worst([result.outcome for _, result in found])
        least = [pair for pair in found if pair[1].outcome is outcome]
        piece, result = min(least, key=_margin)
        if outcome is Outcome.MEETS:
            return replace(result, sentence=f"{_pieces(len(found))} looked at, all in order.")
        sentence = f"{piece.name}: {result.sentence}"
        more = f" And {_pieces(len(least) - 1)} more like it." if len(least) > 1 else ""
        return replace(result, sentence=sentence + more)


def _margin(pair: tuple[PieceSeen, RuleResult]) -> float:
    margin = pair[1].margin
    return 0.0 if margin is None else margin


def _pieces(count: int) -> str:
    return f"{count} piece" if count == 1 else f"{count} pieces"


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class BallastMarked(BallastRule):
    """Each piece carries a name or car number, and its weight unless the rule leaves it out.

    With `agree_within`, a piece that was weighed must agree with its marking; one that was not
    weighed is then not checked.
    """

    kind: ClassVar[str] = "ballast_marked"
    title: ClassVar[str] = "Ballast marked"

    weight_marked: bool = field(
        default=True, metadata=asked("The weight must be marked too", "yes_no")
    )
    agree_within: Decimal | None = field(
        default=None,
        metadata=asked("Marked and true weight agree within", "quantity", quantity=Kind.MASS),
    )

    def __post_init__(self) -> None:
        positive("agree_within", self.agree_within)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        line = "Every piece of ballast marked with name or car number"
        if self.weight_marked:
            line += " and its weight"
        if self.agree_within is not None:
            line += f", true to {say(self.agree_within, Kind.MASS, units)}"
        return line

    def check_piece(
        self, piece: PieceSeen, facts: Facts, rule: DecisionRule, units: Units
    ) -> RuleResult:
        """The label first, then the weight marked, then whether that is true."""
        if not piece.label.strip():
            return RuleResult(Outcome.FAILS, "no name or car number on it.")
        if facts.own_labels and not _is_own(piece.label, facts.own_labels):
            return RuleResult(Outcome.FAILS, "not the name or number of this car.")
        if self.weight_marked and piece.marked_mass is None:
            return RuleResult(Outcome.FAILS, "no weight on it.")
        if self.agree_within is None or piece.marked_mass is None:
            return RuleResult(Outcome.MEETS, "marked.")
        return self._agreement(piece.marked_mass, piece.weighed_mass, rule, units)

    def _agreement(
        self, marked: float, weighed: Estimate | None, rule: DecisionRule, units: Units
    ) -> RuleResult:
        if weighed is None:
            return not_checked("not weighed, so its marking is not checked.")
        within = float(self.agree_within or 0)
        limits = limits_of(marked - within, marked + within)
        decision = decide(weighed, limits, rule)
        true, said = say(weighed.value, Kind.MASS, units), say(marked, Kind.MASS, units)
        sentence = f"marked {said}, weighs {true}."
        if decision.outcome is Outcome.TOO_CLOSE:
            sentence += f" Within {say_gap(decision.guard, Kind.MASS, units)} of what is allowed."
        return result_of(decision, sentence)

    @classmethod
    def example(cls) -> Self:
        """Name or number and weight."""
        return cls()

    @classmethod
    def example_pass(cls) -> Facts:
        """One piece marked 7, 4 lb."""
        return Facts(pieces=(PieceSeen(label="7", marked_mass=FOUR_POUNDS),))

    @classmethod
    def example_fail(cls) -> Facts:
        """The same, and one that nobody marked."""
        return Facts(pieces=(PieceSeen(label="7", marked_mass=FOUR_POUNDS), PieceSeen()))


def _is_own(label: str, own: tuple[str, ...]) -> bool:
    """Whether a name or number of the car stands on the label, as a word of its own."""
    words = label.casefold().replace("#", " ").split()
    text = f" {' '.join(words)} "
    return any(f" {' '.join(one.casefold().split())} " in text for one in own if one.strip())


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class BallastLargestPiece(BallastRule):
    """No piece is heavier than so much; what it weighs counts before what is marked on it."""

    kind: ClassVar[str] = "ballast_largest_piece"
    title: ClassVar[str] = "Largest piece of ballast"

    at_most: Decimal = field(metadata=asked("At most", "quantity", quantity=Kind.MASS))

    def __post_init__(self) -> None:
        positive("at_most", self.at_most)

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return f"No piece of ballast over {say(self.at_most, Kind.MASS, units)}"

    def check_piece(
        self, piece: PieceSeen, facts: Facts, rule: DecisionRule, units: Units
    ) -> RuleResult:
        """The piece's weight, or the weight marked on it, against the most allowed."""
        mass = piece.weighed_mass
        if mass is None and piece.marked_mass is not None:
            mass = Estimate(piece.marked_mass)
        if mass is None:
            return not_checked("neither weighed nor marked with its weight.")
        return judged(mass, limits_of(None, self.at_most), rule, Kind.MASS, units)

    @classmethod
    def example(cls) -> Self:
        """10 lb."""
        return cls(at_most=Decimal("4.5359237"))

    @classmethod
    def example_pass(cls) -> Facts:
        """A piece of 4 lb."""
        return Facts(pieces=(PieceSeen(label="7", marked_mass=FOUR_POUNDS),))

    @classmethod
    def example_fail(cls) -> Facts:
        """A piece of 4 lb and one of 12 lb."""
        heavy = PieceSeen(label="7", weighed_mass=Estimate(3 * FOUR_POUNDS, 0.01))
        return Facts(pieces=(PieceSeen(label="7", marked_mass=FOUR_POUNDS), heavy))


@register
@dataclass(frozen=True, slots=True, kw_only=True)
class BallastFixed(BallastRule):
    """Each piece is fixed so that it holds. The official's hand and eye decide."""

    kind: ClassVar[str] = "ballast_fixed"
    title: ClassVar[str] = "Ballast fixed"

    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""
        return "Every piece of ballast fixed so that it cannot come loose"

    def check_piece(
        self, piece: PieceSeen, facts: Facts, rule: DecisionRule, units: Units
    ) -> RuleResult:
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

    @classmethod
    def example_pass(cls) -> Facts:
        """A piece that holds."""
        return Facts(pieces=(PieceSeen(label="7", fixed=True),))

    @classmethod
    def example_fail(cls) -> Facts:
        """A piece that holds and one that does not."""
        return Facts(pieces=(PieceSeen(label="7", fixed=True), PieceSeen(label="7", fixed=False)))
