"""Whether somebody wants pages light or dark, kept where their units are: a column that only they
see and change, through the same view and the same two functions.
"""

from django.db import migrations, models

from clubsetup.runtime.addresses import APP_ROLE

SAFE = "LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp"


def view(shown: str) -> str:
    return f"""
CREATE OR REPLACE VIEW shown.access_user AS SELECT
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
    THEN preferred_units ELSE '{{}}'::jsonb END AS preferred_units{shown}
FROM public.access_user;
"""


SCHEME = """,
  CASE WHEN id = ANY ((SELECT access.signing_in())::uuid[]) OR id = (SELECT access.viewer())
    THEN colour_scheme ELSE '' END::varchar(5) AS colour_scheme"""


def functions(columns: str, values: str, changed: str) -> str:
    return f"""
CREATE OR REPLACE FUNCTION access.add_person() RETURNS trigger {SAFE} AS $$
BEGIN
  IF NEW.email IS DISTINCT FROM access.signing_address() THEN
    RAISE EXCEPTION 'an account is made by the sign-up alone' USING ERRCODE = '42501';
  END IF;
  INSERT INTO access_user
    (id, password, last_login, email, name, is_active, date_joined, preferred_units{columns})
  VALUES (NEW.id, NEW.password, NEW.last_login, NEW.email, NEW.name, NEW.is_active,
    NEW.date_joined, NEW.preferred_units{values});
  RETURN NEW;
END $$;

CREATE OR REPLACE FUNCTION access.change_person() RETURNS trigger {SAFE} AS $$
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
    date_joined = NEW.date_joined, preferred_units = NEW.preferred_units{changed}
    WHERE id = kept.id;
  RETURN NEW;
END $$;
"""


FORWARD = view(SCHEME) + functions(
    ", colour_scheme", ", NEW.colour_scheme", ", colour_scheme = NEW.colour_scheme"
)
# A view loses a column only with itself, and its triggers go with it.
BACK = f"""
DROP VIEW shown.access_user;
{view("")}
GRANT SELECT, INSERT, UPDATE ON shown.access_user TO {APP_ROLE};
{functions("", "", "")}
CREATE TRIGGER add_person INSTEAD OF INSERT ON shown.access_user
  FOR EACH ROW EXECUTE FUNCTION access.add_person();
CREATE TRIGGER change_person INSTEAD OF UPDATE ON shown.access_user
  FOR EACH ROW EXECUTE FUNCTION access.change_person();
"""


class Migration(migrations.Migration):
    dependencies = [("access", "0015_counts")]
    operations = [
        migrations.AddField(
            model_name="user",
            name="colour_scheme",
            field=models.CharField(
                blank=True,
                choices=[("", "As the device"), ("light", "Light"), ("dark", "Dark")],
                db_default="",
                default="",
                max_length=5,
            ),
        ),
        migrations.RunSQL(FORWARD, BACK),
    ]
