"""A club may ask its stewards and officials for a second factor; lost tablets; codes to get back in.

Whoever may make another one a code for a new password can take their account over by it. So the
code opens nothing that its maker does not hold already: see access.reset_reach.
"""

from django.db import migrations, models

HEAD = "SECURITY DEFINER SET search_path = public, pg_temp"
# Of role m, held in a club that asks for a second factor, by somebody without one.
RESTS = (
    "EXISTS (SELECT FROM teams_clubmember m JOIN teams_club c ON c.id = m.club_id "
    "WHERE m.club_id = {club} AND m.user_id = {who} AND c.asks_second_factor) "
    "AND NOT EXISTS (SELECT FROM mfa_authenticator a WHERE a.user_id = {who} "
    "AND a.type IN ('totp', 'webauthn'))"
)


def _role(name: str) -> str:
    held = (
        f"SELECT m.club_id FROM teams_clubmember m WHERE m.user_id = me AND m.role = '{name}' "
        "AND NOT EXISTS (SELECT FROM teams_club c WHERE c.id = m.club_id AND c.asks_second_factor "
        "AND NOT EXISTS (SELECT FROM mfa_authenticator a WHERE a.user_id = me "
        "AND a.type IN ('totp', 'webauthn')))"
    )
    return (
        f"CREATE OR REPLACE FUNCTION access.{name}_clubs() RETURNS uuid[] LANGUAGE plpgsql STABLE "
        "SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$ "
        f"DECLARE me uuid := access.viewer(); BEGIN RETURN ARRAY({held}); END $$;"
    )


FORWARD = f"""
{_role("steward")}
{_role("official")}

-- Clubs in which the viewer's roles of steward and official rest until they have a second factor.
CREATE FUNCTION access.withheld_clubs() RETURNS uuid[] LANGUAGE plpgsql STABLE {HEAD} AS $$
DECLARE me uuid := access.viewer();
BEGIN
  RETURN ARRAY(
    SELECT DISTINCT m.club_id FROM teams_clubmember m JOIN teams_club c ON c.id = m.club_id
    WHERE m.user_id = me AND m.role IN ('steward', 'official') AND c.asks_second_factor
      AND NOT EXISTS (SELECT FROM mfa_authenticator a
                      WHERE a.user_id = me AND a.type IN ('totp', 'webauthn')));
END $$;

-- Every club and team a person is in or ever was: roles come by invitation alone, and these stay.
CREATE FUNCTION access.places_of(person uuid) RETURNS TABLE (club_id uuid, team_id uuid)
  LANGUAGE sql STABLE {HEAD} AS $$
  SELECT club_id, NULL::uuid FROM teams_clubmember WHERE user_id = person
  UNION SELECT club_id, team_id FROM teams_teammember WHERE user_id = person
  UNION SELECT club_id, team_id FROM teams_coachlink WHERE coach_id = person
  UNION SELECT club_id, team_id FROM teams_invitation WHERE accepted_by_id = person
  UNION SELECT id, NULL::uuid FROM teams_club WHERE founder_id = person $$;

CREATE FUNCTION access.end_for_member(club uuid, person uuid) RETURNS integer
  LANGUAGE plpgsql {HEAD} AS $$
DECLARE
  ended integer;
  tokens integer;
BEGIN
  IF NOT club = ANY (access.steward_clubs())
     OR NOT EXISTS (SELECT FROM access.places_of(person) p WHERE p.club_id = club) THEN
    RETURN NULL;
  END IF;
  DELETE FROM django_session s USING access_signin i
    WHERE i.user_id = person
      AND s.session_key = left(i.digest, 40);
  DELETE FROM access_signin WHERE user_id = person;
  GET DIAGNOSTICS ended = ROW_COUNT;
  UPDATE access_apitoken SET ended_at = now() WHERE user_id = person AND ended_at IS NULL;
  GET DIAGNOSTICS tokens = ROW_COUNT;
  DELETE FROM access_resetcode WHERE user_id = person AND used_at IS NULL;
  RETURN ended + tokens;
END $$;

-- How far a code made by one person for another one would reach:
--   any    the maker holds everything the person does or ever did: a chief of all their teams where
--          they are nothing to a club, or a steward of all their clubs where they are in no team;
--   known  a steward of all their clubs, for somebody in a team, whose cars and children a steward
--          never sees: only on a device on which that person has signed in before;
--   NULL   not at all.
CREATE FUNCTION access.reset_reach(maker uuid, person uuid) RETURNS text
  LANGUAGE plpgsql STABLE {HEAD} AS $$
BEGIN
  IF maker IS NULL OR maker = person OR NOT EXISTS (SELECT FROM access.places_of(person)) THEN
    RETURN NULL;
  END IF;
  IF NOT EXISTS (
    SELECT FROM access.places_of(person) p WHERE NOT EXISTS (
      SELECT FROM teams_teammember t
      WHERE t.team_id = p.team_id AND t.user_id = maker AND t.role = 'chief')
  ) AND EXISTS (SELECT FROM teams_teammember t WHERE t.user_id = person) THEN
    RETURN 'any';
  END IF;
  IF NOT EXISTS (SELECT FROM teams_clubmember WHERE user_id = person
                 UNION ALL SELECT FROM teams_teammember WHERE user_id = person)
     OR EXISTS (
    SELECT FROM access.places_of(person) p WHERE NOT EXISTS (
      SELECT FROM teams_clubmember m
      WHERE m.club_id = p.club_id AND m.user_id = maker AND m.role = 'steward')
      OR ({RESTS.format(club="p.club_id", who="maker")})
  ) THEN
    RETURN NULL;
  END IF;
  IF EXISTS (SELECT FROM access.places_of(person) p WHERE p.team_id IS NOT NULL) THEN
    RETURN 'known';
  END IF;
  RETURN 'any';
END $$;

-- Makes a code, which ends any made before, and writes it into the trail of every team and club the
-- person is in: whoever could be harmed by it reads of it.
CREATE FUNCTION access.make_reset_code(new_id uuid, person uuid, code text) RETURNS text
  LANGUAGE plpgsql {HEAD} AS $$
DECLARE
  me uuid := access.viewer();
  reach text := access.reset_reach(me, person);
BEGIN
  IF reach IS NULL THEN RETURN NULL; END IF;
  DELETE FROM access_resetcode c WHERE c.user_id = person AND c.used_at IS NULL;
  INSERT INTO access_resetcode (id, created_at, user_id, made_by_id, digest, expires_at)
    VALUES (new_id, now(), person, me, code, now() + interval '30 minutes');
  INSERT INTO access_auditrow (id, created_at, by_id, did, on_kind, on_id, club_id, team_id, detail)
    SELECT access.new_id(), now(), me, 'made_reset_code', 'access.user', person,
           p.club_id, p.team_id, jsonb_build_object('who', person::text)
    FROM (SELECT NULL::uuid AS club_id, t.team_id FROM teams_teammember t WHERE t.user_id = person
          UNION SELECT m.club_id, NULL::uuid FROM teams_clubmember m WHERE m.user_id = person
          UNION SELECT t.club_id, NULL::uuid FROM teams_teammember t
                WHERE t.user_id = person AND reach = 'known') p;
  RETURN reach;
END $$;

-- Takes a code once, before anybody is looking, and says whose it was. What its maker may is asked
-- again: they may have lost a role since, or the person may have got one.
CREATE FUNCTION access.use_reset_code(address text, code text, known boolean) RETURNS uuid
  LANGUAGE plpgsql {HEAD} AS $$
DECLARE
  found access_resetcode;
  reach text := 'any';
BEGIN
  SELECT c.* INTO found FROM access_resetcode c JOIN access_user u ON u.id = c.user_id
    WHERE c.digest = code AND c.used_at IS NULL AND c.expires_at > now()
      AND u.is_active AND lower(u.email) = lower(address) FOR UPDATE OF c;
  IF found.id IS NULL THEN RETURN NULL; END IF;
  IF found.made_by_id IS NOT NULL THEN
    reach := access.reset_reach(found.made_by_id, found.user_id);
  END IF;
  IF reach IS NULL OR (reach = 'known' AND NOT known) THEN RETURN NULL; END IF;
  UPDATE access_resetcode SET used_at = now() WHERE id = found.id;
  RETURN found.user_id;
END $$;

REVOKE EXECUTE ON FUNCTION access.places_of(uuid), access.reset_reach(uuid, uuid) FROM PUBLIC;
-- A button asks the same as what it does.
CREATE FUNCTION access.may_make_reset_code(person uuid) RETURNS text LANGUAGE sql STABLE {HEAD} AS $$
  SELECT access.reset_reach(access.viewer(), person) $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("teams", "0008_idle_tablets"),
        ("access", "0004_signing_in_and_back_in"),
    ]
    operations = [
        migrations.AddField(
            model_name="club",
            name="asks_second_factor",
            field=models.BooleanField(default=False),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
