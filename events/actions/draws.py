"""Drawing cars for a check, so that anybody can repeat it."""

from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from events.models import Draw, Event, EventClass
from events.queries.draws import candidates_for
from events.records.actions.chain import enter_in_chain
from events.records.actions.device_time import check_device_time
from events.rules.draw import METHOD, drawn
from teams.permissions import check_can_officiate

LONGEST = 80
TAKEN = "This seed was drawn with at this event before. Let somebody say another."


@action
def draw_cars(
    *,
    by: User,
    event: Event,
    seed: str,
    count: int,
    purpose: str,
    event_class: EventClass | None = None,
    device_at: datetime | None = None,
    draw_id: UUID | None = None,
) -> Draw:
    """Draws `count` of the standing entries, of one class or of all, with a seed said aloud."""
    check_can_officiate(by, event.club)
    check_device_time(device_at, event)
    if event.state != Event.State.UNDER_WAY:
        raise WrongState(f"Cars are drawn while {event} is under way.")
    if event_class is not None and event_class.event_id != event.pk:
        raise Invalid("event_class", f"Choose a class of {event}.")
    seed, purpose = seed.strip(), purpose.strip()
    for field, text in (("seed", seed), ("purpose", purpose)):
        if not text or len(text) > LONGEST or not text.isprintable():
            raise Invalid(field, f"Write 1 to {LONGEST} letters or digits on one line.")
    candidates = candidates_for(event, event_class)
    if not 1 <= count <= len(candidates):
        raise Invalid("count", f"Draw at least 1 and at most {len(candidates)} of the cars there.")
    if Draw.objects.filter(event=event, seed=seed).exists():
        raise Invalid("seed", TAKEN)
    draw = Draw(
        pk=draw_id or new_id(),
        event=event,
        club_id=event.club_id,
        event_class=event_class,
        by=by,
        device_at=device_at,
        purpose=purpose,
        seed=seed,
        method=METHOD,
        candidates=candidates,
        drawn=drawn(seed, candidates, count),
    )
    _save(draw)
    record(by=by, did="drew", on=draw, club_id=event.club_id, seed=seed, drawn=draw.drawn)
    enter_in_chain(event.pk, draw)
    return draw


def _save(draw: Draw) -> None:
    try:
        with transaction.atomic():
            draw.save(force_insert=True)
    except IntegrityError as clash:
        # Another official drew with it since we looked.
        if "draw_seed_once_an_event" not in str(clash):
            raise
        raise Invalid("seed", TAKEN) from clash
