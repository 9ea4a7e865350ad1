"""Which entry a car's run belongs to."""

from uuid import UUID

from django.utils import timezone

from cars.models import Run
from cars.permissions import check_can_note_run
from cars.runs.queries.entries_of_cars import EntriesOfCars
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User
from events.models import Entry, EntryRun
from events.permissions import check_can_change_entry
from events.queries.entry_runs import entries_of_car


@action
def tie_run(*, by: User, run: Run, entry: Entry | None) -> EntryRun | None:
    """The run belongs to this entry of its car, in place of another; None: to none."""
    check_can_note_run(by, run)
    if entry is not None:
        check_can_change_entry(by, entry)
    run = Run.objects.select_for_update(of=("self",)).get(pk=run.pk)
    if run.struck_at is not None:
        raise WrongState("This run is struck: it stays as it is.")
    standing = EntryRun.objects.current().select_related("entry").filter(run=run).first()
    if (standing.entry_id if standing else None) == (entry.pk if entry else None):
        return standing
    if entry is not None and (entry.car_id, entry.team_id) != (run.car_id, run.team_id):
        raise Invalid("entry", "Choose an entry of the car that ran.")
    if standing is not None:
        check_can_change_entry(by, standing.entry)
        standing.replaced_at, standing.replaced_by = timezone.now(), by
        standing.save(update_fields=["replaced_at", "replaced_by"])
    if entry is None:
        record(by=by, did="untied", on=run, team_id=run.team_id)
        return None
    record(by=by, did="tied", on=run, team_id=run.team_id, entry=str(entry.pk))
    return EntryRun.objects.create(run=run, team_id=run.team_id, entry=entry, by=by)


@action
def tie_run_by_id(*, by: User, run: Run, entry: UUID | None) -> EntryRun | None:
    """`tie_run`, of an entry that a page of a floor below names. Raises Invalid for none."""
    chosen = Entry.objects.select_related("event").filter(pk=entry).first() if entry else None
    if entry and chosen is None:
        raise Invalid("entry", "Choose one of the entries offered.")
    return tie_run(by=by, run=run, entry=chosen)


ENTRIES_OF_CARS = (EntriesOfCars(entries_of_car, tie_run_by_id),)
