"""A trigger tells nothing of rows that whoever asks may not write: their policy refuses them.

As in the cars' migration of this name.
"""

from django.db import migrations

FORWARD = """
CREATE OR REPLACE FUNCTION access.refuse_on_published_rules() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  given events_rule := COALESCE(NEW, OLD);
  its_state text;
BEGIN
  -- The lock makes a change of rules and the publishing of their version wait for each other.
  SELECT state INTO its_state FROM events_ruleset
  WHERE id = given.rule_set_id AND club_id = given.club_id FOR SHARE;
  IF its_state = 'draft'
    OR NOT (session_user = current_user OR given.club_id = ANY (access.steward_clubs())) THEN
    RETURN given;
  ELSIF its_state IS NOT NULL THEN
    RAISE EXCEPTION 'these rules are published'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'rules_are_published';
  END IF;
  RAISE EXCEPTION 'the club has no such rules' USING ERRCODE = 'foreign_key_violation';
END $$;

CREATE OR REPLACE FUNCTION access.refuse_anothers_car() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM cars_car WHERE id = NEW.car_id AND team_id = NEW.team_id)
    AND (session_user = current_user OR NEW.team_id = ANY (access.crew_teams())
      OR NEW.team_id = ANY (access.tended_teams())) THEN
    RAISE EXCEPTION 'the car is not of that team'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'entry_car_team';
  END IF;
  RETURN NEW;
END $$;

CREATE OR REPLACE FUNCTION access.refuse_no_ballast() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE given_car uuid;
BEGIN
  -- Who may not add the record is refused by its policy, and learns nothing here.
  IF NOT NEW.club_id = ANY (access.official_clubs()) THEN
    RETURN NEW;
  END IF;
  -- The lock makes two officials at one entry wait for each other.
  SELECT CASE WHEN confirmed_at IS NOT NULL THEN car_id END INTO given_car
  FROM events_entry WHERE id = NEW.entry_id AND club_id = NEW.club_id FOR UPDATE;
  -- An entry of another club is refused by the key over both columns.
  IF NOT FOUND THEN
    RETURN NEW;
  END IF;
  IF EXISTS (
    SELECT FROM (
      SELECT DISTINCT ON (COALESCE(c.piece_id, c.look_id, c.id)) c.not_on_car
      FROM events_ballastcheck c LEFT JOIN events_void v ON v.ballast_check_id = c.id
      WHERE c.entry_id = NEW.entry_id AND NOT c.none_on_car AND v.id IS NULL
      ORDER BY COALESCE(c.piece_id, c.look_id, c.id), c.created_at DESC, c.id DESC
    ) AS newest WHERE NOT newest.not_on_car
  ) OR EXISTS (
    SELECT FROM cars_ballastpiece p
    WHERE p.car_id = given_car AND p.retired_at IS NULL AND NOT EXISTS (
      SELECT FROM events_ballastcheck c LEFT JOIN events_void v ON v.ballast_check_id = c.id
      WHERE c.entry_id = NEW.entry_id AND c.piece_id = p.id AND v.id IS NULL)
  ) THEN
    RAISE EXCEPTION 'a piece of ballast stands as on the car'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'no_ballast_while_a_piece_stands';
  END IF;
  RETURN NEW;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("events", "0019_changed_by_column")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
