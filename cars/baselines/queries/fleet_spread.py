"""What teams run of a baseline's boxes: counts, middles, spreads; never one team's figure."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import connection

from cars.catalogue.keys import Key
from cars.models import Baseline


@dataclass(frozen=True, slots=True)
class Run:
    """What at least five teams run of one box, canonical and rounded."""

    teams: int
    median: Decimal
    spread: Decimal  # the width of the middle half


def what_teams_run(baseline: Baseline) -> dict[Key, Run]:
    """What the database lets a steward know; nothing for anybody else."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.what_teams_run(%s)", [baseline.pk])
        return {Key(row[0], row[1]): Run(*row[2:]) for row in cursor.fetchall()}
