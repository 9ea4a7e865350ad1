"""Coaches' advice, and what was done since."""

from collections.abc import Collection
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.figures.derived import Figure
from cars.figures.tolerances import tolerance_of
from cars.mechanics.board import Followed, followed
from cars.mechanics.helped import Help
from cars.models import Advice, AdviceReply, Run, Sheet
from cars.models.advice import AdviceQuerySet
from cars.runs.queries.helped import MOST_COMPARED, compare
from cars.sheets.queries.closed_figures import figures_by_sheet
from cars.sheets.queries.sheets import versions_of

MOST_ON_A_PAGE = 6


def with_heads(rows: QuerySet[Advice]) -> QuerySet[Advice]:
    """With all that a line of it names, and how much was said since."""
    joined = rows.select_related("car", "team__club", "by", "done_by", "measure")
    # Counted one by one: a join would group by whole rows, and of people few columns may be read.
    said = AdviceReply.objects.filter(advice=OuterRef("pk")).order_by().values("advice")
    return joined.annotate(answers=Coalesce(Subquery(said.values_list(Count("pk"))), 0))


def advice_of_teams(teams: Collection[UUID]) -> AdviceQuerySet:
    """All advice to these teams."""
    return Advice.objects.of_teams(teams)


def standing_for(teams: Collection[UUID]) -> list[Advice]:
    """The newest advice that stands on these teams' cars, and one more than a page shows."""
    rows = with_heads(Advice.objects.standing().filter(team__in=teams))
    return list(rows.order_by("-id")[: MOST_ON_A_PAGE + 1])


def standing_on(car: UUID, team: UUID) -> list[Advice]:
    """What stands on one car, of the team that has or had it."""
    rows = with_heads(Advice.objects.standing().filter(car=car, team=team))
    return list(rows.order_by("-id")[:MOST_ON_A_PAGE])


@dataclass(frozen=True, slots=True)
class SinceAdvice:
    """The box that advice names, before and since, as read; None where there is no such sheet.

    `help` compares the runs on the two sheets, where there are any on both.
    """

    before: Figure | None = None
    after: Figure | None = None
    after_sheet: Sheet | None = None
    outcome: Followed | None = None
    help: Help | None = None
    is_pair: bool = False


def since(advice: Advice) -> SinceAdvice | None:
    """What was done since, by the car's closed sheets as set; None of advice without a figure."""
    if advice.measure is None or advice.wanted is None:
        return None
    sheets = Sheet.objects.current().filter(
        car=advice.car_id, team=advice.team_id, role=Sheet.Role.SET, state=Sheet.State.CLOSED
    )
    newest = sheets.order_by("-made_on", "-created_at")
    before = newest.filter(closed_at__lte=advice.created_at).first()
    # By the club's clock: a sheet of a day before that is typed in later followed nothing.
    day = timezone.localdate(advice.created_at, advice.team.club.zone())
    after = newest.filter(closed_at__gt=advice.created_at, made_on__gte=day).first()
    both = [sheet for sheet in (before, after) if sheet]
    key = Key(advice.measure_id or "", advice.spot)
    said = figures_by_sheet(both, cached_catalogue())
    was, now = (said[s.pk].get(key) if s else None for s in (before, after))
    if before is None or after is None or was is None or now is None:
        return SinceAdvice(before=was, after=now, after_sheet=after)
    outcome = followed(
        float(advice.wanted),
        float(was.value),
        float(now.value),
        u_before=float(was.u),
        u_after=float(now.u),
        tolerance=tolerance_of(advice.measure),
    )
    help_, pair = None, False
    if outcome in ("there", "towards") and was.value != now.value:
        help_, pair = _helped(advice, before, after)
    return SinceAdvice(was, now, after, outcome, help_, pair)


def _helped(advice: Advice, before: Sheet, after: Sheet) -> tuple[Help | None, bool]:
    groups = [_timed_on(sheet) for sheet in (before, after)]
    if not all(groups):
        return None, False
    compared = compare(advice.car, *groups)
    return compared.help, compared.is_pair


def _timed_on(sheet: Sheet) -> list[UUID]:
    rows = Run.objects.current().filter(
        sheet__in=versions_of(sheet),
        car=sheet.car_id,
        details__replaced_at=None,
        laps__replaced_at=None,
        laps__marks__contains=[""],
    )
    return list(rows.order_by("-ran_at").values_list("pk", flat=True)[:MOST_COMPARED])
