"""What teams run, of those that race: an official weighed a car of theirs more than 30 days ago.

A steward can make teams, and people for them, and their sheets; with four of them beside one real
team the middle of five is that team's figure. What a steward cannot make in an evening is a weighing
of a month ago. Which teams those are is known where weighings are kept; until that is installed,
none are.
"""

import importlib

from django.db import migrations

BEFORE = importlib.import_module("cars.migrations.0008_what_teams_run").FORWARD

FUNCTIONS = """
-- The server's own clock, in one place: no device's and no event's day.
CREATE FUNCTION access.server_now() RETURNS timestamptz
  LANGUAGE sql STABLE PARALLEL SAFE AS $$ SELECT now() $$;

-- Asked by functions of the owner only; which teams race is nobody's to list.
CREATE FUNCTION access.racing_teams() RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$ SELECT '{}'::uuid[] $$;
REVOKE EXECUTE ON FUNCTION access.racing_teams() FROM PUBLIC;
"""
CHANGED = (
    ("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION"),
    ("date_trunc('week', now(), 'UTC')", "date_trunc('week', access.server_now(), 'UTC')"),
    (
        "  fewest constant",
        "  racing uuid[] := access.racing_teams();\n  fewest constant",
    ),
    (
        "AND s.team_id <> ALL (access.setup_teams())",
        "AND s.team_id = ANY (racing) AND s.team_id <> ALL (access.setup_teams())",
    ),
)


def of_racing_teams(sql: str) -> str:
    """The function as it was, of the teams that race only."""
    for was, now in CHANGED:
        assert sql.count(was) == 1, was
        sql = sql.replace(was, now)
    return sql


BACK = BEFORE.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION") + """
DROP FUNCTION access.racing_teams();
DROP FUNCTION access.server_now();
"""


class Migration(migrations.Migration):
    dependencies = [("cars", "0010_what_was_typed_of_a_mount")]
    operations = [migrations.RunSQL(FUNCTIONS + of_racing_teams(BEFORE), BACK)]
