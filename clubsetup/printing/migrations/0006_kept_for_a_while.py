"""Stored prints are kept for a while and then removed; a print asked for again is made again."""

from django.db import migrations, models

from clubsetup.runtime.addresses import APP_ROLE

FORWARD = f"""
-- Part of what erases data, never called by itself: removes these prints, and says which files no
-- other print needs.
CREATE FUNCTION access.remove_prints(jobs uuid[]) RETURNS text[]
  LANGUAGE plpgsql VOLATILE SET search_path = public, pg_temp AS $$
DECLARE
  held text[];
BEGIN
  WITH gone AS (DELETE FROM printing_printjob WHERE id = ANY (jobs) RETURNING stored_id)
  SELECT array_agg(DISTINCT stored_id) INTO held FROM gone WHERE stored_id IS NOT NULL;
  WITH gone AS (DELETE FROM printing_storedprint s WHERE digest = ANY (held)
    AND NOT EXISTS (SELECT FROM printing_printjob j WHERE j.stored_id = s.digest) RETURNING digest)
  SELECT COALESCE(array_agg(digest), '{{}}') INTO held FROM gone;
  RETURN held;
END $$;
REVOKE EXECUTE ON FUNCTION access.remove_prints(uuid[]) FROM PUBLIC;

-- For the sweeper: finished longer ago than that, and a day at least. Their rows stay and say so.
CREATE FUNCTION access.take_old_prints(days int) RETURNS SETOF text
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  held text[];
BEGIN
  -- The state before it is read in the sub-select: RETURNING would tell what is written.
  WITH old AS (SELECT id, stored_id FROM printing_printjob WHERE state = 'done'
      AND finished_at < access.server_now() - make_interval(days => GREATEST(days, 1))
      ORDER BY finished_at LIMIT 500 FOR UPDATE SKIP LOCKED),
    gone AS (UPDATE printing_printjob j SET state = 'gone', stored_id = NULL FROM old
      WHERE j.id = old.id RETURNING old.stored_id)
  SELECT array_agg(DISTINCT stored_id) INTO held FROM gone;
  RETURN QUERY DELETE FROM printing_storedprint s WHERE digest = ANY (held)
    AND NOT EXISTS (SELECT FROM printing_printjob j WHERE j.stored_id = s.digest)
    RETURNING digest::text;
END $$;
-- For the sweeper: which of these files belong to no print.
CREATE FUNCTION access.prints_of_nobody(digests text[]) RETURNS SETOF text
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT given FROM unnest(digests) AS given
  WHERE NOT EXISTS (SELECT FROM printing_storedprint WHERE digest = given) $$;
GRANT EXECUTE ON FUNCTION access.take_old_prints(int), access.prints_of_nobody(text[]) TO {APP_ROLE};
"""


class Migration(migrations.Migration):
    dependencies = [("printing", "0005_changed_by_column"), ("cars", "0013_no_answer_before_the_policy")]
    operations = [
        migrations.AlterField(
            model_name="printjob",
            name="state",
            field=models.CharField(
                choices=[
                    ("waiting", "Waiting"),
                    ("working", "Being made"),
                    ("done", "Ready"),
                    ("failed", "Could not be made"),
                    ("gone", "No longer kept"),
                ],
                default="waiting",
                max_length=10,
            ),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
