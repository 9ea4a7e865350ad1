"""Weigh-ins: what the scales said, kept as typed, with a finding at once."""

import math
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, within
from clubsetup.quantities.uncertainty import from_step
from clubsetup.quantities.writing import tell
from events.actions.display_steps import refuse_between_steps
from events.actions.findings import find_again
from events.models import Entry, Event, ScaleSet, WeighIn
from events.permissions import check_can_inspect
from events.queries.ballast import in_force, listed_on
from events.queries.mass_changes import changed_in
from events.queries.scales import behind
from events.queries.scatter import scatter_before
from events.queries.weighings import standing_weigh_ins
from events.records.actions.chain import enter_in_chain
from events.records.actions.device_time import check_device_time
from events.records.actions.entry_lock import hold

PADS = ("LF", "RF", "LR", "RR")


@action
def weigh(
    *,
    by: User,
    entry: Entry,
    scale_set: ScaleSet,
    stage: str,
    driver_in: bool,
    pads: Mapping[str, Typed] | None = None,
    total: Typed | None = None,
    tank_empty: bool = False,
    fuel_note: str = "",
    again: bool = False,
    device_at: datetime | None = None,
    weigh_in_id: UUID | None = None,
) -> WeighIn:
    """Keeps one weighing, four pads or a total, and finds on it at once.

    `again` says that nothing was changed since the weighing before it: the two then count
    together (see queries.weighings). Otherwise it takes the earlier one's place.
    """
    check_can_inspect(by, entry)
    check_device_time(device_at, entry.event)
    hold(entry)
    _refuse_unless_open(entry)
    if stage not in WeighIn.Stage.values:
        raise Invalid("stage", "Say whether this is before or after the race.")
    if scale_set.club_id != entry.club_id:
        raise Invalid("scale_set", f"Choose scales of {entry.club}.")
    listed = listed_on(entry)
    earlier: list[WeighIn] = []
    if again:
        earlier = standing_weigh_ins(entry, stage=stage, driver_in=driver_in, tank_empty=tank_empty)
        _refuse_another_car(entry, earlier, listed)
    loads = _pads(pads, scale_set)
    mass = sum(loads.values(), Decimal(0)) if loads else _total(total)
    _refuse_no_car(mass, total or next(iter((pads or {}).values())))
    for spot, typed in (pads or {}).items():
        refuse_between_steps(spot, typed, scale_set)
    refuse_between_steps("total", total, scale_set)
    weigh_in = WeighIn.objects.create(
        pk=weigh_in_id or new_id(),
        entry=entry,
        club_id=entry.club_id,
        team_id=entry.team_id,
        by=by,
        device_at=device_at,
        scale_set=scale_set,
        stage=stage,
        driver_in=driver_in,
        tank_empty=tank_empty,
        again=again,
        fuel_note=fuel_note.strip(),
        **{spot.lower(): load for spot, load in loads.items()},
        total=mass,
        typed={k: v.text for k, v in (pads or {}).items()} or {"car": total.text if total else ""},
        u_total=u_of_total(scale_set),
        **scatter_before(
            entry.event, scale_set, u_of_total(scale_set), apart_from=earlier if again else ()
        ),
        # Not known of an entry made by hand: what is listed later changed nothing on the car.
        listed=listed if entry.is_confirmed else None,
        **behind(scale_set, loads, mass),
    )
    record(by=by, did="weighed", on=weigh_in, club_id=entry.club_id, total=str(mass), stage=stage)
    findings = find_again(by=by, entry=entry, device_at=device_at)
    enter_in_chain(entry.event_id, weigh_in, *findings)
    return weigh_in


def _refuse_another_car(entry: Entry, earlier: Sequence[WeighIn], listed: Collection[str]) -> None:
    """Counts together only what was weighed of one car, as it stood."""
    if not earlier:
        raise Invalid("again", "There is no earlier weighing of this kind to count it with.")
    checks = in_force(entry.ballastchecks.select_related("void"))
    changes = (changed_in(weigh_in, checks, listed) for weigh_in in earlier)
    if what := next((what for what in changes if what), ""):
        raise Invalid("again", f"Since the weighing before it, {what}: weigh without this tick.")


def u_of_total(scale_set: ScaleSet) -> Decimal:
    """Standard uncertainty of a total on these scales, kg: u = sqrt(n) d / sqrt(12).

    Each of the n pads shows whole divisions d, rectangular over one (JCGM 100:2008, F.2.2.1); the
    total is the sum of n independent ones (5.1.2), whether the display adds them or a person does.
    """
    u = math.sqrt(scale_set.pads) * from_step(float(scale_set.division))
    return Decimal(repr(round(u, 6)))


def _pads(pads: Mapping[str, Typed] | None, scale_set: ScaleSet) -> dict[str, Decimal]:
    if not pads:
        return {}
    missing = [spot for spot in PADS if spot not in pads]
    if missing or len(pads) > len(PADS):
        raise Invalid(missing[0] if missing else "pads", "Give all four pads, or a total.")
    if scale_set.pads == 1:
        raise Invalid("scale_set", f"{scale_set} is one platform: give its total.")
    for spot in PADS:
        if pads[spot].value < 0:
            raise Invalid(spot, "A pad carries nothing or more.")
    return {spot: pads[spot].value for spot in PADS}


def _total(total: Typed | None) -> Decimal:
    if total is None:
        raise Invalid("total", "Give the four pads, or a total.")
    return total.value


def _refuse_no_car(mass: Decimal, typed: Typed) -> None:
    if not within(mass, bounds.CAR):
        text = tell(mass, Kind.MASS, unit=typed.unit).text
        raise Invalid("total", f"{text} is no weight of a car. Check the figures and their unit.")


def _refuse_unless_open(entry: Entry) -> None:
    if entry.withdrawn_at is not None:
        raise WrongState("This entry was withdrawn.")
    if entry.event.state != Event.State.UNDER_WAY:
        raise WrongState(f"The desk of {entry.event} is open while the event is under way.")
