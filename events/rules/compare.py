"""What changed from one version of a class's rules to another."""

from collections.abc import Sequence
from typing import NamedTuple

from events.rules.base import RuleKind


class ChangedRule(NamedTuple):
    """A rule before and now; None before where it is new, None now where it is gone."""

    before: RuleKind | None
    now: RuleKind | None


def changed(before: Sequence[RuleKind], now: Sequence[RuleKind]) -> list[ChangedRule]:
    """The rules that differ, in the order of the newer version, those that are gone at the end.

    A rule is the same rule as the earlier one of its kind about the same thing (`about`); of those
    left over, as the first of its kind. Rules that say the same are left out.
    """
    unmatched, right = list(before), list(now)
    for one in now:
        if one in unmatched:
            unmatched.remove(one)
            right.remove(one)
    pairs: dict[int, RuleKind] = {}
    for by_about in (True, False):
        for place, one in enumerate(right):
            earlier = next((r for r in unmatched if _alike(r, one, by_about=by_about)), None)
            if place not in pairs and earlier is not None:
                pairs[place] = earlier
                unmatched.remove(earlier)
    differ = [ChangedRule(pairs.get(place), one) for place, one in enumerate(right)]
    return differ + [ChangedRule(one, None) for one in unmatched]


def _alike(before: RuleKind, now: RuleKind, *, by_about: bool) -> bool:
    return before.kind == now.kind and (not by_about or before.about() == now.about())
