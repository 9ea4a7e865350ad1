"""One suggestion for this car, in words and figures."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from cars.catalogue.adjusters import ADJUSTERS
from cars.catalogue.keys import Key
from cars.figures.formatting import format_amount, format_figure
from cars.figures.prediction_format import format_predicted, format_spread
from cars.mechanics.helped import Verdict
from cars.models import Measure, Suggestion
from cars.runs.queries.car_to_change import Change
from cars.runs.queries.change_judges import RuleOutcome, RuleThen
from cars.runs.queries.predicted_changes import MODELLED, PredictedChange, WheelsHeld
from cars.runs.queries.suggestions import Felt
from cars.runs.queries.trials import Tries
from cars.runs.queries.try_this import LeftTolerance, TryThis
from cars.runs.queries.what_to_try import WhatToTry
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

PLACE_WORDS = {"entry": "at entry", "middle": "in the middle", "exit": "at exit"}
BALANCE_WORDS = {"pushes": "pushes", "turns": "turns", "loose": "is loose"}
HANDS_WORDS = {
    "right": "hands to the right",
    "straight": "hands straight",
    "bit-left": "hands a bit left",
    "far-left": "hands far left",
}
STEERING_WORDS = {
    "light": "steering light",
    "good": "steering good",
    "heavy": "steering heavy",
}
# What is said of an adjuster beside its spot.
SHORT = {
    "spring-seat": "seat",
    "pressure": "pressure",
    "stagger": "stagger",
    "lead": "lead",
    "rear-rod-hole": "rods",
    "side-to-side": "axle",
    **dict.fromkeys(("ballast-forward", "ballast-left", "ballast-height"), "ballast"),
}
AS_WANTED = ("turns", "straight", "good")
# Of the corner that is turned.
OWN_HEIGHT, OWN_WEIGHT = "own height", "own weight"
OWN = {"ride-height": OWN_HEIGHT, "weight": OWN_WEIGHT}
# Of what a change moves, these are told first.
FIRST = (
    *("cross", "stagger", "lead", OWN_HEIGHT, OWN_WEIGHT),
    *("rear-share", "left-share", "total-weight"),
)
MOST_FIGURES = 2
UNTIL_READ = "to be read again before it is called legal"
ROUNDING = Decimal("1e-8")
TIMES = {1: "once", 2: "twice"}
VERDICTS: tuple[Verdict, ...] = ("faster", "slower", "no difference worth having", "cannot tell")


@dataclass(frozen=True, slots=True)
class FigureMoved:
    """'Cross' from '55.4%' to '56.0%' '(± 0.3%)'; `by`: '+1/16 in'."""

    name: str
    was: str
    then: str
    spread: str
    by: str = ""

    @property
    def text(self) -> str:
        """'cross 55.4% to 56.0% (± 0.3%)'."""
        return f"{self.name} {self.was} to {self.then} {self.spread}".rstrip()

    @property
    def short(self) -> str:
        """The same, or 'RF height +1/16 in'."""
        return f"{self.name} {self.by}" if self.by else self.text


@dataclass(frozen=True, slots=True)
class TryShown:
    """A suggestion as one reads it: `says` 'RF seat 1/2 turn up'; `out` why it is struck out."""

    one: TryThis
    says: str
    lead: list[str]  # the figures that are told in its line
    legal: str
    out: list[str]
    notes: list[str]
    tried: str
    felt: str  # what it is for, where several things are felt
    whose: str
    figures: list[FigureMoved]

    @property
    def row(self) -> Suggestion:
        """What is done."""
        return self.one.row

    @property
    def minutes(self) -> str:
        """'3 minutes'."""
        count = self.row.minutes
        return "1 minute" if count == 1 else f"{count} minutes"

    @property
    def line(self) -> str:
        """'cross 55.4% to 56.0% (± 0.3%), RF height +1/16 in, 3 minutes, legal'."""
        return ", ".join(filter(None, (*self.lead, self.minutes, self.legal)))

    @property
    def amount(self) -> str:
        """As it is sent: '-0.5000'."""
        return str(self.row.amount)


def measure_of(answer: WhatToTry, key: Key) -> Measure:
    """What a box is of."""
    assert answer.now is not None  # noqa: S101 (there are figures)
    return answer.now.table.on_sheet.known.measures[key.measure]


def felt_words(felt: Felt) -> str:
    """'Pushes at entry, turns in the middle; hands straight; steering good'."""
    at = [
        f"{BALANCE_WORDS[one]} {where}"
        for place, where in PLACE_WORDS.items()
        if (one := getattr(felt, place))
    ]
    parts = [", ".join(at), HANDS_WORDS.get(felt.hands), STEERING_WORDS.get(felt.steering)]
    text = "; ".join(part for part in parts if part)
    return text[:1].upper() + text[1:]


def show_try(answer: WhatToTry, one: TryThis, units: Units) -> TryShown:
    """One suggestion in words and figures."""
    moved = (_moved(answer, key, one.predicted, units) for key in _in_order(answer, one))
    figures = [figure for figure in moved if figure.was != figure.then]
    return TryShown(
        one=one,
        says=change_words(one.row, units),
        lead=[figure.short for figure in figures[:MOST_FIGURES]],
        legal=legal_words(one, knows_rules=answer.judge is not None),
        out=list(_out(answer, one, units)),
        notes=list(_notes(answer, one, units)),
        tried=tried_words(one.tries, answer.felt),
        felt=_felt_for(one, answer.felt),
        whose=whose_words(one.row),
        figures=figures,
    )


def change_words(row: Change, units: Units) -> str:
    """'RF seat 1/2 turn down on the spring': what, where, how much, which way."""
    adjuster = ADJUSTERS[row.adjuster]
    name = SHORT.get(row.adjuster, adjuster.name)
    where = "" if row.spot == "car" or name.startswith(row.spot) else row.spot
    way = (adjuster.more if row.amount > 0 else adjuster.less or adjuster.more).lower()
    way = way.replace(f" {name}", "")
    swapped = row.unit == "1"
    amount = "" if swapped else format_amount(abs(row.amount), row.unit, units).lstrip("+")
    text = " ".join(part for part in (where, name, amount, way) if part)
    return text[:1].upper() + text[1:]


def _in_order(answer: WhatToTry, one: TryThis) -> list[Key]:
    """Boxes that it moves: what is told first, the corner that is turned, the others."""
    known = list(answer.now.table.on_sheet.known.measures) if answer.now else []

    def place(key: Key) -> tuple[int, int, str]:
        name = OWN.get(key.measure, key.measure) if key.spot == one.row.spot else key.measure
        first = FIRST.index(name) if name in FIRST else len(FIRST)
        return (first, known.index(key.measure), key.spot)

    moved = one.predicted.moved
    return sorted((key for key, box in moved.items() if box.value != box.was), key=place)


def _moved(answer: WhatToTry, key: Key, predicted: PredictedChange, units: Units) -> FigureMoved:
    box, measure = predicted.moved[key], measure_of(answer, key)
    kind = Kind(measure.kind)
    is_computed = key.measure in MODELLED and predicted.tyre is None
    write = _predicted if is_computed else _read
    spread = f"({format_spread(float(box.u), kind, units)})" if is_computed else ""
    was, then, by = write(box.was, measure, units), write(box.value, measure, units), ""
    if key.measure == "ride-height":
        by = _signed(box.value - box.was, kind, units)
        # Less than is told: two roundings apart are no change.
        then = then if by else was
    return FigureMoved(
        name=_box_name(measure, key.spot),
        was=was,
        then=then,
        spread=spread,
        by=by,
    )


def _predicted(value: Decimal, measure: Measure, units: Units) -> str:
    return format_predicted(float(value), Kind(measure.kind), units)


def _read(value: Decimal, measure: Measure, units: Units) -> str:
    """As read, and so much more: exact but for the tenth place of what is kept."""
    text, kind = format_figure(value, measure, units), Kind(measure.kind)
    if not text.startswith("about "):
        return text
    unit = units.for_kind(kind)
    for places in range(3):
        shown = show(value, kind, unit=unit, style="decimal", places=places)
        if abs(shown.remainder) < ROUNDING:
            return shown.text.replace("-", "−", 1)
    return text


def _signed(value: Decimal, kind: Kind, units: Units) -> str:
    """'+1/16 in'; empty where it rounds to nothing."""
    text = format_predicted(abs(float(value)), kind, units)
    if text == format_predicted(0.0, kind, units):
        return ""
    return f"{'−' if value < 0 else '+'}{text}"


def _box_name(measure: Measure, spot: str) -> str:
    """'RF height', 'rear stagger', 'cross'."""
    name = {"ride-height": "height"}.get(measure.pk, measure.name.lower())
    return name if len(measure.spots) == 1 else f"{spot} {name}"


def legal_words(one: TryThis, *, knows_rules: bool) -> str:
    """'legal', or what keeps it from being said; empty where no rules are known."""
    if not knows_rules:
        return ""
    for outcome, says in (
        (RuleOutcome.FAILS, "as little legal as it is now"),
        (RuleOutcome.TOO_CLOSE, "too close to call"),
    ):
        found = [rule for rule in one.rules if rule.outcome is outcome]
        if found:
            return f"{says}: {_rules(found)}"
    return UNTIL_READ if any(_is_open(rule) for rule in one.rules) else "legal"


def _is_open(rule: RuleThen) -> bool:
    return rule.outcome is RuleOutcome.NOT_SAID


def _rules(rules: Iterable[RuleThen]) -> str:
    return "; ".join(_lower(rule.words) for rule in rules)


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _out(answer: WhatToTry, one: TryThis, units: Units) -> Iterator[str]:
    """Why it is struck out."""
    if one.predicted.refused:
        yield one.predicted.refused
    for rule in one.leaves:
        yield rule_words(rule)
    for left in one.off:
        yield f"{tolerance_words(answer, left, units)}."


def rule_words(rule: RuleThen) -> str:
    """'Cross at most 55% of the weight: 55.8% is 0.8% over the most allowed, 55%.'"""
    return f"{rule.words}: {rule.sentence.split('. ')[0].rstrip('.')}."


def tolerance_words(answer: WhatToTry, left: LeftTolerance, units: Units) -> str:
    """'RF height 1/16 in over its tolerance'."""
    measure = measure_of(answer, left.key)
    by = format_predicted(float(left.over), Kind(measure.kind), units)
    if not any(digit in by for digit in "123456789"):
        by = "just"
    name = _box_name(measure, left.key.spot)
    side = "over" if left.judgement.is_more else "under"
    return f"{name[:1].upper()}{name[1:]} {by} {side} its tolerance"


def _notes(answer: WhatToTry, one: TryThis, units: Units) -> Iterator[str]:
    """What it takes, what is not known of it, and what is to be read again."""
    predicted = one.predicted
    yield from _parts(predicted, units)
    if predicted.wheels:
        yield wheels_words(predicted.wheels)
    if predicted.missing:
        yield predicted.missing
    for left in one.close:
        measure = measure_of(answer, left.key)
        name = _box_name(measure, left.key.spot)
        yield f"{name[:1].upper()}{name[1:]}: too close to its tolerance to tell."
    if left_open := [rule for rule in one.rules if _is_open(rule)]:
        yield f"Of these rules only reading it again tells: {_rules(left_open)}."
    if predicted.again:
        assert answer.now is not None  # noqa: S101 (there are figures)
        known = answer.now.table.on_sheet.known.measures
        names = dict.fromkeys(known[slug].name.lower() for slug in predicted.again)
        yield f"Read again after it: {', '.join(names)}."


def _parts(predicted: PredictedChange, units: Units) -> Iterator[str]:
    """What of the team's own it takes."""
    if predicted.spring is not None:
        code = getattr(predicted.spring, "code", None)
        rate = format_predicted(float(predicted.spring.rate or 0), Kind.SPRING_RATE, units)
        yield f"With the team's spring {code.code + ', ' if code else 'of '}{rate}."
    if predicted.tyre is not None:
        roll_out = format_predicted(float(predicted.tyre.roll_out), Kind.LENGTH, units)
        yield (
            f"With the team's tyre {predicted.tyre.code}, {roll_out} round, "
            f"at {predicted.tyre.spot}."
        )
    if predicted.marks is not None:
        degrees = format_predicted(predicted.marks.angle, Kind.ANGLE, units)
        doubt = format_spread(predicted.marks.u, Kind.ANGLE, units)
        marks = " / ".join(predicted.marks.marks)
        yield f"Nearest block marks of this car: {marks}, {degrees} ({doubt})."
    if predicted.pieces is not None and predicted.piece is not None:
        yield f"With {predicted.piece.piece}: {predicted.piece.place or 'off the car'}."


def wheels_words(wheels: WheelsHeld) -> str:
    """How far the front wheels are left to be steered in the corner; plus is left."""
    return (
        f"Left to steer in the corner, at the front wheels: {_degrees(wheels.was)} to "
        f"{_degrees(wheels.then)}."
    )


def _degrees(angle: float) -> str:
    side = "" if abs(angle) < 0.05 else " left" if angle > 0 else " right"
    return f"{abs(angle):.1f}°{side}"


def tried_words(tries: Tries, felt: Felt) -> str:
    """'tried 3 times at this feel on paved: faster once, cannot tell twice'."""
    if not tries.count:
        return ""
    each = [
        f"{verdict} {_times(tries.verdicts[verdict])}"
        for verdict in VERDICTS
        if tries.verdicts.get(verdict)
    ]
    return f"tried {_times(tries.count)} at this feel on {felt.surface}: {', '.join(each)}"


def _times(count: int) -> str:
    return TIMES.get(count, f"{count} times")


def _felt_for(one: TryThis, felt: Felt) -> str:
    """'for entry and exit', where more than one thing is felt."""
    said = [
        name for name in ("entry", "middle", "exit", "hands", "steering") if getattr(felt, name)
    ]
    if len(said) < 2:
        return ""
    return f"for {_listed(dict.fromkeys(map(_is_for, one.rows)))}"


def _is_for(row: Suggestion) -> str:
    if row.balance:
        verb = {"pushes": "pushing", "loose": "being loose", "turns": "turning"}[row.balance]
        return f"{verb} {PLACE_WORDS.get(row.place, 'anywhere')}"
    return HANDS_WORDS.get(row.hands) or STEERING_WORDS.get(row.steering) or "this track"


def _listed(names: Iterable[str]) -> str:
    *most, last = list(names)
    return f"{', '.join(most)} and {last}" if most else last


def whose_words(row: Suggestion) -> str:
    """'the club's: common practice, no source'."""
    if row.table.team_id is not None:
        whose = "the team's own"
    elif row.table.coach_id is not None:
        whose = f"{row.table.coach}'s"
    else:
        whose = "the club's"
    note = f", {row.source_note}" if row.source_note else ""
    return f"{whose}: {_lower(row.get_source_display())}{note}"
