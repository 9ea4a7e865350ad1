"""A line in a team's trail that says who from outside read what is a child's."""

from django.db import migrations

FORWARD = """
SET LOCAL check_function_bodies = off;
-- Who looks at a team's data by right from outside: a linked coach; stewards and officials of the
-- team's own club, or of one at whose event it is entered.
CREATE FUNCTION access.looks_in_on(team uuid) RETURNS boolean
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT team = ANY (access.setup_teams())
    OR EXISTS (SELECT FROM teams_team t WHERE t.id = team
               AND t.club_id = ANY (access.official_clubs() || access.steward_clubs()))
    OR EXISTS (SELECT FROM events_entry e WHERE e.team_id = team
               AND e.club_id = ANY (access.official_clubs() || access.steward_clubs())) $$;
-- The row is there, and is that team's. `kind` is as Django writes it: teams.driver.
CREATE FUNCTION access.row_is_of(team uuid, kind text, on_id uuid) RETURNS boolean
  LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  name text := replace(kind, '.', '_');
  found boolean;
BEGIN
  IF name = 'teams_team' THEN
    RETURN team = on_id;
  END IF;
  IF kind !~ '^[a-z]+[.][a-z]+$' OR 2 <> (
    SELECT count(*) FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
    WHERE c.relnamespace = 'public'::regnamespace AND c.relname = name AND c.relkind = 'r'
      AND a.attname IN ('id', 'team_id') AND a.atttypid = 'uuid'::regtype
  ) THEN
    RETURN false;
  END IF;
  EXECUTE format('SELECT EXISTS (SELECT FROM public.%I WHERE id = $1 AND team_id = $2)', name)
    INTO found USING on_id, team;
  RETURN found;
END $$;
REVOKE EXECUTE ON FUNCTION access.looks_in_on(uuid), access.row_is_of(uuid, text, uuid) FROM PUBLIC;
-- 'Read by the viewer', once for each viewer, thing and day, and no other line. Nothing where the
-- viewer is of the team, may not look in on it, or there is no such row of the team's. Says whether
-- a line was written.
CREATE FUNCTION access.note_read(team uuid, kind text, on_id uuid) RETURNS boolean
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF team = ANY (access.member_teams()) OR NOT access.looks_in_on(team)
    OR NOT access.row_is_of(team, kind, on_id) THEN
    RETURN false;
  END IF;
  INSERT INTO access_auditrow
    (id, created_at, by_id, did, on_kind, on_id, club_id, team_id, detail)
  SELECT access.new_id(), clock_timestamp(), access.viewer(), 'read', note_read.kind,
         note_read.on_id, NULL, team, '{}'
  WHERE NOT EXISTS (
    SELECT FROM access_auditrow a
    WHERE a.on_id = note_read.on_id AND a.on_kind = note_read.kind AND a.did = 'read'
      AND a.by_id = access.viewer() AND a.team_id = team
      AND a.created_at >= date_trunc('day', clock_timestamp(), 'UTC'));
  RETURN FOUND;
END $$;
"""
BACKWARD = """
DROP FUNCTION access.note_read(uuid, text, uuid);
DROP FUNCTION access.row_is_of(uuid, text, uuid);
DROP FUNCTION access.looks_in_on(uuid);
"""


class Migration(migrations.Migration):
    # The bodies name tables of teams and events, which are there before anybody looks.
    dependencies = [("access", "0007_people")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
