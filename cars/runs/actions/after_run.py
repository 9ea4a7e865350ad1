"""After a run: hot pressures, roll-outs, and which parts were on."""

from collections.abc import Mapping
from uuid import UUID

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.models import Part, Run, RunPart, RunReading
from cars.permissions import check_can_note_run, check_can_note_run_parts
from cars.runs.actions.runs import NotedMeanwhile, held_run
from cars.runs.queries.after_run import MEASURES
from cars.sheets.actions.conflicts import Unseen
from cars.sheets.actions.parts_fitted import check_place
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed

Seen = Mapping[Key, UUID | None] | Unseen


@action
def note_run_readings(
    *, by: User, run: Run, readings: Mapping[Key, Typed | None], expected: Seen
) -> list[RunReading]:
    """What was read as the car came in, in place of what stood in these boxes; None takes it away.

    `expected`: the ids that the writer saw in these boxes. Raises NotedMeanwhile where others
    stand by now.
    """
    check_can_note_run(by, run)
    run = held_run(run)
    known = catalogue().measures
    for key in readings:
        if key.measure not in MEASURES or key.spot not in known[key.measure].spots:
            raise Invalid(str(key), "After a run hot pressures and roll-outs are read.")
    if not readings:
        raise Invalid("readings", "Write what was read.")
    standing = {
        Key(row.measure_id, row.spot): row
        for row in RunReading.objects.current().filter(run=run).select_related("by")
    }
    made = []
    for key, typed in readings.items():
        row = standing.get(key)
        if not isinstance(expected, Unseen) and expected.get(key) != (row.pk if row else None):
            raise NotedMeanwhile(row)
        if row is not None:
            row.replaced_at, row.replaced_by = timezone.now(), by
            row.save(update_fields=["replaced_at", "replaced_by"])
        if typed is not None:
            made.append(_reading(by, run, key, typed))
    RunReading.objects.bulk_create(made)
    boxes = [str(key) for key in readings]
    record(by=by, did="read_after", on=run, team_id=run.team_id, boxes=boxes)
    return made


@action
def note_run_part(
    *,
    by: User,
    run: Run,
    sort: str,
    spot: str,
    part: Part | None,
    expected: UUID | Unseen | None,
) -> RunPart:
    """Which part was on the car in this run; None: none of the team's.

    `expected`: what was said of this spot before that the writer saw. No code reaches the trail.
    """
    check_can_note_run_parts(by, run)
    run = held_run(run)
    check_place(sort, spot)
    if part is not None and (part.team_id != run.team_id or part.sort != sort):
        raise Invalid("part", f"Choose a {sort} of the team that has the car.")
    rows = RunPart.objects.current().select_related("by")
    standing = rows.filter(run=run, sort=sort, spot=spot).first()
    seen = standing.pk if standing else None
    if not isinstance(expected, Unseen) and expected != seen:
        raise NotedMeanwhile(standing)
    if standing is not None:
        standing.replaced_at, standing.replaced_by = timezone.now(), by
        standing.save(update_fields=["replaced_at", "replaced_by"])
    row = RunPart.objects.create(
        run=run, team_id=run.team_id, part=part, sort=sort, spot=spot, by=by
    )
    record(by=by, did="fitted_in", on=run, team_id=run.team_id, sort=sort, spot=spot)
    return row


def _reading(by: User, run: Run, key: Key, typed: Typed) -> RunReading:
    return RunReading(
        run=run,
        team_id=run.team_id,
        measure_id=key.measure,
        spot=key.spot,
        value=typed.value,
        typed=typed.text,
        unit=typed.unit,
        resolution=typed.resolution,
        by=by,
    )
