"""Sends a print that waits for a library again and again, so that it comes when the library is there."""

from django.db import migrations

FUNCTION = """
CREATE OR REPLACE FUNCTION access.take_unheld_print_jobs(seconds int) RETURNS SETOF uuid
  LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  UPDATE printing_printjob SET sent_at = statement_timestamp() WHERE id IN (
    SELECT id FROM printing_printjob
    WHERE sent_at < statement_timestamp() - make_interval(secs => seconds)
      AND ((state = 'working' AND leased_until < statement_timestamp())
        OR (state = 'waiting' AND {given_back})
        OR (state = 'waiting' AND statement_timestamp() - sent_at > sent_at - created_at))
    ORDER BY created_at LIMIT 500 FOR UPDATE SKIP LOCKED)
  RETURNING id $$;
"""

FORWARD = FUNCTION.format(given_back="(attempts > 0 OR problem <> '')")
BACKWARD = FUNCTION.format(given_back="attempts > 0")


class Migration(migrations.Migration):
    dependencies = [("printing", "0003_sent_at")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
