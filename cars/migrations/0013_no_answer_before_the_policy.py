"""A trigger tells nothing of rows that whoever asks may not write: their policy refuses them.

It fires before the policy looks at what is added. So it speaks only to those whose row the policy
will let through, and only of the team or club that the row names; a row that names another parent
is refused by the key over both columns. Whoever signs in as the owner is always held to it.
"""

from django.db import migrations

FORWARD = """
CREATE OR REPLACE FUNCTION access.refuse_on_closed_sheet() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE its_state text;
BEGIN
  -- The lock makes a reading and the closing of its sheet wait for each other.
  SELECT state INTO its_state FROM cars_sheet
  WHERE id = NEW.sheet_id AND team_id = NEW.team_id FOR SHARE;
  IF its_state = 'open'
    OR NOT (session_user = current_user OR NEW.team_id = ANY (access.sheet_teams())) THEN
    RETURN NEW;
  ELSIF its_state = 'closed' THEN
    RAISE EXCEPTION 'the sheet is closed' USING ERRCODE = 'check_violation', CONSTRAINT = 'sheet_is_closed';
  END IF;
  -- Here and not by the key at the end: a unique index would speak of another team's rows first.
  RAISE EXCEPTION 'the team has no such sheet' USING ERRCODE = 'foreign_key_violation';
END $$;

CREATE OR REPLACE FUNCTION access.refuse_on_published_baseline() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  given cars_baselinevalue := COALESCE(NEW, OLD);
  its_state text;
BEGIN
  SELECT state INTO its_state FROM cars_baseline
  WHERE id = given.baseline_id AND club_id = given.club_id;
  IF its_state = 'draft'
    OR NOT (session_user = current_user OR given.club_id = ANY (access.steward_clubs())) THEN
    RETURN given;
  ELSIF its_state IS NOT NULL THEN
    RAISE EXCEPTION 'the baseline is published'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'baseline_is_published';
  END IF;
  RAISE EXCEPTION 'the club has no such baseline' USING ERRCODE = 'foreign_key_violation';
END $$;

CREATE OR REPLACE FUNCTION access.refuse_car_of_others() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.car_id IS NOT NULL
    AND NOT EXISTS (SELECT FROM cars_car WHERE id = NEW.car_id AND team_id = NEW.team_id)
    -- A sheet may be corrected after the car has gone.
    AND NOT (TG_TABLE_NAME = 'cars_sheet' AND EXISTS (
      SELECT FROM cars_ownership WHERE car_id = NEW.car_id AND team_id = NEW.team_id))
    AND (session_user = current_user OR NEW.team_id = ANY (access.sheet_teams())) THEN
    RAISE EXCEPTION 'the car is not of that team'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'car_of_the_team';
  END IF;
  RETURN NEW;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("cars", "0012_changed_by_column")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
