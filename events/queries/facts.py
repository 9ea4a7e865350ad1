"""The evidence for one entry, as the rules want it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from django.db import connection

from clubsetup.quantities.uncertainty import Contribution, Estimate, combine, from_step
from events.models import BallastCheck, Entry, Rule, TechReading
from events.queries.ballast import standing_checks
from events.queries.readings import estimate, standing_readings
from events.queries.weighings import Weighed, weighed
from events.rules import Facts, PieceSeen, Stage

RESOLUTION = "weighed_resolution"  # in BallastCheck.typed, canonical


@dataclass(frozen=True)
class Evidence:
    """Facts of one state of the car, and the records they rest on."""

    facts: Facts
    weighed: Weighed | None
    checks: tuple[BallastCheck, ...]
    readings: tuple[TechReading, ...]


def evidence_for(entry: Entry) -> list[Evidence]:
    """What is known of an entry now: one for each stage, with and without driver and fuel; one
    without weights while nothing stands on the scales."""
    groups = weighed(entry.weighins.select_related("void", "scale_check"))
    checks = standing_checks(entry.ballastchecks.select_related("void"))
    pieces = None if checks is None else tuple(piece_seen(check) for check in checks)
    labels = (entry.number, entry.display_name)
    readings = standing_readings(entry.techreadings.select_related("void"))
    measured = {where: estimate(one) for where, one in readings.items()} or None
    states: list[Weighed | None] = [*groups] or [None]
    return [
        Evidence(
            replace(facts(group, groups, pieces, labels), readings=measured),
            group,
            tuple(checks or ()),
            tuple(readings.values()),
        )
        for group in states
    ]


def facts(
    group: Weighed | None,
    groups: Sequence[Weighed],
    pieces: tuple[PieceSeen, ...] | None,
    labels: tuple[str, ...],
) -> Facts:
    """The facts of one weighing among the others of the entry."""
    if group is None:
        return Facts(pieces=pieces, own_labels=labels)
    shares = group.shares
    return Facts(
        stage=Stage(group.stage),
        driver_in=group.driver_in,
        tank_empty=group.tank_empty,
        weight=group.total,
        scales=group.scales,
        left=_percent(shares.left, shares.u_left, group) if shares else None,
        rear=_percent(shares.rear, shares.u_rear, group) if shares else None,
        cross=_percent(shares.cross, shares.u_cross, group) if shares else None,
        driver_weight=_driver_weight(group, groups),
        pieces=pieces,
        own_labels=labels,
    )


def piece_seen(check: BallastCheck) -> PieceSeen:
    """A look at a piece as the rules want it; what cannot be read on it is not there."""
    weighed_mass = None
    if check.weighed_mass is not None:
        step = float(check.typed.get(RESOLUTION, 0))
        weighed_mass = Estimate(float(check.weighed_mass), from_step(step))
    marked = check.marked_mass if check.label_legible else None
    return PieceSeen(
        label=check.label if check.label_legible else "",
        marked_mass=None if marked is None else float(marked),
        weighed_mass=weighed_mass,
        place=check.place,
        fixed=check.fixed,
    )


def age_eligible(entry_id: UUID, rule: Rule) -> bool | None:
    """Whether the entry's driver is eligible by the entry's own age rule; None: not known.

    The database answers; the birth date does not leave the team.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.entry_age_eligible(%s, %s)", [entry_id, rule.pk])
        row = cursor.fetchone()
    return row[0] if row else None


def _percent(share: float, u: float, group: Weighed) -> Estimate:
    return Estimate(100.0 * share, 100.0 * u, group.total.dof)


def _driver_weight(group: Weighed, groups: Sequence[Weighed]) -> Estimate | None:
    """The driver is what the car weighs more with than without them, the rest as it was."""
    state = (group.stage, group.tank_empty)
    both = {g.driver_in: g.total for g in groups if (g.stage, g.tank_empty) == state}
    if len(both) < 2:
        return None
    seated, empty = both[True], both[False]
    inputs = [Contribution(1.0, seated.u, seated.dof), Contribution(-1.0, empty.u, empty.dof)]
    return combine(seated.value - empty.value, inputs)
