"""Whether the club's scales were checked, and what the check says of the weights read on them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Any
from uuid import UUID

from django.utils import timezone

from clubsetup.quantities.uncertainty import Estimate
from events.models import ScaleCheck, ScaleSet
from events.rules.corrections import WHOLE, CheckedLoad, corrections, together

# A check stands for a day's work. Counted in hours and not by the date, because the server's date
# changes in the middle of a paddock's evening.
HOLDS = timedelta(hours=16)
FOUR = ("LF", "RF", "LR", "RR")
_KEPT = Decimal("1e-6")


def pads_of(scale_set: ScaleSet) -> tuple[str, ...]:
    """The pads of a set: four, or the one platform."""
    return FOUR if scale_set.pads == len(FOUR) else (WHOLE,)


class Standing(StrEnum):
    """What the day's check says of a scale set."""

    PASSED = "passed"
    FAILED = "failed"
    UNCHECKED = "unchecked"


@dataclass(frozen=True)
class ScaleState:
    """A scale set and the check it stands on now, if there is one."""

    scale_set: ScaleSet
    check: ScaleCheck | None

    @property
    def standing(self) -> Standing:
        """Passed, failed or unchecked."""
        if self.check is None:
            return Standing.UNCHECKED
        return Standing.PASSED if self.check.passed else Standing.FAILED


def standing_check(scale_set: ScaleSet, at: datetime | None = None) -> ScaleCheck | None:
    """The newest check that holds at a moment; None where nobody had checked in its day."""
    at = at or timezone.now()
    made = ScaleCheck.objects.filter(scale_set=scale_set, created_at__gt=at - HOLDS)
    return made.filter(created_at__lte=at).order_by("-created_at").first()


def scale_states(club_id: UUID) -> list[ScaleState]:
    """Every scale set of the club with where it stands: two queries."""
    since = timezone.now() - HOLDS
    newest = (
        ScaleCheck.objects.filter(club_id=club_id, created_at__gt=since)
        .select_related("by")
        .order_by("scale_set_id", "-created_at")
        .distinct("scale_set_id")
    )
    checks = {check.scale_set_id: check for check in newest}
    sets = ScaleSet.objects.filter(club_id=club_id)
    return [ScaleState(one, checks.get(one.pk)) for one in sets]


def checked_by_pad(loads: Iterable[Mapping[str, Any]]) -> dict[str, list[CheckedLoad]]:
    """The loads that a check keeps, pad by pad."""
    by_pad: dict[str, list[CheckedLoad]] = {}
    for one in loads:
        by_pad.setdefault(one["pad"], []).append(
            CheckedLoad(
                load=float(one["reference"]),
                error=float(one["error"]),
                allowed=float(one["allowed"]),
                u=float(one["u"]),
                within=one["within"],
            )
        )
    return by_pad


def behind(scale_set: ScaleSet, pads: Mapping[str, Decimal], total: Decimal) -> dict[str, Any]:
    """What a weigh-in keeps of the check it rests on: the check, its corrections, whether they
    count. A failed check corrects nothing: what is wrong with the scales is not known."""
    check = standing_check(scale_set)
    if check is None or not check.passed:
        return {"scale_check": check}
    each = corrections(
        {pad: float(load) for pad, load in pads.items()},
        float(total),
        checked_by_pad(check.loads),
    )
    return {
        "scale_check": check,
        "corrections": {pad: _text(one) for pad, one in each.items()},
        "u_correction": Decimal(repr(together(each).u)).quantize(_KEPT),
        "corrected": scale_set.apply_corrections,
    }


def _text(one: Estimate) -> str:
    return f"{Decimal(repr(one.value)).quantize(_KEPT):f}"
