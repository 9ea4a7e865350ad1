"""The ballast plan of the pre-check: the bench's own, asked for what the chosen risk needs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple
from uuid import UUID

from cars.mechanics import MechanicsError
from cars.mechanics.ballastplan import BallastPlan
from cars.plans.presenters.ballast import BallastCard, ballast_cards
from cars.plans.queries.ballast import Added, Stock, Weighing, ballast_plans, lacking, stock_of
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.precheck.presenters.ballast_text import (
    HeldTo,
    lacking_piece,
    stays_heavy,
    to_mark,
    too_large,
)
from events.precheck.queries.car_facts import PlacedPiece
from events.precheck.queries.own_scales import OnScales
from events.presenters.mass_text import format_mass, round_up
from events.rules import Outcome, RuleResult
from events.rules.ballast import BallastRule
from events.rules.light import Race, at_the_scales, between, margin_for, to_add
from events.rules.weight import ShareLimit

# The weight marked on a piece is itself known to its last digit only, so that with some pieces the
# margin must be wider than for the car alone. It is asked for again with theirs, so often at most.
TRIES = 3
SAME = 1e-6  # of a chance
ALONE = "Or leave what is fitted where it is"
PERCENT = 100.0


@dataclass(frozen=True)
class RuleThen:
    """What a rule would say."""

    words: str
    result: RuleResult


@dataclass(frozen=True)
class Need:
    """The minimum that asks for most, kg, and what lies between the two scales."""

    minimum: float
    now: Estimate
    race: Race
    risk: float

    @property
    def weight(self) -> Estimate:
        """At the official's scales, as the car is now."""
        return at_the_scales(self.now, self.race)

    @property
    def lacks(self) -> float:
        """How far the car is from what the risk asks for, kg; minus where it is heavier."""
        return self.minimum + margin_for(self.weight.u, self.risk) - self.weight.value

    def margin(self, units: Units) -> float:
        """Over the minimum: as far as the amount that the page says to add leads to."""
        if self.lacks <= 0:
            return margin_for(self.weight.u, self.risk)
        add = round_up(to_add(self.weight, self.minimum, self.risk), units)
        return self.weight.value + float(add) - self.minimum


class PieceMove(NamedTuple):
    """The row of a piece, and of the mount it goes to; none where it comes off."""

    piece: UUID
    mount: UUID | None


class SharesThen(NamedTuple):
    """As the team's own scales should read them next, percent."""

    left: Estimate
    rear: Estimate
    cross: Estimate


@dataclass(frozen=True)
class Planned:
    """One plan: as the bench shows it, what the official's scales and the rules would say.

    `weight` kg at the official's scales; `shares`: None where only a total is known.
    """

    heading: str
    plan: BallastPlan
    card: BallastCard
    handled: list[PieceMove]
    weight: Estimate
    shares: SharesThen | None
    rules: list[RuleThen]
    to_mark: list[str]


@dataclass(frozen=True)
class PreCheckBallast:
    """The plans, best first; `sent` is what the bench's page is asked for the same ones.

    `words` must be acted upon, `notes` may be; `short`: kg that no combination reaches; `missing`:
    why there is no plan at all.
    """

    words: list[str]
    notes: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    sent: dict[str, str] = field(default_factory=dict)
    plans: list[Planned] = field(default_factory=list)
    short: float = 0.0

    @property
    def todo(self) -> bool:
        """Whether a plan handles any piece."""
        return any(planned.plan.handling for planned in self.plans)


def ballast_for(scales: OnScales, need: Need | None, held: HeldTo) -> PreCheckBallast | None:
    """The bench's plans for the need; None without one, or without the driver in the car."""
    if need is None or not scales.driver_in:
        return None
    stock = stock_of(scales.on_sheet, held.limit)
    words, missing = too_large(stock, held), lacking(scales.on_sheet, stock)
    if missing:
        if need.lacks > 0 and not stock.pieces:
            words += lacking_piece(need.lacks, None, stock, held)
        return PreCheckBallast(words, missing=missing)
    planning = _Planning(scales, stock, need, held)
    try:
        sent, added = planning.asked()
    except MechanicsError as refused:
        return PreCheckBallast(words, missing=[str(refused)])
    return PreCheckBallast(
        words=words + planning.what_is_lacking(added),
        notes=stays_heavy(added.plans[0], need.minimum, held.units),
        sent=sent,
        plans=planning.planned(sent, added.plans),
        short=added.short,
    )


def weighing_of(sent: Mapping[str, str], units: Units) -> Weighing:
    """What the bench's page reads in it: text for text, so that both come to the same plan."""

    def mass(name: str) -> float:
        return float(parse(sent[name], Kind.MASS, units=units).value)

    return Weighing(
        minimum=mass("minimum"),
        margin=mass("margin"),
        fuel_now=0.0,
        fuel_then=0.0,
        driver=mass("driver"),
        between=mass("between"),
    )


@dataclass(frozen=True, slots=True)
class _Planning:
    scales: OnScales
    stock: Stock
    need: Need
    held: HeldTo

    def asked(self) -> tuple[dict[str, str], Added]:
        """What the bench's page is asked, and what it answers."""
        margin = self.need.margin(self.held.units)
        for _ in range(TRIES):
            sent = self._sent(margin)
            weighing = weighing_of(sent, self.held.units)
            added = ballast_plans(self.scales.on_sheet, self.stock, weighing)
            best = added.plans[0]
            if added.short or not self._is_coarse(best):
                break
            margin = margin_for(best.u_weight, self.need.risk)
        return sent, added

    def _sent(self, margin: float) -> dict[str, str]:
        units, more = self.held.units, between(self.need.race)
        return {
            "minimum": format_mass(self.need.minimum, units),
            "margin": format_mass(margin, units, up=True),
            # The same then as now: what is burnt and filled up is told by its weight.
            "fuel_now": self.scales.fuel_text or "0",
            "driver": format_mass(more.value, units),
            "between": format_mass(more.u, units),
        }

    def _is_coarse(self, plan: BallastPlan) -> bool:
        return plan.under > self.need.risk + SAME

    def what_is_lacking(self, added: Added) -> list[str]:
        """What the plans leave open."""
        if not added.short:
            return []
        return lacking_piece(added.short, added.plans[0], self.stock, self.held)

    def planned(self, sent: Mapping[str, str], plans: Sequence[BallastPlan]) -> list[Planned]:
        """The plans with what they would lead to, best first."""
        heavier = weighing_of(sent, self.held.units).driver
        cards = ballast_cards(self.scales.on_sheet, self.stock, plans, heavier)
        headings = [self._heading(plans[0]), *([ALONE] * (len(plans) - 1))]
        return [
            self._one(plan, card, heading, heavier)
            for plan, card, heading in zip(plans, cards, headings, strict=True)
        ]

    def _one(self, plan: BallastPlan, card: BallastCard, heading: str, heavier: float) -> Planned:
        pieces, shares = self._placed(plan), self._shares(plan)
        return Planned(
            heading=heading,
            plan=plan,
            card=card,
            handled=[
                PieceMove(self.stock.piece(each.piece), self.stock.mount(each.after))
                for each in plan.handling
            ],
            weight=Estimate(plan.weight + heavier, plan.u_weight),
            shares=shares,
            rules=self._rules(shares, pieces),
            to_mark=to_mark(pieces, self.held),
        )

    def _heading(self, plan: BallastPlan) -> str:
        if plan.excess < -SAME:
            return "The most your pieces give"
        if not plan.handling:
            return "Your pieces can stay as they are"
        if self.need.lacks > 0:
            return "Your pieces that reach it"
        if any(each.after is None for each in plan.handling):
            return "What could come off"
        return "Heavy enough; your pieces could sit better"

    def _placed(self, plan: BallastPlan) -> list[PlacedPiece]:
        """Every piece on the car after the plan."""
        planned = [PlacedPiece(self.stock.pieces[piece], mount) for piece, mount in plan.placed]
        return planned + [PlacedPiece(piece, "") for piece in self.stock.placeless]

    def _shares(self, plan: BallastPlan) -> SharesThen | None:
        if not self.scales.four:
            return None
        now = plan.now
        return SharesThen(
            left=_percent(now.left, now.u_left),
            rear=_percent(now.rear, now.u_rear),
            cross=_percent(now.cross, now.u_cross),
        )

    def _rules(self, shares: SharesThen | None, pieces: Sequence[PlacedPiece]) -> list[RuleThen]:
        """What the rules on left, rear, cross and ballast would say otherwise than they do now."""
        held, seen = self.held, tuple(each.seen for each in pieces)
        then = replace(held.facts, pieces=seen)
        if shares is not None:
            then = replace(then, left=shares.left, rear=shares.rear, cross=shares.cross)
        judged = (
            (rule, rule.judged(held.facts, held.judge), rule.judged(then, held.judge))
            for rule in held.rules
            if isinstance(rule, ShareLimit | BallastRule)
        )
        return [
            RuleThen(rule.words(held.units), after)
            for rule, now, after in judged
            if _news(now, after)
        ]


def _news(now: RuleResult, after: RuleResult) -> bool:
    """Whether a plan changes what a rule says: another outcome, or wrong in another way."""
    if after.outcome in (Outcome.MEETS, Outcome.NOT_CHECKED):
        return after.outcome is not now.outcome
    return after.sentence != now.sentence


def _percent(share: float, u: float) -> Estimate:
    return Estimate(PERCENT * share, PERCENT * u)
