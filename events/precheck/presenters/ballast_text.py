"""What a family is told of its ballast pieces beside a plan."""

from collections.abc import Sequence
from dataclasses import dataclass

from cars.mechanics.ballastplan import BallastPlan
from cars.plans.queries.ballast import Stock
from cars.plans.queries.class_limits import ClassLimit
from clubsetup.quantities.units import Units
from events.precheck.queries.car_facts import PlacedPiece
from events.presenters.mass_text import amount, round_down, round_up
from events.rules import Facts, Outcome, RuleKind
from events.rules.ballast import BallastMarked
from events.rules.judging import Judge

# Of the minimum: more than this over it costs speed, and is worth a word. Our judgement.
FAR = 0.01


@dataclass(frozen=True, slots=True)
class HeldTo:
    """What a car is judged by: the rules, how they decide, what is known of it."""

    rules: Sequence[RuleKind]
    facts: Facts
    limit: ClassLimit | None
    judge: Judge

    @property
    def units(self) -> Units:
        """The reader's."""
        return self.judge.units


def too_large(stock: Stock, held: HeldTo) -> list[str]:
    """Pieces above the class's largest: of no use on the shelf, to be taken off the car."""
    if held.limit is None or held.limit.largest_piece is None:
        return []
    most = amount(held.limit.largest_piece, held.units)
    return [
        f"{piece} is above the class's largest piece, {most}: "
        + ("take it off the car and weigh again." if piece.car_id else "it is left out here.")
        for piece in stock.too_large
    ]


def to_mark(pieces: Sequence[PlacedPiece], held: HeldTo) -> list[str]:
    """Pieces that an official would refuse for what is written on them, and what to write."""
    asked = [rule for rule in held.rules if isinstance(rule, BallastMarked)]
    lines = []
    for each in pieces:
        results = (rule.judged_piece(each.seen, held.facts, held.judge) for rule in asked)
        problem = next((r.sentence for r in results if r.outcome is Outcome.FAILS), "")
        if problem:
            lines.append(f"{each.piece}: {problem} Write the car's number and the weight on it.")
    return lines


def lacking_piece(
    short: float, nearest: BallastPlan | None, stock: Stock, held: HeldTo
) -> list[str]:
    """What would have to be bought, and where it would go; `short` kg are missing."""
    units, largest = held.units, held.limit.largest_piece if held.limit else None
    need = round_up(short, units)
    lines = [f"What is lacking: {amount(need, units)} more ballast."]
    if largest is not None and need > largest:
        lines[0] += f" One piece may weigh {amount(largest, units)} at most: more than one."
    if nearest is not None and stock.mounts:
        room = max(_room(nearest, stock).values())
        if room < short:
            most = amount(round_down(room, units), units)
            lines.append(
                f"No mount has room for it: at most {most} more. Ask whoever builds the car for "
                "another mount; never hang on more than a mount holds."
            )
    return lines


def _room(plan: BallastPlan, stock: Stock) -> dict[str, float]:
    """What each mount could still hold, kg."""
    room = {name: float(mount.capacity) for name, mount in stock.mounts.items()}
    for piece, mount in plan.placed:
        room[mount] -= float(stock.pieces[piece].marked_mass)
    return room


def stays_heavy(plan: BallastPlan, minimum: float, units: Units) -> list[str]:
    """A word where no ballast is the reason that the car is heavy."""
    if plan.excess <= FAR * minimum:
        return []
    over = amount(round_down(plan.excess, units), units)
    even = "Even then the" if any(each.after is None for each in plan.handling) else "The"
    return [
        f"{even} car is {over} heavier than it has to be, and no other piece could come off. "
        "That is legal; it is weight to look for elsewhere."
    ]
