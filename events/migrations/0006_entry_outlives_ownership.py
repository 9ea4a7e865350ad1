"""An entry keeps the team of its time when the car is handed on."""

from django.db import migrations

FORWARD = """
CREATE FUNCTION access.refuse_anothers_car() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM cars_car WHERE id = NEW.car_id AND team_id = NEW.team_id) THEN
    RAISE EXCEPTION 'the car is not of that team'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'entry_car_team';
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER entry_car_team BEFORE INSERT ON events_entry
  FOR EACH ROW EXECUTE FUNCTION access.refuse_anothers_car();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('events', '0005_driver_age'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry_car_team',
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
