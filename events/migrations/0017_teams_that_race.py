"""Which teams race: the server took a weighing of one of their cars more than 30 days ago.

By the line in the event's record chain, which the database alone writes, with its own clock. Not by
the event's day or the device's time, which people choose, and void or not: else voiding one weighing
would take one team out of what is said of all.
"""

from django.db import migrations

FORWARD = """
CREATE OR REPLACE FUNCTION access.racing_teams() RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT COALESCE(array_agg(DISTINCT w.team_id), '{}')
  FROM events_weighin w JOIN events_recordline l ON l.record_id = w.id AND l.kind = 'weigh_in'
  WHERE l.created_at < access.server_now() - interval '30 days' $$;
"""
BACK = """
CREATE OR REPLACE FUNCTION access.racing_teams() RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$ SELECT '{}'::uuid[] $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("cars", "0011_teams_that_race"),
        ("events", "0016_one_number_in_any_case"),
    ]
    operations = [migrations.RunSQL(FORWARD, BACK)]
