"""A family has what is kept of a driver erased; official records keep number and display name."""

from django.db import migrations, models
from django.db.models import Q

from clubsetup.runtime.addresses import APP_ROLE

FORWARD = f"""
-- Who may pass the locks of closed sheets: the transaction that stands here, and only the function
-- below can put one here. The app's role has no right on it.
CREATE TABLE access.erasing (transaction xid8 PRIMARY KEY);
REVOKE ALL ON access.erasing FROM PUBLIC, {APP_ROLE};

CREATE OR REPLACE FUNCTION access.refuse_on_closed_sheet() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE its_state text;
BEGIN
  -- The lock makes a reading and the closing of its sheet wait for each other.
  SELECT state INTO its_state FROM cars_sheet
  WHERE id = NEW.sheet_id AND team_id = NEW.team_id FOR SHARE;
  -- What others may not write their policy refuses; it is told nothing here.
  IF its_state = 'open'
    OR NOT (session_user = current_user OR NEW.team_id = ANY (access.sheet_teams()))
    OR EXISTS (SELECT FROM access.erasing WHERE transaction = pg_current_xact_id()) THEN
    RETURN NEW;
  ELSIF its_state = 'closed' THEN
    RAISE EXCEPTION 'the sheet is closed' USING ERRCODE = 'check_violation', CONSTRAINT = 'sheet_is_closed';
  END IF;
  -- Here and not by the key at the end: a unique index would speak of another team's rows first.
  RAISE EXCEPTION 'the team has no such sheet' USING ERRCODE = 'foreign_key_violation';
END $$;
CREATE OR REPLACE FUNCTION access.refuse_closed() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM access.erasing WHERE transaction = pg_current_xact_id()) THEN
    RAISE EXCEPTION 'the sheet is closed' USING ERRCODE = 'check_violation', CONSTRAINT = 'sheet_is_closed';
  END IF;
  RETURN NEW;
END $$;

-- A text without a name that stands in it as a word of its own, in whichever case.
CREATE FUNCTION access.without_name(given text, name text, longest int) RETURNS text
  LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT left(regexp_replace(given, '(?<![[:alnum:]])'
    || regexp_replace(name, '([^[:alnum:][:space:]])', '\\\\\\1', 'g')
    || '(?![[:alnum:]])', 'the driver', 'gi'), longest) $$;

-- The same in all texts of a line of the trail; keys, figures and ids stay.
CREATE FUNCTION access.json_without_name(given jsonb, name text) RETURNS jsonb
  LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE AS $$
BEGIN
  RETURN CASE jsonb_typeof(given)
    WHEN 'string' THEN CASE WHEN given #>> '{{}}' ~ '^[0-9a-f]{{8}}-[0-9a-f-]{{27}}$' THEN given
      ELSE to_jsonb(access.without_name(given #>> '{{}}', name, 1000000)) END
    WHEN 'object' THEN (SELECT COALESCE(jsonb_object_agg(key, access.json_without_name(value, name)), '{{}}')
      FROM jsonb_each(given))
    WHEN 'array' THEN (SELECT COALESCE(jsonb_agg(access.json_without_name(value, name) ORDER BY place), '[]')
      FROM jsonb_array_elements(given) WITH ORDINALITY AS one (value, place))
    ELSE given END;
END $$;

-- What prints show of a driver: those of the entries and their events, and of the team's sheets,
-- whose notes may name the driver.
CREATE FUNCTION access.subjects_of_driver(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT ARRAY(SELECT id FROM events_entry WHERE driver_id = given
    UNION SELECT event_id FROM events_entry WHERE driver_id = given
    UNION SELECT id FROM cars_sheet WHERE team_id = given_team) $$;

-- What is kept of a driver, for the team's chiefs to read before they have it erased.
CREATE FUNCTION access.held_of_driver(given uuid)
  RETURNS TABLE (birth_dates int, weights int, age_answers int, entries int, sheets int, prints int)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT (SELECT count(*) FROM teams_driverbirth WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM teams_driverweight WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM events_ageanswer a JOIN events_entry e ON e.id = a.entry_id WHERE e.driver_id = d.id)::int,
    (SELECT count(*) FROM events_entry WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM cars_sheet WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM printing_printjob
      WHERE subject_id = ANY (access.subjects_of_driver(d.id, d.team_id)))::int
  FROM teams_driver d WHERE d.id = given AND d.team_id = ANY (access.chief_teams()) $$;

-- Erases a driver of a team that the viewer is chief of; NULL where they are not. Official records
-- keep number and display name (events_entry, the chain). Returns the files of prints to remove.
CREATE FUNCTION access.erase_driver(given uuid) RETURNS text[]
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  driver teams_driver;
  files text[];
BEGIN
  SELECT * INTO driver FROM teams_driver
  WHERE id = given AND team_id = ANY (access.chief_teams()) FOR UPDATE;
  IF NOT FOUND THEN
    RETURN NULL;
  END IF;
  INSERT INTO access.erasing VALUES (pg_current_xact_id());
  files := access.remove_prints(ARRAY(SELECT id FROM printing_printjob
    WHERE subject_id = ANY (access.subjects_of_driver(given, driver.team_id))));
  DELETE FROM events_ageanswer WHERE entry_id IN (SELECT id FROM events_entry WHERE driver_id = given);
  DELETE FROM teams_driverbirth WHERE driver_id = given;
  DELETE FROM teams_driverweight WHERE driver_id = given;
  UPDATE events_entry SET driver_id = NULL WHERE driver_id = given;
  UPDATE cars_sheet SET driver_id = NULL WHERE driver_id = given;
  -- The team's own words.
  UPDATE cars_sheet SET note = access.without_name(note, driver.display_name, 1000000),
      reason = access.without_name(reason, driver.display_name, 200)
    WHERE team_id = driver.team_id
      AND (note <> access.without_name(note, driver.display_name, 1000000)
        OR reason <> access.without_name(reason, driver.display_name, 200));
  UPDATE cars_reading r SET typed = access.without_name(typed, driver.display_name, 200)
    FROM cars_measure m WHERE m.slug = r.measure_id AND m.taken = 'words' AND r.team_id = driver.team_id
      AND typed <> access.without_name(typed, driver.display_name, 200);
  UPDATE cars_comment SET text = access.without_name(text, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND text <> access.without_name(text, driver.display_name, 1000000);
  UPDATE cars_preference SET reason = access.without_name(reason, driver.display_name, 200)
    WHERE team_id = driver.team_id AND reason <> access.without_name(reason, driver.display_name, 200);
  UPDATE cars_calibrationreset SET reason = access.without_name(reason, driver.display_name, 200)
    WHERE team_id = driver.team_id AND reason <> access.without_name(reason, driver.display_name, 200);
  UPDATE cars_partcode SET note = access.without_name(note, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND note <> access.without_name(note, driver.display_name, 1000000);
  UPDATE cars_car SET name = access.without_name(name, driver.display_name, 40)
    WHERE team_id = driver.team_id AND name <> access.without_name(name, driver.display_name, 40);
  UPDATE teams_invitation SET note = access.without_name(note, driver.display_name, 80)
    WHERE team_id = driver.team_id AND note <> access.without_name(note, driver.display_name, 80);
  UPDATE access_auditrow SET detail = access.json_without_name(detail, driver.display_name)
    WHERE team_id = driver.team_id
      AND detail <> access.json_without_name(detail, driver.display_name);
  DELETE FROM teams_driver WHERE id = given;
  DELETE FROM access.erasing WHERE transaction = pg_current_xact_id();
  RETURN files;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("events", "0021_erasable_words"),
        ("cars", "0011_teams_that_race"),
        ("printing", "0006_kept_for_a_while"),
        ("teams", "0011_nothing_to_guess_from"),
    ]
    operations = [
        migrations.RemoveConstraint(model_name="entry", name="entry_confirmed_with_driver"),
        migrations.AddConstraint(
            model_name="entry",
            constraint=models.CheckConstraint(
                condition=Q(confirmed_at__isnull=True, confirmed_by__isnull=True)
                | Q(confirmed_at__isnull=False, confirmed_by__isnull=False),
                name="entry_confirmed_by_somebody",
            ),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
