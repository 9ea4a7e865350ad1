"""How often somebody did something in a while: one row each, counted up by one function alone.

Whoever runs SQL as the restricted role can count anybody up, and nobody down. What is lost in a
crash is counted from nothing again, and so the table is not logged.
"""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

SAFE = "SECURITY DEFINER SET search_path = public, pg_temp"
FORWARD = f"""
CREATE UNLOGGED TABLE access.counts (
  what text PRIMARY KEY, count integer NOT NULL, ends_at timestamptz NOT NULL);
REVOKE ALL ON access.counts FROM PUBLIC, {APP_ROLE};

CREATE FUNCTION access.count_one(given text, seconds integer)
RETURNS TABLE (count integer, seconds_left integer) LANGUAGE sql {SAFE} AS $$
  INSERT INTO access.counts AS kept (what, count, ends_at)
  VALUES (given, 1, clock_timestamp() + make_interval(secs => seconds))
  ON CONFLICT (what) DO UPDATE SET
    count = CASE WHEN kept.ends_at > clock_timestamp() THEN kept.count + 1 ELSE 1 END,
    ends_at = CASE WHEN kept.ends_at > clock_timestamp() THEN kept.ends_at ELSE EXCLUDED.ends_at END
  RETURNING kept.count, ceil(extract(epoch FROM kept.ends_at - clock_timestamp()))::integer
$$;
CREATE FUNCTION access.forget_old_counts() RETURNS integer LANGUAGE sql {SAFE} AS $$
  WITH gone AS (DELETE FROM access.counts WHERE ends_at < clock_timestamp() RETURNING 1)
  SELECT count(*)::integer FROM gone
$$;
REVOKE EXECUTE ON FUNCTION access.count_one(text, integer), access.forget_old_counts() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION access.count_one(text, integer), access.forget_old_counts() TO {APP_ROLE};
"""
BACK = """
DROP FUNCTION access.forget_old_counts();
DROP FUNCTION access.count_one(text, integer);
DROP TABLE access.counts;
"""


class Migration(migrations.Migration):
    dependencies = [("access", "0014_lists_by_owner")]
    operations = [migrations.RunSQL(FORWARD, BACK)]
