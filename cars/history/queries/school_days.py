"""Plans for school days: those one may read, a day's outings, and what a car may be set to."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Length

from cars.models import Baseline, Car, Outing, SchoolDay, Sheet
from clubsetup.access.models import User
from teams.models import Club, ClubRole, Driver
from teams.queries.roles import roles_of

# Of a team's sheets of one chassis, the newest; a plan seldom goes back further.
MOST_SHEETS = 60


def school_days_of(viewer: User) -> QuerySet[SchoolDay]:
    """The viewer's own plans, and those shown in which a car of the viewer's teams goes out."""
    rows = SchoolDay.objects.select_related("track", "club", "by")
    return rows.filter(own_or_shown(viewer, roles_of(viewer).readable_teams)).order_by("-id")


def coming_days(viewer: User, today: date) -> list[tuple[SchoolDay, int]]:
    """Those of today and later, the next first, each with how many outings the viewer sees."""
    rows = list(school_days_of(viewer).filter(day__gte=today).order_by("day", "id")[:5])
    if not rows:
        return []
    outings = Outing.objects.filter(school_day__in=rows).order_by()
    counts = dict(outings.values_list("school_day").annotate(Count("pk")))
    return [(row, counts.get(row.pk, 0)) for row in rows]


def own_or_shown(viewer: User, teams: Collection[UUID]) -> Q:
    """Of a plan: the viewer's own, or shown to one of the teams that the viewer reads."""
    shown = Outing.objects.filter(team__in=teams, is_shown=True)
    return Q(by=viewer) | Q(pk__in=shown.order_by().values("school_day"))


def outings_of(school_day: SchoolDay) -> list[Outing]:
    """Those that whoever looks may see, in the order in which the cars go out."""
    return list(school_day.outings.with_names())


def coming_outings(car: UUID, team: UUID, today: date) -> list[Outing]:
    """Where the car goes out on days to come, the next first; shown ones, or the viewer's own."""
    rows = Outing.objects.filter(car=car, team=team, school_day__day__gte=today)
    joined = ("school_day__track", "driver", "sheet__car", "sheet__track", "baseline__chassis")
    return list(rows.select_related(*joined).order_by("school_day__day", "order")[:12])


def coach_clubs(viewer: User) -> list[Club]:
    """The clubs in which the viewer is a coach, and so may plan a day."""
    clubs = roles_of(viewer).clubs
    coached = [club for club, roles in clubs.items() if ClubRole.COACH in roles]
    return list(Club.objects.filter(pk__in=coached))


def cars_to_send(viewer: User) -> QuerySet[Car]:
    """The cars of the teams that let the viewer in as coach, and of the viewer's own."""
    roles = roles_of(viewer)
    teams = {*roles.coached, *filter(roles.is_crew, roles.teams)}
    rows = Car.objects.filter(team__in=teams).select_related("team", "chassis")
    return rows.order_by(Length("number"), "number")  # 7 before 24


@dataclass(frozen=True, slots=True)
class SettingsToSendWith:
    """What a car may be set to: sheets of its team for its chassis, baselines in force."""

    sheets: Sequence[Sheet]
    baselines: Sequence[Baseline]

    @property
    def usual(self) -> Sheet | None:
        """The car's own newest sheet as set."""
        return self.sheets[0] if self.sheets else None


def settings_for(car: Car) -> SettingsToSendWith:
    """The car's own sheets first, then those of the team's other cars of the same chassis: a
    school's cars may swap set-ups, and a family's sheet never goes to another family."""
    closed = Q(role=Sheet.Role.SET, state=Sheet.State.CLOSED) | Q(role=Sheet.Role.TARGET)
    rows = Sheet.objects.current().filter(
        closed, team=car.team_id, car__team=car.team_id, car__chassis=car.chassis_id
    )
    newest = list(
        rows.select_related("car", "track").order_by("-made_on", "-created_at")[:MOST_SHEETS]
    )
    own_first = sorted(newest, key=lambda sheet: sheet.car_id != car.pk)
    baselines = Baseline.objects.filter(chassis=car.chassis_id, state=Baseline.State.PUBLISHED)
    return SettingsToSendWith(own_first, list(baselines.select_related("chassis")))


def usual_sheets(cars: Collection[UUID]) -> Mapping[UUID, Sheet]:
    """Of each car the newest closed sheet as set of the team that has it now."""
    rows = Sheet.objects.current().filter(role=Sheet.Role.SET, state=Sheet.State.CLOSED)
    still = Car.objects.filter(pk=OuterRef("car"), team=OuterRef("team"))
    newest = (
        rows.filter(Exists(still), car__in=cars)
        .order_by("car_id", "-made_on", "-created_at")
        .distinct("car_id")
    )
    return {sheet.car_id: sheet for sheet in newest}


def drivers_of(team: UUID) -> QuerySet[Driver]:
    """Who may drive a car of the team."""
    return Driver.objects.filter(team=team)
