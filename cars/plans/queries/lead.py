"""Lead and stagger against the track's corner, and where the hands are left to be."""

import math
from dataclasses import dataclass

from cars.mechanics import Chassis
from cars.mechanics.turning import (
    hand_angle,
    lead_for,
    lead_radius,
    stagger_for,
    stagger_radius,
)
from cars.models import Sheet
from cars.plans.queries.sheet_figures import SheetFigures
from clubsetup.access.errors import Invalid
from clubsetup.quantities.reading import Typed


@dataclass(frozen=True, slots=True)
class StaggerFigures:
    """One axle: mm. ``radius`` is what the tyres roll on by themselves, ``wanted`` the stagger."""

    axle: str
    stagger: float
    radius: float
    wanted: float


@dataclass(frozen=True, slots=True)
class LeadFigures:
    """The corner's radius and what the car does of it by itself. mm and degrees; left plus."""

    radius: float
    lead: float | None
    lead_radius: float | None
    lead_wanted: float
    staggers: list[StaggerFigures]
    hands: float | None
    hands_read: float | None


def radius_for(sheet: Sheet, typed: Typed | None) -> float:
    """The corner's radius as somebody says it, mm, or the track's. Raises Invalid without one."""
    track = sheet.track
    radius = typed.value if typed else track.corner_radius if track else None
    if radius is None:
        raise Invalid("radius", "Say the corner's radius, as in 48 ft: the track's is not known.")
    return float(radius)


def lacking(on_sheet: SheetFigures) -> list[str]:
    """What is not there, in words."""
    chassis, trouble = on_sheet.chassis
    reasons = [trouble] if chassis is None else []
    if on_sheet.value("lead", "car") is None:
        reasons.append("Take both wheelbases first: they give the lead.")
    rear = [on_sheet.value("circumference", corner) for corner in ("LR", "RR")]
    if None in rear:
        reasons.append("Roll out both rear tyres first: they give the stagger.")
    return reasons


def lead_figures(
    on_sheet: SheetFigures, chassis: Chassis, radius: float, steering_ratio: float | None
) -> LeadFigures:
    """Lead, stagger and hands for a corner of ``radius`` mm to the middle of the rear axle.

    Rolling without slip; see `cars.mechanics.turning`. Raises BadInput and OutOfReach as there.
    """
    lead = on_sheet.value("lead", "car")
    hands = None
    if lead is not None and steering_ratio is not None:
        hands = hand_angle(chassis, radius, lead, steering_ratio)
    return LeadFigures(
        radius=radius,
        lead=lead,
        lead_radius=None if lead is None else lead_radius(chassis, lead),
        lead_wanted=lead_for(chassis, radius),
        staggers=[
            _stagger(axle, track, inner, outer, radius)
            for axle, track, left, right in (
                ("rear", chassis.track_rear, "LR", "RR"),
                ("front", chassis.track_front, "LF", "RF"),
            )
            if (inner := on_sheet.value("circumference", left)) is not None
            and (outer := on_sheet.value("circumference", right)) is not None
        ],
        hands=hands,
        hands_read=on_sheet.value("hand-angle", "car"),
    )


def _stagger(axle: str, track: float, inner: float, outer: float, radius: float) -> StaggerFigures:
    return StaggerFigures(
        axle=axle,
        stagger=outer - inner,
        radius=stagger_radius(track, outer, inner),
        wanted=stagger_for(track, radius, inner),
    )


def is_straight(radius: float) -> bool:
    """Whether a radius means that the car rolls straight."""
    return math.isinf(radius)
