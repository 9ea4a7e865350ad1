"""Notes when a job was last sent, so that what is lost is sent again and what only waits is not flooded."""

import django.utils.timezone
from django.db import migrations, models

FORWARD = """
DROP FUNCTION access.unheld_print_jobs(int);
-- Takes the jobs that nobody works on, to be sent again: held past their lease, given back after a
-- failed attempt, or sent and not taken. The last may just stand in a long queue: each such job
-- waits as long again as it has waited already, so that a queue does not fill with its own copies.
CREATE FUNCTION access.take_unheld_print_jobs(seconds int) RETURNS SETOF uuid
  LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  UPDATE printing_printjob SET sent_at = statement_timestamp() WHERE id IN (
    SELECT id FROM printing_printjob
    WHERE sent_at < statement_timestamp() - make_interval(secs => seconds)
      AND ((state = 'working' AND leased_until < statement_timestamp())
        OR (state = 'waiting' AND attempts > 0)
        OR (state = 'waiting' AND statement_timestamp() - sent_at > sent_at - created_at))
    ORDER BY created_at LIMIT 500 FOR UPDATE SKIP LOCKED)
  RETURNING id $$;
"""

BACKWARD = """
DROP FUNCTION access.take_unheld_print_jobs(int);
CREATE FUNCTION access.unheld_print_jobs(waiting_seconds int) RETURNS SETOF uuid
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT id FROM printing_printjob
  WHERE (state = 'waiting' AND created_at < now() - make_interval(secs => waiting_seconds))
     OR (state = 'working' AND leased_until < now())
  ORDER BY created_at LIMIT 1000 $$;
"""


class Migration(migrations.Migration):
    dependencies = [("printing", "0002_functions")]
    operations = [
        migrations.AddField(
            model_name="printjob",
            name="sent_at",
            field=models.DateTimeField(default=django.utils.timezone.now),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
