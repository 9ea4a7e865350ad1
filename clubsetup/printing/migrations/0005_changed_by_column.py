"""A stored print is seen through one's own jobs, and noted by whoever has what it was made from.

The database hashes that itself, so that nobody can point a job at a print by its hash alone.
"""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations

FORWARD = """
CREATE FUNCTION access.stored_print_of(source bytea) RETURNS TABLE (bytes int, pages int)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT p.bytes, p.pages FROM printing_storedprint p
  WHERE p.digest = encode(sha256(source), 'hex') AND access.viewer() IS NOT NULL $$;
CREATE FUNCTION access.finish_print_job(
    job uuid, its_lease uuid, source bytea, its_bytes int, its_pages int, at timestamptz)
  RETURNS boolean
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE its_digest text := encode(sha256(source), 'hex');
BEGIN
  PERFORM FROM printing_printjob
  WHERE id = job AND asked_by_id = access.viewer() AND state = 'working' AND lease = its_lease
  FOR UPDATE;
  IF NOT FOUND THEN
    RETURN false;
  END IF;
  INSERT INTO printing_storedprint (digest, bytes, pages, created_at)
  VALUES (its_digest, its_bytes, its_pages, clock_timestamp()) ON CONFLICT DO NOTHING;
  UPDATE printing_printjob
  SET state = 'done', stored_id = its_digest, problem = '', lease = NULL, leased_until = NULL,
      finished_at = at
  WHERE id = job;
  RETURN true;
END $$;
"""
BACKWARD = """
DROP FUNCTION access.finish_print_job(uuid, uuid, bytea, int, int, timestamptz);
DROP FUNCTION access.stored_print_of(bytea);
"""


class Migration(migrations.Migration):

    dependencies = [
        ('printing', '0004_held_up'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunSQL(FORWARD, BACKWARD),
        migrations.RemoveConstraint(
            model_name='printjob',
            name='print_job',
        ),
        migrations.RemoveConstraint(
            model_name='storedprint',
            name='stored_print',
        ),
        migrations.AddConstraint(
            model_name='printjob',
            constraint=clubsetup.access.row_security.RowSecurity(add="(asked_by_id = (SELECT access.viewer()) AND state = 'waiting' AND stored_id IS NULL)", change='asked_by_id = (SELECT access.viewer())', change_columns=('state', 'attempts', 'lease', 'leased_until', 'finished_at', 'problem'), name='print_job', read='asked_by_id = (SELECT access.viewer())'),
        ),
        migrations.AddConstraint(
            model_name='storedprint',
            constraint=clubsetup.access.row_security.RowSecurity(name='stored_print', read='EXISTS (SELECT FROM printing_printjob j WHERE j.stored_id = digest)'),
        ),
    ]
