"""What the worker and the sweeper may ask before they know for whom they work."""

from django.db import migrations

HEAD = "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp"

FORWARD = f"""
CREATE FUNCTION access.print_job_asked_by(given uuid) RETURNS uuid {HEAD} AS $$
  SELECT asked_by_id FROM printing_printjob WHERE id = given $$;
-- Jobs that nobody works on: never sent, sent and lost, or held past the lease.
CREATE FUNCTION access.unheld_print_jobs(waiting_seconds int) RETURNS SETOF uuid {HEAD} AS $$
  SELECT id FROM printing_printjob
  WHERE (state = 'waiting' AND created_at < now() - make_interval(secs => waiting_seconds))
     OR (state = 'working' AND leased_until < now())
  ORDER BY created_at LIMIT 1000 $$;
"""


class Migration(migrations.Migration):
    dependencies = [("printing", "0001_initial"), ("teams", "0001_functions")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
