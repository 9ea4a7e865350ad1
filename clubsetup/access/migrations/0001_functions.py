"""The schema in which the database answers who is looking."""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

FORWARD = f"""
CREATE SCHEMA IF NOT EXISTS access;
GRANT USAGE ON SCHEMA access, public TO {APP_ROLE};
ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO {APP_ROLE};
ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT USAGE ON SEQUENCES TO {APP_ROLE};
GRANT SELECT ON django_migrations TO {APP_ROLE};
-- A setting that was once set comes back as '' and not as NULL.
CREATE FUNCTION access.viewer() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE
  RETURN NULLIF(current_setting('clubsetup.viewer', true), '')::uuid;
SET LOCAL check_function_bodies = off;
-- Whose token this is, before anybody is looking: it takes the hash of the whole token.
CREATE FUNCTION access.token_owner(given text) RETURNS uuid
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT user_id FROM access_apitoken
  WHERE digest = given AND ended_at IS NULL AND expires_at > now() $$;
"""


class Migration(migrations.Migration):
    initial = True
    dependencies: list[tuple[str, str]] = []
    operations = [migrations.RunSQL(FORWARD, "DROP SCHEMA access CASCADE")]
