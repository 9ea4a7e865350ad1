"""Fills a migrated database with many teams, cars, sheets and readings, by COPY as the superuser.

    export DJANGO_SETTINGS_MODULE=clubsetup.settings
    uv run python -m tests.benchmarks.many postgresql://postgres@host/database [TEAMS]

The figures mean nothing; their number and their spread over teams and time do.
"""

import sys
import time
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import django
import psycopg
from django.apps import apps
from django.db import connections

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import CANONICAL
from tests.benchmarks import sizes

TEAMS = sizes.of(2000, 3)
SHEETS_A_TEAM = 14
READINGS_A_SHEET = 72
NOW = datetime(2026, 3, 1, tzinfo=UTC)
SPOTS = ("LF", "RF", "LR", "RR")


def uid(table: int, number: int) -> UUID:
    """A reproducible id; ordered by number, as ids made over time are."""
    return UUID(int=(table << 100) | number)


@dataclass(frozen=True)
class Size:
    """How much to make."""

    teams: int = TEAMS
    sheets: int = SHEETS_A_TEAM
    readings: int = READINGS_A_SHEET


def chief_of(team: int) -> UUID:
    """The chief of the team of that number."""
    return uid(1, team)


def copy(connection: psycopg.Connection, table: str, columns: str, rows: Any) -> None:
    """COPY rows into a table; a column that is not named and must hold something gets what the
    model gives a row that says nothing of it."""
    rest = _left_out(table, set(columns.split(", ")))
    named = ", ".join([columns, *rest])
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({named}) FROM STDIN") as out:
        for row in rows:
            out.write_row([*row, *rest.values()])


def _left_out(table: str, named: set[str]) -> dict[str, Any]:
    (model,) = (model for model in apps.get_models() if model._meta.db_table == table)
    fields = (field for field in model._meta.concrete_fields if field.column not in named)
    return {
        str(field.column): field.get_db_prep_save(field.get_default(), connections["owner"])
        for field in fields
        if not (field.null or field.has_db_default())
    }


def fill(url: str, size: Size = Size()) -> int:
    """Fills the database; the number of readings in it. A filled one is left as it is."""
    with psycopg.connect(url) as connection:
        found = connection.execute("SELECT count(*) FROM cars_reading").fetchone()
        if found and found[0]:
            return int(found[0])
        # The rows are made to fit: their keys are not checked one by one.
        connection.execute("SET LOCAL session_replication_role = replica")
        _people(connection, size)
        _cars(connection, size)
        _sheets(connection, size)
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("VACUUM ANALYZE")
    return size.teams * size.sheets * size.readings


def _people(c: psycopg.Connection, size: Size) -> None:
    copy(
        c,
        "access_user",
        "id, password, email, name, is_active, date_joined, preferred_units",
        (
            (chief_of(t), "!", f"chief{t}@example.org", f"Chief {t}", True, NOW, "{}")
            for t in range(size.teams)
        ),
    )
    club = uid(2, 0)
    copy(
        c,
        "teams_club",
        "id, created_at, name, short_name, founder_id, preferred_units",
        [(club, NOW, "Broad Acre Club", "broad-acre", chief_of(0), "{}")],
    )
    copy(
        c,
        "teams_team",
        "id, created_at, club_id, name",
        ((uid(3, t), NOW, club, f"Team {t}") for t in range(size.teams)),
    )
    copy(
        c,
        "teams_teammember",
        "id, created_at, team_id, club_id, user_id, role",
        ((uid(4, t), NOW, uid(3, t), club, chief_of(t), "chief") for t in range(size.teams)),
    )


def _cars(c: psycopg.Connection, size: Size) -> None:
    copy(
        c,
        "cars_chassis",
        "id, created_at, club_id, name, geometry, note",
        [(uid(5, 0), NOW, uid(2, 0), "Plain", "{}", "")],
    )
    copy(
        c,
        "cars_car",
        "id, created_at, team_id, chassis_id, number, name",
        ((uid(6, t), NOW, uid(3, t), uid(5, 0), str(t % 1000), "") for t in range(size.teams)),
    )


def _sheets(c: psycopg.Connection, size: Size) -> None:
    copy(
        c,
        "cars_sheet",
        "id, created_at, car_id, team_id, role, state, made_on, surface, fuel_typed, note, "
        "opened_by_id, version, reason",
        (
            (
                uid(7, s * size.teams + t),
                NOW + timedelta(days=s),
                uid(6, t),
                uid(3, t),
                "found",
                "open",
                date(2026, 3, 1) + timedelta(days=s),
                "paved",
                "",
                "",
                chief_of(t),
                1,
                "",
            )
            for s in range(size.sheets)
            for t in range(size.teams)
        ),
    )
    quantities = "SELECT slug, kind FROM cars_measure WHERE taken = 'quantity' ORDER BY slug"
    measures = c.execute(quantities).fetchall()
    slugs = [m[0] for m in measures]
    units = {slug: CANONICAL[Kind(kind)] for slug, kind in measures}
    # Weekend by weekend and team by team, as they come in.
    copy(
        c,
        "cars_reading",
        "id, created_at, taken_at, sheet_id, team_id, measure_id, spot, take, value, typed, unit, "
        "by_id",
        (
            (
                uid(8, (s * size.teams + t) * size.readings + n),
                NOW + timedelta(days=s),
                NOW + timedelta(days=s),
                uid(7, s * size.teams + t),
                uid(3, t),
                slugs[n // 4 % len(slugs)],
                SPOTS[n % 4],
                1 + n // (4 * len(slugs)),
                1000 + n,
                str(1000 + n),
                units[slugs[n // 4 % len(slugs)]],
                chief_of(t),
            )
            for s in range(size.sheets)
            for t in range(size.teams)
            for n in range(size.readings)
        ),
    )


if __name__ == "__main__":
    django.setup()
    started = time.monotonic()
    made = fill(sys.argv[1], Size(*map(int, sys.argv[2:])))
    sys.stdout.write(f"{made} readings, {time.monotonic() - started:.0f} s\n")
