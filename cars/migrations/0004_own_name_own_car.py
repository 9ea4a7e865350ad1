"""What hangs on a car is of a team that has or had it, and who opens, says or accepts is themself.

Without it somebody of another team could hang ballast on a car before its check, claim to have
owned it, or keep sheets of it; and one of the crew could write in another's name.
"""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations

FORWARD = """
CREATE FUNCTION access.refuse_car_of_others() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.car_id IS NOT NULL
    AND NOT EXISTS (SELECT FROM cars_car WHERE id = NEW.car_id AND team_id = NEW.team_id)
    -- A sheet may be corrected after the car has gone.
    AND NOT (TG_TABLE_NAME = 'cars_sheet' AND EXISTS (
      SELECT FROM cars_ownership WHERE car_id = NEW.car_id AND team_id = NEW.team_id)) THEN
    RAISE EXCEPTION 'the car is not of that team'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'car_of_the_team';
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER car_of_the_team BEFORE INSERT ON cars_ballastpiece
  FOR EACH ROW EXECUTE FUNCTION access.refuse_car_of_others();
CREATE TRIGGER car_of_the_team_moved BEFORE UPDATE ON cars_ballastpiece
  FOR EACH ROW WHEN (ROW(OLD.car_id, OLD.team_id) IS DISTINCT FROM ROW(NEW.car_id, NEW.team_id))
  EXECUTE FUNCTION access.refuse_car_of_others();
CREATE TRIGGER car_of_the_team BEFORE INSERT ON cars_sheet
  FOR EACH ROW EXECUTE FUNCTION access.refuse_car_of_others();
CREATE TRIGGER car_of_the_team_moved BEFORE UPDATE ON cars_sheet
  FOR EACH ROW WHEN (ROW(OLD.car_id, OLD.team_id) IS DISTINCT FROM ROW(NEW.car_id, NEW.team_id))
  EXECUTE FUNCTION access.refuse_car_of_others();
CREATE TRIGGER car_of_the_team BEFORE INSERT ON cars_ownership
  FOR EACH ROW EXECUTE FUNCTION access.refuse_car_of_others();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0003_plans'),
        ('teams', '0004_closer_grants'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='calibrationreset',
            name='calibration_reset',
        ),
        migrations.RemoveConstraint(
            model_name='comment',
            name='comment',
        ),
        migrations.RemoveConstraint(
            model_name='plan',
            name='plan',
        ),
        migrations.RemoveConstraint(
            model_name='sheet',
            name='sheet',
        ),
        migrations.AddConstraint(
            model_name='calibrationreset',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_calibrationreset.team_id))', name='calibration_reset', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='comment',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.comment_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', name='comment', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', name='plan', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='sheet',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND opened_by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', name='sheet', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
