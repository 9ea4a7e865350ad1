"""Baselines: drafted, filled and published by the club's stewards."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from cars.constraint_messages import MESSAGES, constraint_messages
from cars.models import Baseline, BaselineValue, Chassis, Measure
from cars.models.catalogue import Taken
from cars.permissions import check_can_keep_baseline, check_can_keep_chassis
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.models import RaceClass, Surface


@action
def draft_baseline(
    *,
    by: User,
    chassis: Chassis,
    surface: str,
    race_class: RaceClass | None = None,
    note: str = "",
    baseline_id: UUID | None = None,
) -> Baseline:
    """The next version for this chassis, surface and class, empty; only stewards see a draft."""
    check_can_keep_chassis(by, chassis)
    if surface not in Surface.values:
        raise Invalid("surface", "Choose paved or dirt.")
    if race_class is not None and race_class.club_id != chassis.club_id:
        raise Invalid("race_class", f"Choose a class of {chassis.club}.")
    Chassis.objects.select_for_update().get(pk=chassis.pk)  # two drafts at once: one version each
    line = Baseline.objects.filter(chassis=chassis, surface=surface, race_class=race_class)
    baseline = Baseline.objects.create(
        pk=baseline_id or new_id(),
        club_id=chassis.club_id,
        chassis=chassis,
        surface=surface,
        race_class=race_class,
        version=(line.aggregate(last=Max("version"))["last"] or 0) + 1,
        note=note.strip(),
    )
    record(by=by, did="drafted", on=baseline, club_id=baseline.club_id, version=baseline.version)
    return baseline


@dataclass(frozen=True, kw_only=True)
class Target:
    """One target as a steward gives it."""

    measure: Measure
    spot: str
    target: Typed
    tolerance: Typed
    source: str
    source_note: str = ""
    where: str = ""


@action
def set_baseline_values(
    *, by: User, baseline: Baseline, targets: list[Target]
) -> list[BaselineValue]:
    """Sets targets of a draft; one that stands at the same measure and spot is replaced."""
    check_can_keep_baseline(by, baseline)
    rows = [_value(baseline, target) for target in targets]
    fields = ["target", "tolerance", "target_typed", "tolerance_typed", "where", "source"]
    with constraint_messages():
        BaselineValue.objects.bulk_create(
            rows,
            update_conflicts=True,
            unique_fields=["baseline", "measure", "spot"],
            update_fields=[*fields, "source_note"],
        )
    for row in rows:
        record(
            by=by,
            did="set_target",
            on=baseline,
            club_id=baseline.club_id,
            measure=row.measure_id,
            spot=row.spot,
            target=row.target_typed,
            tolerance=row.tolerance_typed,
            source=row.source,
        )
    kept = BaselineValue.objects.filter(baseline=baseline, measure__in=[r.measure_id for r in rows])
    wanted = {(row.measure_id, row.spot) for row in rows}
    return [row for row in kept if (row.measure_id, row.spot) in wanted]


def _value(baseline: Baseline, given: Target) -> BaselineValue:
    if given.measure.taken not in (Taken.QUANTITY, Taken.DERIVED):
        raise Invalid("measure", f"{given.measure} is not a figure and has no target.")
    if given.spot not in given.measure.spots:
        raise Invalid("spot", f"{given.measure} is read at {', '.join(given.measure.spots)}.")
    if given.source not in BaselineValue.Source.values:
        raise Invalid("source", "Say whether the maker's sheet or the club's experience gives it.")
    if given.tolerance.value < 0:
        raise Invalid("tolerance", "A tolerance is zero or more: how far off is still on target.")
    return BaselineValue(
        baseline=baseline,
        club_id=baseline.club_id,
        measure=given.measure,
        spot=given.spot,
        target=given.target.value,
        tolerance=given.tolerance.value,
        target_typed=given.target.text,
        tolerance_typed=given.tolerance.text,
        where=given.where.strip(),
        source=given.source,
        source_note=given.source_note.strip(),
    )


@action
def remove_baseline_value(*, by: User, baseline: Baseline, measure: Measure, spot: str) -> None:
    """Takes a target out of a draft."""
    check_can_keep_baseline(by, baseline)
    with constraint_messages():
        gone, _ = BaselineValue.objects.filter(
            baseline=baseline, measure=measure, spot=spot
        ).delete()
    if not gone:
        raise WrongState("There is no such target any more.")
    record(
        by=by,
        did="removed_target",
        on=baseline,
        club_id=baseline.club_id,
        measure=measure.pk,
        spot=spot,
    )


@action
def publish_baseline(*, by: User, baseline: Baseline, note: str = "") -> Baseline:
    """Puts a draft in force; the version that was in force is retired.

    A `note` replaces the draft's; from version 2 on one of them says what changed.
    """
    check_can_keep_baseline(by, baseline)
    baseline = Baseline.objects.select_for_update(of=("self",)).get(pk=baseline.pk)
    if baseline.state != Baseline.State.DRAFT:
        raise WrongState(MESSAGES["baseline_is_published"])
    if not baseline.values.exists():
        raise WrongState("This draft has no target yet. Set at least one before publishing it.")
    baseline.note = note.strip() or baseline.note
    if baseline.version > 1 and not baseline.note:
        raise Invalid("note", "Say in a few words what changed since the version before.")
    for old in Baseline.objects.filter(
        chassis_id=baseline.chassis_id,
        surface=baseline.surface,
        race_class_id=baseline.race_class_id,
        state=Baseline.State.PUBLISHED,
    ):
        old.state = Baseline.State.RETIRED
        old.save(update_fields=["state"])
        record(by=by, did="retired", on=old, club_id=old.club_id)
    baseline.state = Baseline.State.PUBLISHED
    baseline.published_at, baseline.published_by = timezone.now(), by
    baseline.save(update_fields=["state", "note", "published_at", "published_by"])
    record(by=by, did="published", on=baseline, club_id=baseline.club_id, version=baseline.version)
    return baseline


@action
def copy_baseline(
    *, by: User, baseline: Baseline, note: str = "", baseline_id: UUID | None = None
) -> Baseline:
    """A new draft with this version's targets, to be changed and published."""
    draft = draft_baseline(
        by=by,
        chassis=baseline.chassis,
        surface=baseline.surface,
        race_class=baseline.race_class,
        note=note,
        baseline_id=baseline_id,
    )
    rows = list(baseline.values.all())
    for row in rows:
        row.pk, row.baseline = new_id(), draft
        row._state.adding = True
    BaselineValue.objects.bulk_create(rows)
    record(by=by, did="copied", on=draft, club_id=draft.club_id, copied_from=str(baseline.pk))
    return draft
