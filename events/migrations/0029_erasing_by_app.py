"""What is forgotten of a driver who is erased, app by app, each in a function of its own.

Migrations used to write it into one function by replacing text in it, and where the text to replace
was another by then, nothing was written: prints of sheets and runs that went along with a car
stayed. From here on an app that keeps more of a driver replaces its own function, whole.
"""

from django.db import migrations

INSIDE = "LANGUAGE plpgsql SET search_path = public, pg_temp"

CARS = f"""
CREATE FUNCTION access.forget_driver_in_cars(given uuid, driver teams_driver) RETURNS void
  {INSIDE} AS $$
BEGIN
  UPDATE cars_handedsheet
    SET content = content - ARRAY['driver', 'shares', 'ballast', 'car_alone']
    WHERE source IN (SELECT id FROM cars_sheet WHERE driver_id = given);
  UPDATE cars_handedsheet
    SET content = content - 'plans' WHERE source IN (SELECT id FROM cars_sheet WHERE driver_id = given);
  DELETE FROM cars_feel WHERE said_by = 'driver' AND run_id IN (SELECT h.run_id FROM cars_handedrun h
    JOIN cars_rundetails d ON d.run_id = h.source WHERE d.driver_id = given);
  UPDATE cars_handedrun SET content = content - 'driver'
    WHERE source IN (SELECT run_id FROM cars_rundetails WHERE driver_id = given);
  UPDATE cars_handedrun SET content = access.json_without_name(content, driver.display_name)
    WHERE source IN (SELECT id FROM cars_run WHERE team_id = driver.team_id);
  UPDATE cars_handover SET package = package || jsonb_build_object('fitted', '[]'::jsonb, 'runs', COALESCE((
      SELECT jsonb_agg(CASE WHEN (one ->> 'source')::uuid IN (SELECT run_id FROM cars_rundetails WHERE driver_id = given)
        THEN one - ARRAY['driver', 'said'] ELSE one END ORDER BY place)
      FROM jsonb_array_elements(package -> 'runs') WITH ORDINALITY AS each (one, place)), '[]'))
    WHERE team_id = driver.team_id AND package ? 'runs';
  UPDATE cars_handover SET package = jsonb_set(package, '{{sheets}}', COALESCE((
      SELECT jsonb_agg(CASE WHEN (one ->> 'source')::uuid IN (SELECT id FROM cars_sheet WHERE driver_id = given)
        THEN one - 'plans' ELSE one END ORDER BY place)
      FROM jsonb_array_elements(package -> 'sheets') WITH ORDINALITY AS each (one, place)), '[]'))
    WHERE team_id = driver.team_id;
  UPDATE cars_handedsheet SET content = access.json_without_name(content, driver.display_name)
    WHERE source IN (SELECT id FROM cars_sheet WHERE team_id = driver.team_id);
  UPDATE cars_handover h SET withdrawn_at = CASE WHEN taken_at IS NULL THEN COALESCE(withdrawn_at, now()) END,
    package = access.json_without_name(jsonb_set(package, '{{sheets}}', COALESCE((
      SELECT jsonb_agg(CASE WHEN (one ->> 'source')::uuid IN (SELECT id FROM cars_sheet WHERE driver_id = given)
        THEN one - ARRAY['driver', 'shares', 'ballast', 'car_alone'] ELSE one END ORDER BY place)
      FROM jsonb_array_elements(package -> 'sheets') WITH ORDINALITY AS each (one, place)), '[]')),
      driver.display_name)
    WHERE team_id = driver.team_id;
  UPDATE cars_ownership SET name = access.without_name(name, driver.display_name, 40)
    WHERE team_id = driver.team_id AND name <> access.without_name(name, driver.display_name, 40);
  UPDATE cars_sheet SET driver_id = NULL WHERE driver_id = given;
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
  UPDATE cars_owntarget SET reason = access.without_name(reason, driver.display_name, 200)
    WHERE team_id = driver.team_id AND reason <> access.without_name(reason, driver.display_name, 200);
  UPDATE cars_calibrationreset SET reason = access.without_name(reason, driver.display_name, 200)
    WHERE team_id = driver.team_id AND reason <> access.without_name(reason, driver.display_name, 200);
  UPDATE cars_partcode SET note = access.without_name(note, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND note <> access.without_name(note, driver.display_name, 1000000);
  UPDATE cars_car SET name = access.without_name(name, driver.display_name, 40)
    WHERE team_id = driver.team_id AND name <> access.without_name(name, driver.display_name, 40);
  UPDATE cars_rundetails SET driver_id = NULL WHERE driver_id = given;
  UPDATE cars_rundetails SET note = access.without_name(note, driver.display_name, 1000000),
      damage = access.without_name(damage, driver.display_name, 200)
    WHERE team_id = driver.team_id
      AND (note <> access.without_name(note, driver.display_name, 1000000)
        OR damage <> access.without_name(damage, driver.display_name, 200));
  UPDATE cars_run SET struck_reason = access.without_name(struck_reason, driver.display_name, 200)
    WHERE team_id = driver.team_id
      AND struck_reason <> access.without_name(struck_reason, driver.display_name, 200);
  UPDATE cars_laps SET typed = access.without_name(typed, driver.display_name, 1000000)
    WHERE team_id = driver.team_id
      AND typed <> access.without_name(typed, driver.display_name, 1000000);
  UPDATE cars_suggestiontable SET note = access.without_name(note, driver.display_name, 1000000)
    WHERE team_id = driver.team_id
      AND note <> access.without_name(note, driver.display_name, 1000000);
  UPDATE cars_suggestion s SET why = access.without_name(why, driver.display_name, 300),
      caution = access.without_name(caution, driver.display_name, 300),
      source_note = access.without_name(source_note, driver.display_name, 120)
    FROM cars_suggestiontable t WHERE t.id = s.table_id AND t.team_id = driver.team_id
      AND (why <> access.without_name(why, driver.display_name, 300)
        OR caution <> access.without_name(caution, driver.display_name, 300)
        OR source_note <> access.without_name(source_note, driver.display_name, 120));
  UPDATE cars_advice SET text = access.without_name(text, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND text <> access.without_name(text, driver.display_name, 1000000);
  UPDATE cars_advicereply SET text = access.without_name(text, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND text <> access.without_name(text, driver.display_name, 1000000);
  UPDATE cars_importedarchive
    SET attached = access.json_without_name(attached, driver.display_name),
      source_team = access.without_name(source_team, driver.display_name, 80),
      source_club = access.without_name(source_club, driver.display_name, 80)
    WHERE team_id = driver.team_id;
  UPDATE cars_import
    SET state = 'dropped', cells = '[]', flaws = '[]'
    WHERE team_id = driver.team_id AND state IN ('draft', 'waiting', 'working');
  UPDATE cars_import SET file_name = access.without_name(file_name, driver.display_name, 200),
      problem = access.without_name(problem, driver.display_name, 400)
    WHERE team_id = driver.team_id
      AND (file_name <> access.without_name(file_name, driver.display_name, 200)
        OR problem <> access.without_name(problem, driver.display_name, 400));
  UPDATE cars_importcolumns SET places = '{{}}' WHERE team_id = driver.team_id;
  UPDATE cars_schoolday SET
      name = access.without_name(name, driver.display_name, 80),
      note = access.without_name(note, driver.display_name, 1000)
    WHERE id IN (SELECT school_day_id FROM cars_outing WHERE team_id = driver.team_id)
      AND (name <> access.without_name(name, driver.display_name, 80)
        OR note <> access.without_name(note, driver.display_name, 1000));
  UPDATE cars_outing SET note = access.without_name(note, driver.display_name, 200)
    WHERE team_id = driver.team_id
      AND note <> access.without_name(note, driver.display_name, 200);
  UPDATE cars_outing SET driver_id = NULL WHERE driver_id = given;
END $$;
REVOKE EXECUTE ON FUNCTION access.forget_driver_in_cars(uuid, teams_driver) FROM PUBLIC;
"""

EVENTS = f"""
CREATE FUNCTION access.forget_driver_in_events(given uuid, driver teams_driver) RETURNS void
  {INSIDE} AS $$
BEGIN
  DELETE FROM events_ageanswer WHERE entry_id IN (SELECT id FROM events_entry WHERE driver_id = given);
  UPDATE events_entry SET driver_id = NULL WHERE driver_id = given;
END $$;
REVOKE EXECUTE ON FUNCTION access.forget_driver_in_events(uuid, teams_driver) FROM PUBLIC;
"""

TEAMS = f"""
CREATE FUNCTION access.forget_driver_in_teams(given uuid, driver teams_driver) RETURNS void
  {INSIDE} AS $$
BEGIN
  DELETE FROM teams_driverbirth WHERE driver_id = given;
  DELETE FROM teams_driverweight WHERE driver_id = given;
  UPDATE teams_invitation SET note = access.without_name(note, driver.display_name, 80)
    WHERE team_id = driver.team_id AND note <> access.without_name(note, driver.display_name, 80);
  UPDATE access_trailline SET detail = access.json_without_name(detail, driver.display_name)
    WHERE team_id = driver.team_id
      AND detail <> access.json_without_name(detail, driver.display_name);
END $$;
REVOKE EXECUTE ON FUNCTION access.forget_driver_in_teams(uuid, teams_driver) FROM PUBLIC;
"""

# What prints show of a driver: by the ids of what was printed.
SUBJECTS = """
CREATE FUNCTION access.subjects_of_driver_in_events(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT ARRAY(SELECT id FROM events_entry WHERE driver_id = given
    UNION SELECT event_id FROM events_entry WHERE driver_id = given) $$;
-- What went along with a car too, and the car with its next owners.
CREATE FUNCTION access.subjects_of_driver_in_cars(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT ARRAY(SELECT id FROM cars_sheet WHERE team_id = given_team
    UNION SELECT id FROM cars_car WHERE team_id = given_team
    UNION SELECT car_id FROM cars_ownership WHERE team_id = given_team
    UNION SELECT school_day_id FROM cars_outing WHERE team_id = given_team
    UNION SELECT id FROM cars_handover WHERE team_id = given_team
    UNION SELECT h.run_id FROM cars_handedrun h JOIN cars_run r ON r.id = h.source
      WHERE r.team_id = given_team
    UNION SELECT h.sheet_id FROM cars_handedsheet h JOIN cars_sheet s ON s.id = h.source
      WHERE s.team_id = given_team
    UNION SELECT c.id FROM cars_comparison c WHERE EXISTS (SELECT FROM cars_sheet s
      WHERE s.id = ANY (c.sheets) AND (s.team_id = given_team OR EXISTS (SELECT FROM cars_handedsheet h
        JOIN cars_sheet was ON was.id = h.source WHERE h.sheet_id = s.id AND was.team_id = given_team)))) $$;
CREATE OR REPLACE FUNCTION access.subjects_of_driver(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT access.subjects_of_driver_in_events(given, given_team)
    || access.subjects_of_driver_in_cars(given, given_team) || given_team $$;
REVOKE EXECUTE ON FUNCTION access.subjects_of_driver_in_events(uuid, uuid) FROM PUBLIC;
REVOKE EXECUTE ON FUNCTION access.subjects_of_driver_in_cars(uuid, uuid) FROM PUBLIC;
"""

ERASING = """
CREATE OR REPLACE FUNCTION access.erase_driver(given uuid) RETURNS text[]
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
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
  PERFORM access.forget_driver_in_events(given, driver);
  PERFORM access.forget_driver_in_cars(given, driver);
  PERFORM access.forget_driver_in_teams(given, driver);
  DELETE FROM teams_driver WHERE id = given;
  DELETE FROM access.erasing WHERE transaction = pg_current_xact_id();
  RETURN files;
END $$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ("cars", "0033_set_figures"),
        ("events", "0028_entered_and_handed_over"),
    ]

    operations = [
        migrations.RunSQL(CARS),
        migrations.RunSQL(EVENTS),
        migrations.RunSQL(TEAMS),
        migrations.RunSQL(SUBJECTS),
        migrations.RunSQL(ERASING),
    ]
