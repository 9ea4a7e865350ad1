"""What a coach advises on a car, what is said to it, and that it is done."""

from uuid import UUID

from django.utils import timezone

from cars.figures.tolerances import target_limits
from cars.models import Advice, AdviceReply, Car, Measure
from cars.models.catalogue import Taken
from cars.permissions import check_can_advise, check_can_reply, check_can_tick_off
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, hold
from teams.queries.roles import roles_of

LONGEST_ADVICE = 1000


@action
def leave_advice(
    *,
    by: User,
    car: Car,
    text: str,
    measure: Measure | None = None,
    spot: str = "",
    wanted: Typed | None = None,
    advice_id: UUID | None = None,
) -> Advice:
    """What a coach would look at or change, on the whole car or on one box of it."""
    check_can_advise(by, car)
    text = _said(text, "advice")
    _check_box(measure, spot, wanted)
    advice = Advice(
        pk=advice_id or new_id(),
        car=car,
        team=car.team,
        by=by,
        measure=measure,
        spot=spot,
        wanted=wanted.value if wanted else None,
        wanted_typed=wanted.text if wanted else "",
        text=text,
    )
    advice.save(force_insert=True)
    record(by=by, did="advised", on=car, team_id=car.team_id, advice=str(advice.pk))
    return advice


@action
def reply_to_advice(
    *, by: User, advice: Advice, text: str, reply_id: UUID | None = None
) -> AdviceReply:
    """An answer; the thread stays open to both sides, also when the advice is ticked off."""
    check_can_reply(by, advice)
    reply = AdviceReply(
        pk=reply_id or new_id(),
        advice=advice,
        team_id=advice.team_id,
        by=by,
        of_coach=not roles_of(by).is_crew(advice.team_id),
        text=_said(text, "answer"),
    )
    reply.save(force_insert=True)
    record(by=by, did="answered", on=advice, team_id=advice.team_id, reply=str(reply.pk))
    return reply


@action
def tick_off_advice(*, by: User, advice: Advice) -> Advice:
    """It is done, or not to be done: it stands on no page of the car any more."""
    check_can_tick_off(by, advice)
    advice = Advice.objects.select_for_update(of=("self",)).get(pk=advice.pk)
    if advice.done_at is not None:
        raise WrongState("It is ticked off already.")
    advice.done_at, advice.done_by = timezone.now(), by
    advice.save(update_fields=["done_at", "done_by"])
    record(by=by, did="ticked_off", on=advice, team_id=advice.team_id)
    return advice


def _said(text: str, what: str) -> str:
    text = text.strip()
    if not 0 < len(text) <= LONGEST_ADVICE:
        raise Invalid("text", f"Write your {what} in at most {LONGEST_ADVICE} letters.")
    return text


def _check_box(measure: Measure | None, spot: str, wanted: Typed | None) -> None:
    if measure is None:
        if spot:
            raise Invalid("measure", "Say which measure is read there, or leave out the spot.")
        if wanted is not None:
            raise Invalid("wanted", "Say of which measure this is the figure.")
        return
    if spot not in measure.spots:
        raise Invalid("spot", f"{measure} is read at {', '.join(measure.spots)}.")
    if wanted is None:
        return
    if measure.taken not in (Taken.QUANTITY, Taken.DERIVED):
        raise Invalid("wanted", f"{measure} is not a figure: say in words what you would like.")
    try:
        hold(wanted, Kind(measure.kind), target_limits(measure))
    except QuantityError as refusal:
        raise Invalid("wanted", refusal.message) from refusal
