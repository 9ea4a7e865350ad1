"""The evidence for one entry, as the rules want it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from django.db import connection

from clubsetup.quantities.uncertainty import Contribution, Estimate, combine, from_step
from events.models import BallastCheck, Entry, TechReading, WeighIn
from events.queries.ballast import EntryBallast, ballast_of, in_force, listed_on
from events.queries.mass_changes import changed_since
from events.queries.readings import estimate, spots_of_lengths, standing_readings
from events.queries.weighings import Weighed, is_void, weighed
from events.rules import Facts, PieceSeen, Stage


@dataclass(frozen=True)
class Evidence:
    """Facts of one state of the car, and the records they rest on.

    `listed`: ids of the pieces that the team has on the car; `after_race`: whether the car has
    been weighed after the race, and not again before another one.
    """

    facts: Facts
    weighed: Weighed | None
    ballast: EntryBallast
    listed: tuple[str, ...]
    readings: tuple[TechReading, ...]
    after_race: bool = False


def evidence_for(entry: Entry) -> list[Evidence]:
    """What is known of an entry now: one for each stage, with and without driver and fuel; one
    without weights while nothing stands on the scales."""
    every = list(entry.weighins.select_related("void", "scale_check"))
    groups, weigh_ins = weighed(every), [one for one in every if not is_void(one)]
    checks = list(entry.ballastchecks.select_related("void"))
    listed = listed_on(entry)
    ballast = ballast_of(checks, listed, weigh_ins)
    readings = standing_readings(entry.techreadings.select_related("void"))
    known = replace(
        ballast_facts(ballast, own_labels(entry)),
        readings={where: estimate(one) for where, one in readings.items()} or None,
        spots=spots_of_lengths(),
    )
    changed = _changes(groups, in_force(checks), listed, weigh_ins)
    newest = max(weigh_ins, key=lambda w: w.created_at, default=None)
    states: list[Weighed | None] = [*groups] or [None]
    return [
        Evidence(
            facts(group, groups, known, changed),
            group,
            ballast,
            tuple(listed),
            tuple(readings.values()),
            newest is not None and newest.stage == Stage.AFTER,
        )
        for group in states
    ]


def own_labels(entry: Entry) -> tuple[str, ...]:
    """What may stand on its ballast: its number and, once the team has said who drives, a name."""
    return tuple(filter(None, (entry.number, entry.display_name)))


def ballast_facts(ballast: EntryBallast, labels: tuple[str, ...]) -> Facts:
    """What an official saw of the ballast."""
    looked = ballast.is_looked_at
    return Facts(
        pieces=tuple(map(piece_seen, ballast.looks)) if looked else None,
        unseen=len(ballast.unseen),
        off=len(ballast.off),
        own_labels=labels,
    )


def _changes(
    groups: Sequence[Weighed],
    checks: Sequence[BallastCheck],
    listed: Sequence[str],
    weigh_ins: Sequence[WeighIn],
) -> list[str]:
    """For each group what has changed since one of its weighings."""
    changes = (
        (changed_since(weigh_in, checks, listed, weigh_ins) for weigh_in in group.weigh_ins)
        for group in groups
    )
    return [next((what for what in each if what), "") for each in changes]


def facts(
    group: Weighed | None, groups: Sequence[Weighed], known: Facts, changed: Sequence[str]
) -> Facts:
    """What is known beside the scales, and one weighing among the others of the entry; `changed`:
    for each of these what has changed since."""
    if group is None:
        return known
    shares = group.shares
    pair = _pair(group, groups)
    return replace(
        known,
        stage=Stage(group.stage),
        driver_in=group.driver_in,
        tank_empty=group.tank_empty,
        weight=group.total,
        scales=group.scales,
        left=_percent(shares.left, shares.u_left, group) if shares else None,
        rear=_percent(shares.rear, shares.u_rear, group) if shares else None,
        cross=_percent(shares.cross, shares.u_cross, group) if shares else None,
        changed=changed[groups.index(group)],
        driver_weight=_driver_weight(pair),
        driver_changed=next((what for one in pair if (what := changed[groups.index(one)])), ""),
    )


def piece_seen(check: BallastCheck) -> PieceSeen:
    """A look at a piece as the rules want it; what cannot be read on it is not there."""
    weighed_mass = None
    if check.weighed_mass is not None:
        step = from_step(float(check.weighed_resolution))
        weighed_mass = Estimate(float(check.weighed_mass), step)
    marked = check.marked_mass if check.label_legible else None
    return PieceSeen(
        label=check.label if check.label_legible else "",
        marked_mass=None if marked is None else float(marked),
        weighed_mass=weighed_mass,
        place=check.place,
        fixed=check.fixed,
    )


def answer_age(entry_id: UUID) -> bool | None:
    """Whether the entry's driver is eligible by age, asked by an official; None: not answered.

    The database answers one time for an entry, by the rules that its event froze, and keeps what
    it said; the birth date does not leave the team.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.answer_age(%s)", [entry_id])
        row = cursor.fetchone()
    return row[0] if row else None


def _percent(share: float, u: float, group: Weighed) -> Estimate:
    return Estimate(100.0 * share, 100.0 * u, group.total.dof)


def _pair(group: Weighed, groups: Sequence[Weighed]) -> list[Weighed]:
    """The weighings in the same state as this one, with the driver and without."""
    state = (group.stage, group.tank_empty)
    return [one for one in groups if (one.stage, one.tank_empty) == state]


def _driver_weight(pair: Sequence[Weighed]) -> Estimate | None:
    """The driver is what the car weighs more with than without them, the rest as it was."""
    both = {g.driver_in: g.total for g in pair}
    if len(both) < 2:
        return None
    seated, empty = both[True], both[False]
    inputs = [Contribution(1.0, seated.u, seated.dof), Contribution(-1.0, empty.u, empty.dof)]
    return combine(seated.value - empty.value, inputs)
