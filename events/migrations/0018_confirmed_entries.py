"""Entries that the team made or confirmed, and one answer of age for each of them.

Whoever makes events on chosen days and rules with chosen limits could find a birth date by asking
'eligible or not' for entries made by hand, again and again. Now the database answers one time for an
entry that the team's own crew made or confirmed, of an event within three days of today, of all its
frozen age rules together, to an official of the club; it keeps the answer and says so in the team's
trail.
"""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


FORWARD = """
-- Entries that a team made itself; those made by hand wait for their team, with what they hold.
UPDATE events_entry e SET confirmed_at = a.created_at, confirmed_by_id = a.by_id
FROM access_auditrow a
WHERE a.on_kind = 'events.entry' AND a.on_id = e.id AND a.did = 'entered'
  AND e.driver_id IS NOT NULL;
-- What the update left to check at the end is checked now, so that the table can be altered.
SET CONSTRAINTS ALL IMMEDIATE;

DROP FUNCTION access.entry_age_eligible(uuid, uuid);
-- Who enters by hand names no driver any more.
DROP FUNCTION access.drivers_for_car(uuid, uuid);

-- Who drives, and that the team stands by the entry: its crew alone, one time, while it stands.
CREATE FUNCTION access.confirm_entry(given uuid, given_driver uuid) RETURNS boolean
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  UPDATE events_entry e
  SET driver_id = d.id, display_name = d.display_name,
      confirmed_at = clock_timestamp(), confirmed_by_id = access.viewer()
  FROM teams_driver d, events_event v
  WHERE e.id = given AND e.team_id = ANY (access.crew_teams()) AND e.confirmed_at IS NULL
    AND e.withdrawn_at IS NULL AND v.id = e.event_id AND v.state <> 'over'
    AND d.id = given_driver AND d.team_id = e.team_id;
  RETURN FOUND;
END $$;

-- Eligible or not. NULL: not answered, and nothing is kept. The event's own first day counts, by
-- the day it is at the club: a day that is chosen freely is a question that is chosen freely. The
-- arithmetic is that of events.rules.driver: so many years before the day, 29 February counting
-- as 28.
CREATE FUNCTION access.answer_age(given uuid) RETURNS boolean
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  asked events_entry;
  starts date;
  today date;
  answer boolean;
BEGIN
  -- The lock makes two who ask at once wait for each other.
  SELECT * INTO asked FROM events_entry
  WHERE id = given AND club_id = ANY (access.official_clubs()) FOR UPDATE;
  IF NOT FOUND THEN
    RETURN NULL;
  END IF;
  SELECT eligible INTO answer FROM events_ageanswer WHERE entry_id = given;
  IF FOUND THEN
    RETURN answer;
  END IF;
  SELECT v.starts_on, (access.server_now() AT TIME ZONE c.time_zone)::date INTO starts, today
  FROM events_event v JOIN teams_club c ON c.id = v.club_id WHERE v.id = asked.event_id;
  IF asked.confirmed_at IS NULL OR asked.withdrawn_at IS NOT NULL OR abs(starts - today) > 3 THEN
    RETURN NULL;
  END IF;
  SELECT bool_and(
      (r.parameters->>'at_least' IS NULL
       OR b.birth_date <= d.day - make_interval(years => (r.parameters->>'at_least')::int))
      AND (r.parameters->>'at_most' IS NULL
       OR b.birth_date > d.day - make_interval(years => (r.parameters->>'at_most')::int + 1)))
  INTO answer
  FROM events_eventclass k
  JOIN events_rule r ON r.rule_set_id = k.rule_set_id AND r.kind = 'driver_age'
  JOIN teams_driverbirth b ON b.driver_id = asked.driver_id
  CROSS JOIN LATERAL (SELECT CASE r.parameters->>'reckoned'
      WHEN 'year_start' THEN make_date(date_part('year', starts)::int, 1, 1)
      WHEN 'year_end' THEN make_date(date_part('year', starts)::int, 12, 31)
      ELSE starts END AS day) d
  WHERE k.id = asked.event_class_id;
  IF answer IS NULL THEN
    RETURN NULL;
  END IF;
  INSERT INTO events_ageanswer (id, created_at, entry_id, club_id, team_id, by_id, eligible)
  VALUES (access.new_id(), clock_timestamp(), given, asked.club_id, asked.team_id,
          access.viewer(), answer);
  -- That it was told, and not what: guests read the team's trail too.
  INSERT INTO access_auditrow
    (id, created_at, by_id, did, on_kind, on_id, club_id, team_id, detail)
  VALUES (access.new_id(), clock_timestamp(), access.viewer(), 'told_age', 'events.entry', given,
          asked.club_id, asked.team_id, '{}');
  RETURN answer;
END $$;

-- The ballast pieces of a car whose team stands by the entry.
CREATE OR REPLACE FUNCTION access.entered_cars() RETURNS uuid[]
  LANGUAGE sql STABLE SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$
  SELECT COALESCE(array_agg(DISTINCT e.car_id), '{}') FROM events_entry e
  JOIN events_event v ON v.id = e.event_id
  WHERE e.club_id = ANY (access.official_clubs()) AND e.withdrawn_at IS NULL
    AND e.confirmed_at IS NOT NULL AND v.state <> 'over' $$;

-- A refusal tells of no piece that the official does not see.
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
  FROM events_entry WHERE id = NEW.entry_id FOR UPDATE;
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

    dependencies = [
        ('cars', '0011_teams_that_race'),
        ('events', '0017_teams_that_race'),
        ('teams', '0007_what_was_typed_of_a_track'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='AgeAnswer',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('eligible', models.BooleanField()),
            ],
        ),
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry',
        ),
        migrations.AddField(
            model_name='entry',
            name='confirmed_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='entry',
            name='confirmed_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='entry',
            name='display_name',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AlterField(
            model_name='entry',
            name='driver',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.driver'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('confirmed_at__isnull', True), ('confirmed_by__isnull', True)), models.Q(('confirmed_at__isnull', False), ('confirmed_by__isnull', False), ('driver__isnull', False)), _connector='OR'), name='entry_confirmed_with_driver'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=clubsetup.access.row_security.RowSecurity(add='((team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND driver_id IS NOT NULL AND confirmed_at IS NOT NULL AND confirmed_by_id = (SELECT access.viewer())) OR ((club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[])) AND team_id = ANY ((SELECT access.tended_teams())::uuid[]) AND driver_id IS NULL AND confirmed_at IS NULL AND confirmed_by_id IS NULL))', change='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))', change_columns=('number', 'display_name', 'withdrawn_at'), name='entry', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddField(
            model_name='ageanswer',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='ageanswer',
            name='club',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club'),
        ),
        migrations.AddField(
            model_name='ageanswer',
            name='entry',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='age_answer', to='events.entry'),
        ),
        migrations.AddField(
            model_name='ageanswer',
            name='team',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddConstraint(
            model_name='ageanswer',
            constraint=clubsetup.access.row_security.SameParent(name='age_answer_club', parent='entry_id', shared='club_id', to='events_entry'),
        ),
        migrations.AddConstraint(
            model_name='ageanswer',
            constraint=clubsetup.access.row_security.SameParent(name='age_answer_team', parent='entry_id', shared='team_id', to='events_entry'),
        ),
        migrations.AddConstraint(
            model_name='ageanswer',
            constraint=clubsetup.access.row_security.RowSecurity(name='age_answer', read='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR team_id = ANY ((SELECT access.crew_teams())::uuid[]))'),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
