"""The viewer is believed only with proof that the service named them.

Until here row security guarded against a filter that somebody forgot; whoever could run SQL of
their own could name any viewer. From here on the setting carries a MAC that the database checks
with a key the restricted role cannot read; `migrate` stores it (runtime/signing_key.py).
"""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

# Both sides of the comparison are hashed once more: how long it takes says nothing of the MAC.
PROVES = """sha256(convert_to(left(given, 64), 'UTF8')) = sha256(convert_to(encode(sha256(
    pads.outer_pad || sha256(pads.inner_pad || convert_to(
      {label} || ' ' || pg_backend_pid() || ' ' || substr(given, 66), 'UTF8'))), 'hex'), 'UTF8'))"""
# pg_backend_pid() is another one in a parallel worker, so whatever asks stays with the leader.
SAFE = "STABLE SECURITY DEFINER PARALLEL RESTRICTED SET search_path = public, pg_temp"

FORWARD = f"""
CREATE TABLE access.signing_key (
  id smallint PRIMARY KEY CHECK (id = 1), inner_pad bytea NOT NULL, outer_pad bytea NOT NULL);
REVOKE ALL ON access.signing_key FROM PUBLIC, {APP_ROLE};

CREATE OR REPLACE FUNCTION access.viewer() RETURNS uuid LANGUAGE plpgsql {SAFE} AS $$
DECLARE
  given text := current_setting('clubsetup.viewer', true);
  pads access.signing_key;
BEGIN
  IF coalesce(given, '') = '' THEN RETURN NULL; END IF;
  SELECT * INTO pads FROM access.signing_key;
  IF {PROVES.format(label="'viewer'")} THEN RETURN substr(given, 66)::uuid; END IF;
  RETURN NULL;
END $$;

CREATE FUNCTION access.proven(label text, given text) RETURNS text LANGUAGE plpgsql {SAFE} AS $$
DECLARE pads access.signing_key;
BEGIN
  IF coalesce(given, '') = '' THEN RETURN NULL; END IF;
  SELECT * INTO pads FROM access.signing_key;
  IF {PROVES.format(label="label")} THEN RETURN substr(given, 66); END IF;
  RETURN NULL;
END $$;
REVOKE ALL ON FUNCTION access.proven(text, text) FROM PUBLIC;
"""
BACK = """
CREATE OR REPLACE FUNCTION access.viewer() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE
  RETURN NULLIF(current_setting('clubsetup.viewer', true), '')::uuid;
DROP FUNCTION access.proven(text, text);
DROP TABLE access.signing_key;
"""


class Migration(migrations.Migration):
    dependencies = [("access", "0004_signing_in_and_back_in")]
    operations = [migrations.RunSQL(FORWARD, BACK)]
