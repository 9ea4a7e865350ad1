"""What is recorded as not on the car, and 'no ballast' only while no piece stands as on it."""

import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


FORWARD = """
-- That a car carries no ballast is refused while a piece stands as on it: the newest record of it
-- in force is a look, or the team lists it and nobody has spoken of it.
CREATE FUNCTION access.refuse_no_ballast() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE given_car uuid;
BEGIN
  -- Who may not add the record is refused by its policy, and learns nothing here.
  IF NOT NEW.club_id = ANY (access.official_clubs()) THEN
    RETURN NEW;
  END IF;
  -- The lock makes two officials at one entry wait for each other.
  SELECT car_id INTO given_car FROM events_entry WHERE id = NEW.entry_id FOR UPDATE;
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
CREATE TRIGGER no_ballast_while_a_piece_stands BEFORE INSERT ON events_ballastcheck
  FOR EACH ROW WHEN (NEW.none_on_car) EXECUTE FUNCTION access.refuse_no_ballast();
"""
BACK = """
DROP TRIGGER no_ballast_while_a_piece_stands ON events_ballastcheck;
DROP FUNCTION access.refuse_no_ballast();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0008_what_teams_run'),
        ('events', '0013_record_chain'),
        ('teams', '0006_the_wall_clock_of_a_club'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='ballastcheck',
            name='look',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='events.ballastcheck'),
        ),
        migrations.AddField(
            model_name='ballastcheck',
            name='not_on_car',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='ballastcheck',
            name='reason',
            field=models.CharField(blank=True, max_length=200),
        ),
        migrations.AddField(
            model_name='ballastcheck',
            name='when_weighed',
            field=models.CharField(blank=True, choices=[('on', 'It was on the car'), ('off', 'It was not on the car yet')], max_length=10),
        ),
        migrations.AddField(
            model_name='weighin',
            name='listed',
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name='ballastcheck',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('look__isnull', True), ('not_on_car', False), ('reason', '')), models.Q(('none_on_car', False), ('not_on_car', True), ('when_weighed', ''), models.Q(('piece__isnull', False), ('look__isnull', False), _connector='OR'), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='ballast_check_off_with_reason'),
        ),
        migrations.AddConstraint(
            model_name='ballastcheck',
            constraint=models.CheckConstraint(condition=models.Q(('when_weighed__in', ['', 'on', 'off'])), name='ballast_check_when_weighed_known'),
        ),
        migrations.AddConstraint(
            model_name='ballastcheck',
            constraint=clubsetup.access.row_security.SameParent(name='ballast_check_look', parent='look_id', shared='entry_id', to='events_ballastcheck'),
        ),
        migrations.RunSQL(FORWARD, BACK),
    ]
