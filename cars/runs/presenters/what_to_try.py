"""What to try, as the page, the card and the API say it."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from cars.catalogue.keys import Key
from cars.figures.formatting import format_kept_change
from cars.figures.prediction_format import format_predicted
from cars.runs.presenters.suggestions import felt_words as row_felt_words
from cars.runs.presenters.track import format_track_change
from cars.runs.presenters.try_words import (
    BALANCE_WORDS,
    PLACE_WORDS,
    TryShown,
    felt_words,
    measure_of,
    show_try,
)
from cars.runs.queries.try_this import Pull
from cars.runs.queries.what_to_try import GoBack, WhatToTry
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

ORDER = (
    "First what the team's own runs at this feel showed faster, then its own suggestions, its "
    "coach's and its club's, the quickest of each first; then what its runs showed slower. What "
    "would leave a limit or a tolerance stands last, struck out."
)
BACK_FIRST = "Going back comes before all: the last change is shown slower."
OPPOSED_LATER = "What is suggested both ways stands after what is not."
FELT_FIRST = (
    "Nothing is said of how the car felt. That comes first: where it pushed, turned or was loose."
)
NO_SUGGESTION = "No table of suggestions says anything for this feel."
NO_RULES = "No published rules are known for this car: whether a change is legal is not said."


@dataclass(frozen=True, slots=True)
class PullShown:
    """Two places pull against each other, and what acts on one alone."""

    says: str
    alone: list[str]


@dataclass(frozen=True, slots=True)
class BackShown:
    """What going back is."""

    back: GoBack
    put_back: list[str]
    make_again: list[str]


@dataclass(frozen=True, slots=True)
class WhatToTryShown:
    """The whole answer as one reads it."""

    answer: WhatToTry
    heading: str
    felt: str
    order: str
    tried: list[TryShown]
    pull: PullShown | None
    back: BackShown | None
    failing: list[str]
    empty: str
    rules: str

    @property
    def standing(self) -> list[TryShown]:
        """Those that are not struck out."""
        return [each for each in self.tried if not each.out]


def show_what_to_try(answer: WhatToTry, units: Units) -> WhatToTryShown:
    """In the reader's units."""
    tried = [show_try(answer, one, units) for one in answer.tried]
    return WhatToTryShown(
        answer=answer,
        heading=_heading(answer, units),
        felt=felt_words(answer.felt),
        order=" ".join(_order(answer)),
        tried=tried,
        pull=_pull(answer.pull, tried) if answer.pull else None,
        back=_back(answer.go_back, units) if answer.go_back else None,
        failing=[f"{rule.words}: {rule.sentence}" for rule in answer.failing_now],
        empty=_empty(answer),
        rules="" if answer.judge or answer.now is None else NO_RULES,
    )


@dataclass(frozen=True, slots=True)
class CardSection:
    """What is tried for one feel."""

    felt: str
    tried: list[TryShown]


@dataclass(frozen=True, slots=True)
class CardShown:
    """A card of suggestions: how the car stands, and what to try for each feel."""

    stands: str
    sections: list[CardSection]
    failing: list[str]
    rules: str
    surface: str


def show_card(answer: WhatToTry, units: Units) -> CardShown:
    """By what is felt, in the reader's units."""
    shown = show_what_to_try(answer, units)
    sections: dict[str, list[TryShown]] = {}
    for each in shown.tried:
        sections.setdefault(row_felt_words(each.row), []).append(each)
    return CardShown(
        stands=stands_words(answer, units),
        sections=[CardSection(felt, tried) for felt, tried in sections.items()],
        failing=shown.failing,
        rules=shown.rules,
        surface=answer.felt.surface,
    )


def stands_words(answer: WhatToTry, units: Units) -> str:
    """'As set 14 Mar 2026, then spring seat RF +1/2 turn', or that nothing is known."""
    if answer.now is None:
        return "No sheet says how this car was set."
    changes = ", ".join(format_track_change(change, units) for change in answer.now.standing)
    return f"{answer.now.sheet}, then {changes}" if changes else f"{answer.now.sheet}"


def _order(answer: WhatToTry) -> Iterator[str]:
    if answer.go_back:
        yield BACK_FIRST
    yield ORDER
    if any(one.is_opposed for one in answer.tried):
        yield OPPOSED_LATER


def _empty(answer: WhatToTry) -> str:
    if not answer.is_felt:
        return FELT_FIRST
    return "" if answer.tried else NO_SUGGESTION


def _heading(answer: WhatToTry, units: Units) -> str:
    """'Cross 55.4%, rear stagger 1 1/2 in: what would change it'."""
    named = (("Cross", Key("cross", "car")), ("rear stagger", Key("stagger", "rear")))
    told = [
        f"{name} {_value(answer, key, float(answer.figures[key].value), units)}"
        for name, key in named
        if key in answer.figures
    ]
    text = ", ".join(told)
    return f"{text[:1].upper()}{text[1:]}: what would change it" if told else "What would change it"


def _value(answer: WhatToTry, key: Key, value: float, units: Units) -> str:
    return format_predicted(value, Kind(measure_of(answer, key).kind), units)


def _pull(pull: Pull, tried: list[TryShown]) -> PullShown:
    (one, other), (first, second) = pull.places, pull.balances
    alone = [
        f"{PLACE_WORDS[place]} alone: {', '.join(names)}"
        for place in pull.places
        if (names := [each.says for each in tried if each.one.alone == place and not each.out])
    ]
    says = (
        f"It {BALANCE_WORDS[first]} {PLACE_WORDS[one]} and {BALANCE_WORDS[second]} "
        f"{PLACE_WORDS[other]}: these pull against each other, and what acts on the whole corner "
        "helps one and hurts the other."
    )
    return PullShown(says, alone)


def _back(back: GoBack, units: Units) -> BackShown:
    return BackShown(
        back,
        [
            format_kept_change(one.adjuster, one.spot, one.amount, one.unit, units)
            for one in back.put_back
        ],
        [
            format_kept_change(
                one["adjuster"], one["spot"], Decimal(one["amount"]), one["unit"], units
            )
            for one in back.make_again
        ],
    )
