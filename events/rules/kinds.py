"""Every kind of rule that a class can have, and the rule that a row declares."""

from collections.abc import Iterable, Mapping

from events.rules.ballast import BallastFixed, BallastLargestPiece, BallastMarked, BallastPlace
from events.rules.base import RuleKind
from events.rules.driver import DriverAge, DriverWeightBand
from events.rules.measured import (
    LengthLimit,
    RequiredReading,
    RideHeightLimit,
    TrackWidthLimit,
    TyreLimit,
    WheelbaseLimit,
)
from events.rules.parameters import ParameterError
from events.rules.weight import CrossLimit, LeftLimit, MinimumWeight, RearLimit


class UnknownRuleKind(LookupError):
    """No rule of this kind is known here."""

    def __init__(self, kind: str) -> None:
        super().__init__(f"no rule of kind {kind!r}")
        self.kind = kind


def by_name(*kinds: type[RuleKind]) -> dict[str, type[RuleKind]]:
    """The kinds under their names, of which no two can be the same."""
    named = {kind.kind: kind for kind in kinds}
    if len(named) < len(kinds):
        raise ValueError(f"two kinds of rule have one name: {[kind.kind for kind in kinds]}")
    return named


KINDS = by_name(
    BallastMarked,
    BallastLargestPiece,
    BallastFixed,
    BallastPlace,
    DriverAge,
    DriverWeightBand,
    RideHeightLimit,
    WheelbaseLimit,
    TrackWidthLimit,
    TyreLimit,
    LengthLimit,
    RequiredReading,
    MinimumWeight,
    LeftLimit,
    RearLimit,
    CrossLimit,
)


def kind_of(kind: str) -> type[RuleKind]:
    """The kind of this name. Raises UnknownRuleKind."""
    if kind not in KINDS:
        raise UnknownRuleKind(kind)
    return KINDS[kind]


def rule_from(kind: str, params: Mapping[str, object]) -> RuleKind:
    """The rule that a row in the database declares. Raises UnknownRuleKind, ParameterError."""
    return kind_of(kind).from_params(params)


def check_together(rules: Iterable[RuleKind]) -> None:
    """Refuse a set of rules that cannot stand together. Raises ParameterError on `kind`."""
    seen: set[tuple[object, ...]] = set()
    for one in rules:
        same = (one.kind, *one.about())
        if same in seen:
            problem = "stands already in this version: change that rule, or take it out"
            raise ParameterError("kind", f"{one.title} {problem}")
        seen.add(same)
