"""Of people the restricted role reads id and shown name; what signs them in, the sign-in code only.

The role has no rights on the tables of people and sessions. Of people it is shown a view in a
schema that it looks into first, so that the framework finds it under the table's name; sessions it
reaches through functions that take a session's whole key. Whoever is signing in is one person or one
address that the sign-in code names, with proof as for the viewer.
"""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

AS_OWNER = "SECURITY DEFINER PARALLEL RESTRICTED SET search_path = public, pg_temp"
STABLE = f"LANGUAGE plpgsql STABLE {AS_OWNER}"
VOLATILE = f"LANGUAGE plpgsql VOLATILE {AS_OWNER}"

SIGNING_IN = f"""
-- The address that is signing in, signing up or being confirmed.
CREATE FUNCTION access.signing_address() RETURNS text {STABLE} AS $$
DECLARE
  claim text := access.proven('signing_in', current_setting('clubsetup.signing_in', true));
BEGIN
  IF claim LIKE 'address %' THEN RETURN substr(claim, 9); END IF;
  IF claim LIKE 'row %' THEN
    RETURN (SELECT email FROM account_emailaddress WHERE id = substr(claim, 5)::bigint);
  END IF;
  RETURN NULL;
END $$;

-- Whose account the sign-in code is looking at.
CREATE FUNCTION access.signing_in() RETURNS uuid[] {STABLE} AS $$
DECLARE
  given text := current_setting('clubsetup.signing_in', true);
  claim text;
  address text;
BEGIN
  IF coalesce(given, '') = '' THEN RETURN '{{}}'; END IF;
  claim := access.proven('signing_in', given);
  IF claim LIKE 'person %' THEN RETURN ARRAY[substr(claim, 8)::uuid]; END IF;
  address := access.signing_address();
  IF address IS NULL THEN RETURN '{{}}'; END IF;
  RETURN ARRAY(SELECT id FROM access_user WHERE email = address
    UNION SELECT user_id FROM account_emailaddress WHERE email = address);
END $$;

-- What the viewer, or who is signing in, has confirmed before this statement.
CREATE FUNCTION access.confirmed_addresses() RETURNS text[] {STABLE} AS $$
BEGIN
  RETURN ARRAY(SELECT email::text FROM account_emailaddress WHERE verified
    AND (user_id = access.viewer() OR user_id = ANY (access.signing_in())));
END $$;

-- What the viewer, or who is signing in, signs in by.
CREATE FUNCTION access.account_addresses() RETURNS text[] {STABLE} AS $$
BEGIN
  RETURN ARRAY(SELECT email::text FROM access_user
    WHERE id = access.viewer() OR id = ANY (access.signing_in()));
END $$;
"""

PEOPLE = f"""
CREATE SCHEMA shown;
GRANT USAGE ON SCHEMA shown TO {APP_ROLE};
REVOKE ALL ON access_user FROM {APP_ROLE};
CREATE VIEW shown.access_user AS SELECT
  CASE WHEN id = ANY ((SELECT access.signing_in())::uuid[]) THEN password ELSE '' END::varchar(128)
    AS password,
  CASE WHEN id = ANY ((SELECT access.signing_in())::uuid[]) THEN last_login END AS last_login,
  id,
  CASE WHEN id = ANY ((SELECT access.signing_in())::uuid[]) OR id = (SELECT access.viewer())
    THEN email ELSE '' END::varchar(254) AS email,
  name,
  is_active,
  CASE WHEN id = ANY ((SELECT access.signing_in())::uuid[]) THEN date_joined END AS date_joined,
  CASE WHEN id = ANY ((SELECT access.signing_in())::uuid[]) OR id = (SELECT access.viewer())
    THEN preferred_units ELSE '{{}}'::jsonb END AS preferred_units
FROM public.access_user;
GRANT SELECT, INSERT, UPDATE ON shown.access_user TO {APP_ROLE};

-- Whether an address is taken is told to whoever signs up with it, and to nobody else.
CREATE FUNCTION access.add_person() RETURNS trigger {VOLATILE} AS $$
BEGIN
  IF NEW.email IS DISTINCT FROM access.signing_address() THEN
    RAISE EXCEPTION 'an account is made by the sign-up alone' USING ERRCODE = '42501';
  END IF;
  INSERT INTO access_user
    (id, password, last_login, email, name, is_active, date_joined, preferred_units)
  VALUES (NEW.id, NEW.password, NEW.last_login, NEW.email, NEW.name, NEW.is_active,
    NEW.date_joined, NEW.preferred_units);
  RETURN NEW;
END $$;
CREATE TRIGGER add_person INSTEAD OF INSERT ON shown.access_user
  FOR EACH ROW EXECUTE FUNCTION access.add_person();

CREATE FUNCTION access.change_person() RETURNS trigger {VOLATILE} AS $$
DECLARE
  is_signing boolean := OLD.id = ANY (access.signing_in());
  kept access_user;
BEGIN
  IF NOT is_signing AND OLD.id IS DISTINCT FROM access.viewer() THEN RETURN NULL; END IF;
  SELECT * INTO kept FROM access_user WHERE id = OLD.id FOR UPDATE;
  -- A row that was read with its secrets hidden may be written back as it was read.
  IF NEW.password = '' THEN NEW.password := kept.password; END IF;
  IF NEW.email = '' THEN NEW.email := kept.email; END IF;
  NEW.last_login := coalesce(NEW.last_login, kept.last_login);
  NEW.date_joined := coalesce(NEW.date_joined, kept.date_joined);
  IF NEW.id <> kept.id OR NOT is_signing AND
    (NEW.password, NEW.is_active, NEW.date_joined, NEW.last_login) IS DISTINCT FROM
    (kept.password, kept.is_active, kept.date_joined, kept.last_login)
  THEN
    RAISE EXCEPTION 'only the sign-in code changes how somebody signs in'
      USING ERRCODE = '42501';
  END IF;
  IF NEW.email <> kept.email AND NEW.email IS DISTINCT FROM access.signing_address()
    AND NOT EXISTS (SELECT FROM account_emailaddress WHERE user_id = kept.id AND email = NEW.email)
  THEN
    RAISE EXCEPTION 'an address is added before it is used' USING ERRCODE = '42501';
  END IF;
  UPDATE access_user SET password = NEW.password, last_login = NEW.last_login,
    email = NEW.email, name = NEW.name, is_active = NEW.is_active,
    date_joined = NEW.date_joined, preferred_units = NEW.preferred_units WHERE id = kept.id;
  RETURN NEW;
END $$;
CREATE TRIGGER change_person INSTEAD OF UPDATE ON shown.access_user
  FOR EACH ROW EXECUTE FUNCTION access.change_person();

-- The person of a session, before anybody is looking; `given` is signed by the service.
CREATE FUNCTION access.account(given text) RETURNS SETOF access_user {STABLE} AS $$
BEGIN
  RETURN QUERY SELECT * FROM access_user WHERE id = access.proven('account', given)::uuid;
END $$;
CREATE FUNCTION access.note_sign_in(given text, moment timestamptz) RETURNS void {VOLATILE} AS $$
BEGIN
  UPDATE access_user SET last_login = moment WHERE id = access.proven('account', given)::uuid;
END $$;
"""

SESSIONS = f"""
REVOKE ALL ON django_session FROM {APP_ROLE};
CREATE FUNCTION access.session(given text, moment timestamptz) RETURNS SETOF django_session {STABLE}
AS $$ BEGIN
  RETURN QUERY SELECT * FROM django_session WHERE session_key = given AND expire_date > moment;
END $$;
CREATE FUNCTION access.has_session(given text) RETURNS boolean {STABLE} AS $$
BEGIN
  RETURN EXISTS (SELECT FROM django_session WHERE session_key = given);
END $$;
CREATE FUNCTION access.add_session(given text, content text, until timestamptz) RETURNS boolean
{VOLATILE} AS $$ BEGIN
  INSERT INTO django_session (session_key, session_data, expire_date)
  VALUES (given, content, until) ON CONFLICT DO NOTHING;
  RETURN FOUND;
END $$;
CREATE FUNCTION access.keep_session(given text, content text, until timestamptz) RETURNS boolean
{VOLATILE} AS $$ BEGIN
  UPDATE django_session SET session_data = content, expire_date = until WHERE session_key = given;
  RETURN FOUND;
END $$;
CREATE FUNCTION access.end_session(given text) RETURNS void {VOLATILE} AS $$
BEGIN
  DELETE FROM django_session WHERE session_key = given;
END $$;
CREATE FUNCTION access.forget_expired_sessions() RETURNS void {VOLATILE} AS $$
BEGIN
  DELETE FROM django_session WHERE expire_date < now();
END $$;
"""

BACK = "\n".join(
    [
        "DROP SCHEMA shown CASCADE;",
        f"GRANT SELECT, INSERT, UPDATE, DELETE ON access_user, django_session TO {APP_ROLE};",
        *(
            f"DROP FUNCTION access.{name};"
            for name in (
                *("session(text, timestamptz)", "has_session(text)", "end_session(text)"),
                *(f"{name}_session(text, text, timestamptz)" for name in ("add", "keep")),
                *("forget_expired_sessions()", "account(text)"),
                *("note_sign_in(text, timestamptz)", "add_person()", "change_person()"),
                *("confirmed_addresses()", "account_addresses()", "signing_in()", "signing_address()"),
            )
        ),
    ]
)


class Migration(migrations.Migration):
    dependencies = [("access", "0006_signed_viewer"), ("sessions", "0001_initial")]
    operations = [
        # Bodies name tables of other libraries, which a new database gets later.
        migrations.RunSQL(SIGNING_IN + PEOPLE + SESSIONS, BACK)
    ]
