"""Which of the team's parts were on the car in a run; nothing for who may not see the codes."""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from cars.models import Part, PartFitted, Run, RunPart
from cars.runs.queries.runs import changes_kept


@dataclass(frozen=True, slots=True)
class PartInRun:
    """One sort of part at one spot. `part` None: none of the team's, or `swapped` since the
    sheet and not said for what. `said`: the row that says so of the run itself."""

    sort: str
    spot: str
    part: Part | None
    swapped: bool = False
    said: RunPart | None = None

    @property
    def seen(self) -> UUID | None:
        """The id of what is said of the run here."""
        return self.said.pk if self.said else None


def parts_in(run: Run) -> list[PartInRun]:
    """Every sort at every spot, as the sheet had it when the run was noted, unless it is said
    otherwise of the run. Two queries.

    What is fitted on the sheet later, or on a correction of it, does not move under the run.
    """
    said = {
        (row.sort, row.spot): row
        for row in RunPart.objects.current().filter(run=run).select_related("part__code")
    }
    fitted = _fitted(run)
    swapped = {(change["adjuster"], change["spot"]) for change in changes_kept(run)}
    return [
        _place(
            (sort, spot),
            said.get((sort, spot)),
            fitted,
            (Part.Sort(sort).adjuster, spot) in swapped,
        )
        for sort, spot in Part.Sort.places()
    ]


def _place(
    place: tuple[str, str],
    said: RunPart | None,
    fitted: Mapping[tuple[str, str], Part],
    is_swapped: bool,
) -> PartInRun:
    if said is not None:
        return PartInRun(*place, said.part, said=said)
    if is_swapped:
        return PartInRun(*place, None, swapped=True)
    return PartInRun(*place, fitted.get(place))


def _fitted(run: Run) -> dict[tuple[str, str], Part]:
    rows = PartFitted.objects.filter(
        Q(replaced_at__isnull=True) | Q(replaced_at__gt=run.created_at),
        sheet=run.sheet_id,
        created_at__lte=run.created_at,
    )
    return {(row.sort, row.spot): row.part for row in rows.select_related("part__code")}
