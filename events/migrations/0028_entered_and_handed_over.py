"""A car that is entered in an event which is not over goes to nobody: the entry is withdrawn first.

An event that nobody closed is over two days after its last day.
"""

from django.db import migrations

FORWARD = """
CREATE OR REPLACE FUNCTION access.is_entered(given uuid) RETURNS boolean
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT EXISTS (SELECT FROM events_entry n JOIN events_event e ON e.id = n.event_id
    WHERE n.car_id = given AND n.withdrawn_at IS NULL AND e.state <> 'over'
      AND e.ends_on >= access.server_now()::date - 2) $$;
"""
BACK = """
CREATE OR REPLACE FUNCTION access.is_entered(given uuid) RETURNS boolean
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$ SELECT false $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("cars", "0026_handover"),
        ("events", "0027_entry_runs"),
    ]
    operations = [migrations.RunSQL(FORWARD, BACK)]
