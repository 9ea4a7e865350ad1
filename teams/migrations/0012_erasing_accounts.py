"""A person has their account erased. What they did stays done, by 'an erased person'."""

from django.db import migrations

FORWARD = """
-- The viewer's own account, and no other. Refused for the last chief of a team and the last steward
-- of a club. Returns the files of prints to remove.
CREATE FUNCTION access.erase_account() RETURNS text[]
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  me uuid := access.viewer();
  files text[];
BEGIN
  IF me IS NULL THEN
    RETURN NULL;
  END IF;
  -- Two who leave at once wait for each other, as when a role is laid down.
  PERFORM FROM teams_team WHERE id = ANY (access.chief_teams()) ORDER BY id FOR UPDATE;
  PERFORM FROM teams_club WHERE id = ANY (access.steward_clubs()) ORDER BY id FOR UPDATE;
  IF EXISTS (SELECT FROM unnest(access.chief_teams()) AS mine WHERE NOT EXISTS (
      SELECT FROM teams_teammember WHERE team_id = mine AND role = 'chief' AND user_id <> me))
    OR EXISTS (SELECT FROM unnest(access.steward_clubs()) AS mine WHERE NOT EXISTS (
      SELECT FROM teams_clubmember WHERE club_id = mine AND role = 'steward' AND user_id <> me)) THEN
    RAISE EXCEPTION 'a team would be without a chief, or a club without a steward'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'somebody_leads';
  END IF;
  files := access.remove_prints(ARRAY(SELECT id FROM printing_printjob WHERE asked_by_id = me));
  DELETE FROM access_apitoken WHERE user_id = me;
  DELETE FROM access_receipt WHERE by_id = me;
  DELETE FROM access_signin WHERE user_id = me;
  DELETE FROM access_resetcode WHERE user_id = me;
  DELETE FROM mfa_authenticator WHERE user_id = me;
  DELETE FROM account_emailconfirmation WHERE email_address_id IN (
    SELECT id FROM account_emailaddress WHERE user_id = me);
  DELETE FROM account_emailaddress WHERE user_id = me;
  DELETE FROM teams_coachlink WHERE coach_id = me;
  DELETE FROM teams_teammember WHERE user_id = me;
  DELETE FROM teams_clubmember WHERE user_id = me;
  UPDATE teams_invitation SET withdrawn_at = clock_timestamp()
    WHERE invited_by_id = me AND accepted_at IS NULL AND withdrawn_at IS NULL;
  -- Their own trail; what they did in a team or a club stands there, by an erased person.
  DELETE FROM access_auditrow WHERE by_id = me AND team_id IS NULL AND club_id IS NULL;
  -- Another password ends every session; this one is none that anybody can sign in by.
  UPDATE access_user SET email = 'erased-' || me || '@erased.invalid', name = 'Erased person',
      password = '!' || replace(gen_random_uuid()::text, '-', ''), is_active = false,
      last_login = NULL, date_joined = clock_timestamp(), preferred_units = '{}'
    WHERE id = me;
  RETURN files;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("teams", "0011_nothing_to_guess_from"), ("printing", "0006_kept_for_a_while")]
    operations = [migrations.RunSQL(FORWARD, "DROP FUNCTION access.erase_account()")]
