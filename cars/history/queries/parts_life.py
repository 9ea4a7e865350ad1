"""How long parts have run: runs, laps, nights and hours while they were on a car."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import connection

from cars.models import Car, Part, PartFitted, PartLimit, PartStart, Sheet
from teams.models import Team

Per = PartLimit.Per
NEAR = Decimal("0.8")  # of a limit: from here on it is told; our judgement
SECONDS = 3600

# A part is in a run as `runs.queries.run_parts` has it: as its sheet had it when the run was noted,
# unless it was swapped at the track since, or something else is said of the run. In one statement,
# for a part has a thousand runs.
LIFE = """
WITH fitted AS MATERIALIZED (
    SELECT part_id, sort, spot, sheet_id, created_at, replaced_at,
        CASE sort WHEN 'sprocket' THEN 'gearing' ELSE sort END || ' ' || spot AS swap
    FROM cars_partfitted WHERE part_id = ANY(%(parts)s)
), ran AS MATERIALIZED (
    SELECT id, car_id, sheet_id, created_at, ran_at, ARRAY(
        SELECT change->>'adjuster' || ' ' || (change->>'spot')
        FROM jsonb_array_elements(car_state->'changes') AS change
    ) AS swaps
    FROM cars_run
    WHERE sheet_id IN (SELECT sheet_id FROM fitted) AND struck_at IS NULL
), said AS MATERIALIZED (
    SELECT run_id, sort, spot FROM cars_runpart
    WHERE team_id = %(team)s AND replaced_at IS NULL AND run_id IN (SELECT id FROM ran)
), on_it AS MATERIALIZED (
    SELECT f.part_id, r.id, r.car_id, r.ran_at FROM fitted f
    JOIN ran r ON r.sheet_id = f.sheet_id AND f.created_at <= r.created_at
        AND (f.replaced_at IS NULL OR f.replaced_at > r.created_at)
    WHERE f.swap <> ALL (r.swaps) AND NOT EXISTS (
        SELECT FROM said s WHERE s.run_id = r.id AND s.sort = f.sort AND s.spot = f.spot
    )
    UNION
    SELECT p.part_id, r.id, r.car_id, r.ran_at
    FROM cars_runpart p JOIN cars_run r ON r.id = p.run_id
    WHERE p.part_id = ANY(%(parts)s) AND p.replaced_at IS NULL AND r.struck_at IS NULL
), timed AS MATERIALIZED (
    SELECT run_id, cardinality(times) AS laps,
        (SELECT sum(lap) FROM unnest(times) AS lap) AS seconds
    FROM cars_laps
    WHERE team_id = %(team)s AND replaced_at IS NULL AND run_id IN (SELECT id FROM on_it)
), days AS (
    SELECT o.*, t.laps, t.seconds, (o.ran_at AT TIME ZONE %(zone)s)::date AS day
    FROM on_it o LEFT JOIN timed t ON t.run_id = o.id
)
SELECT part_id, car_id, count(*), coalesce(sum(laps), 0), count(DISTINCT day),
    coalesce(sum(seconds), 0), count(*) - count(laps), min(day), max(day)
FROM days GROUP BY GROUPING SETS ((part_id), (part_id, car_id))
"""


@dataclass(frozen=True, slots=True)
class Counted:
    """What was counted. Laps and hours are of the runs that have laps; `untimed` have none."""

    runs: int = 0
    laps: int = 0
    nights: int = 0
    hours: Decimal = Decimal(0)
    untimed: int = 0
    first: date | None = None
    last: date | None = None


@dataclass(frozen=True, slots=True)
class PartLife:
    """What a part ran, on every car it was on, and before the team noted runs."""

    part: Part
    counted: Counted
    by_car: Mapping[UUID, Counted] = field(default_factory=dict)
    start: PartStart | None = None

    def so_far(self, per: str) -> Decimal:
        """All of it, what it came with too."""
        before = getattr(self.start, per) if self.start else None
        return Decimal(getattr(self.counted, per)) + Decimal(before or 0)

    def is_least(self, per: str) -> bool:
        """It may be more: runs without laps are in neither laps nor hours."""
        return per in (Per.LAPS, Per.HOURS) and self.counted.untimed > 0


@dataclass(frozen=True, slots=True)
class LimitState:
    """A limit, and how much of it is used."""

    limit: PartLimit
    so_far: Decimal
    is_least: bool

    @property
    def left(self) -> Decimal:
        """Below zero where it is passed."""
        return self.limit.most - self.so_far

    @property
    def share(self) -> Decimal:
        """1 where it is reached."""
        return self.so_far / self.limit.most

    @property
    def is_near(self) -> bool:
        """Time to tell."""
        return self.share >= NEAR


def lives(parts: Sequence[Part], team: Team) -> dict[UUID, PartLife]:
    """The life of each of these parts of one team. Two queries, for one part as for forty."""
    if not parts:
        return {}
    ids = [part.pk for part in parts]
    total: dict[UUID, Counted] = {}
    by_car: dict[UUID, dict[UUID, Counted]] = {}
    for part, car, counted in _counted(ids, team):
        if car is None:
            total[part] = counted
        else:
            by_car.setdefault(part, {})[car] = counted
    starts = {row.part_id: row for row in PartStart.objects.current().filter(part__in=ids)}
    return {
        part.pk: PartLife(
            part, total.get(part.pk, Counted()), by_car.get(part.pk, {}), starts.get(part.pk)
        )
        for part in parts
    }


def _counted(parts: Collection[UUID], team: Team) -> list[tuple[UUID, UUID | None, Counted]]:
    asked: dict[str, Any] = {
        "parts": list(parts),
        "team": team.pk,
        "zone": team.club.time_zone,
    }
    with connection.cursor() as cursor:
        cursor.execute(LIFE, asked)
        return [
            (part, car, Counted(runs, laps, nights, Decimal(seconds) / SECONDS, *rest))
            for part, car, runs, laps, nights, seconds, *rest in cursor.fetchall()
        ]


def limits_of(team: Team) -> list[PartLimit]:
    """What stands for the parts of a team: its club's limits, its own by sort and by part."""
    current = PartLimit.objects.current()
    # Asked apart, each by its index.
    return [*current.filter(club=team.club_id), *current.filter(team=team)]


def limits_for(part: Part, limits: Sequence[PartLimit]) -> list[PartLimit]:
    """Those that hold for a part: the club's, and of its team's the part's before the sort's."""
    of_sort = [each for each in limits if each.sort == part.sort]
    of_part = {each.per: each for each in of_sort if each.part_id == part.pk}
    of_team = [
        each
        for each in of_sort
        if each.team_id and each.part_id is None and each.per not in of_part
    ]
    return [*of_part.values(), *of_team, *(each for each in of_sort if each.club_id)]


def states(life: PartLife, limits: Sequence[PartLimit]) -> list[LimitState]:
    """Every limit that holds for the part, the one that is used most first."""
    found = [
        LimitState(limit, life.so_far(limit.per), life.is_least(limit.per))
        for limit in limits_for(life.part, limits)
    ]
    return sorted(found, key=lambda state: (-state.share, state.limit.per, state.limit.most))


def near_limits(car: Car) -> list[tuple[PartFitted, LimitState]]:
    """The parts on a car that are near a limit or past one; of each what is used most.

    Nothing is counted where no limit holds for what is on it.
    """
    limits = limits_of(car.team)
    if not limits:
        return []
    fitted = _parts_now(car, {limit.sort for limit in limits})
    held = [row for row in fitted if limits_for(row.part, limits)]
    counted = lives([row.part for row in held], car.team)
    found = [(row, states(counted[row.part_id], limits)[0]) for row in held]
    near = [(row, state) for row, state in found if state.is_near]
    return sorted(near, key=lambda each: -each[1].share)


def _parts_now(car: Car, sorts: Collection[str]) -> list[PartFitted]:
    """As its newest sheet has them."""
    rows = Sheet.objects.current().filter(
        car=car, team=car.team_id, role__in=[Sheet.Role.FOUND, Sheet.Role.SET]
    )
    newest = rows.order_by("-made_on", "-created_at").values_list("pk", flat=True).first()
    if newest is None:
        return []
    fitted = PartFitted.objects.current().filter(sheet=newest, sort__in=sorts)
    return list(fitted.select_related("part__code"))
