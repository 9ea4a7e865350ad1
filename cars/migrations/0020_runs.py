"""Runs, and what is changed and read at the track; a sheet as set stays as it is.

What a closed sheet says of the car as set is kept, and a change at the track makes it say less.
"""

import clubsetup.access.ids
import clubsetup.access.row_security
import clubsetup.site.model_fields
import django.contrib.postgres.fields
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


FORWARD = """
CREATE OR REPLACE FUNCTION access.forget_set_figures() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  PERFORM FROM cars_sheet WHERE id = NEW.sheet_id FOR SHARE;
  WITH RECURSIVE version AS (
    SELECT NEW.sheet_id AS id UNION SELECT s.id FROM cars_sheet s JOIN version v ON s.corrects_id = v.id)
  DELETE FROM cars_closedfigures WHERE sheet_id IN (SELECT id FROM version);
  RETURN NULL;
END $$;
REVOKE EXECUTE ON FUNCTION access.forget_set_figures() FROM PUBLIC;
CREATE TRIGGER forget_set_figures AFTER INSERT OR UPDATE ON cars_trackchange
  FOR EACH ROW EXECUTE FUNCTION access.forget_set_figures();

DO $do$ BEGIN
  EXECUTE replace(pg_get_functiondef('access.erase_driver(uuid)'::regprocedure),
    'DELETE FROM teams_driver WHERE id = given;', $sql$UPDATE cars_rundetails SET driver_id = NULL WHERE driver_id = given;
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
  DELETE FROM teams_driver WHERE id = given;$sql$);
END $do$;

DROP FUNCTION access.held_of_driver(uuid);
CREATE FUNCTION access.held_of_driver(given uuid)
  RETURNS TABLE (birth_dates int, weights int, age_answers int, entries int, sheets int, runs int, prints int)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT (SELECT count(*) FROM teams_driverbirth WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM teams_driverweight WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM events_ageanswer a JOIN events_entry e ON e.id = a.entry_id WHERE e.driver_id = d.id)::int,
    (SELECT count(*) FROM events_entry WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM cars_sheet WHERE driver_id = d.id)::int,
    (SELECT count(DISTINCT run_id) FROM cars_rundetails WHERE driver_id = d.id)::int,
    (SELECT count(*) FROM printing_printjob
      WHERE subject_id = ANY (access.subjects_of_driver(d.id, d.team_id)))::int
  FROM teams_driver d WHERE d.id = given AND d.team_id = ANY (access.chief_teams()) $$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0019_open_sheets'),
        ('events', '0026_event_by_day'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddIndex(
            model_name='sheet',
            index=models.Index(condition=models.Q(('role', 'set')), fields=['car', '-made_on', '-created_at'], name='sheet_set_of_car'),
        ),
        migrations.CreateModel(
            name='Run',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('ran_at', models.DateTimeField(help_text='When the car went out.')),
                ('car_state', models.JSONField(default=dict)),
                ('struck_at', models.DateTimeField(blank=True, null=True)),
                ('struck_reason', models.CharField(blank=True, max_length=200)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('car', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='cars.car')),
                ('sheet', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='cars.sheet')),
                ('struck_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['-ran_at', '-id'],
            },
        ),
        migrations.CreateModel(
            name='Laps',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('times', django.contrib.postgres.fields.ArrayField(base_field=models.DecimalField(decimal_places=3, max_digits=7), size=500)),
                ('marks', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(blank=True, choices=[('first', 'First'), ('caution', 'Caution'), ('spin', 'Spin'), ('traffic', 'Traffic'), ('too-fast', 'Too fast'), ('broken', 'Timing broke off'), ('left-out', 'Left out')], max_length=10), size=None)),
                ('timed_by', models.CharField(choices=[('transponder', "The track's timing"), ('hand', 'By hand')], max_length=12)),
                ('typed', models.TextField(blank=True)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaced_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
                ('run', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='laps', to='cars.run')),
            ],
        ),
        migrations.CreateModel(
            name='Feel',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('said_by', models.CharField(choices=[('driver', 'The driver said'), ('handler', 'The handler saw')], max_length=10)),
                ('entry', models.CharField(blank=True, choices=[('pushes', 'Pushes'), ('turns', 'Turns'), ('loose', 'Loose')], max_length=10)),
                ('middle', models.CharField(blank=True, choices=[('pushes', 'Pushes'), ('turns', 'Turns'), ('loose', 'Loose')], max_length=10)),
                ('exit', models.CharField(blank=True, choices=[('pushes', 'Pushes'), ('turns', 'Turns'), ('loose', 'Loose')], max_length=10)),
                ('hands', models.CharField(blank=True, choices=[('right', 'Right'), ('straight', 'Straight'), ('bit-left', 'A bit left'), ('far-left', 'Far left')], help_text='In the middle of the corner.', max_length=10)),
                ('steering', models.CharField(blank=True, choices=[('light', 'Light'), ('good', 'Good'), ('heavy', 'Heavy')], max_length=10)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaced_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
                ('run', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='feels', to='cars.run')),
            ],
        ),
        migrations.CreateModel(
            name='TrackChange',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('adjuster', models.SlugField(max_length=40)),
                ('spot', models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('amount', models.DecimalField(decimal_places=4, max_digits=12)),
                ('unit', models.CharField(max_length=12)),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('taken_back_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('puts_back', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='put_back_by', to='cars.trackchange')),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='track_changes', to='cars.sheet')),
                ('taken_back_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['made_at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='TrackReading',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('spot', models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('value', models.DecimalField(decimal_places=10, max_digits=20)),
                ('typed', models.CharField(max_length=40)),
                ('unit', models.CharField(blank=True, max_length=12)),
                ('resolution', models.DecimalField(decimal_places=10, max_digits=20)),
                ('taken_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('measure', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.measure')),
                ('replaced_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='track_readings', to='cars.sheet')),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['taken_at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='Weather',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('noted_at', models.DateTimeField()),
                ('temperature', clubsetup.site.model_fields.QuantityField(decimal_places=10, kind='temperature', max_digits=20)),
                ('humidity', models.DecimalField(decimal_places=2, help_text='Percent.', max_digits=5)),
                ('pressure', models.DecimalField(decimal_places=2, help_text='hPa, as noted.', max_digits=8)),
                ('pressure_of', models.CharField(choices=[('place', 'Of the place'), ('sea-level', 'Reduced to sea level, as a forecast says it')], max_length=10)),
                ('altitude', clubsetup.site.model_fields.QuantityField(blank=True, decimal_places=10, kind='length', max_digits=20, null=True)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaced_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
                ('track', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.track')),
            ],
            options={
                'ordering': ['-noted_at'],
            },
        ),
        migrations.CreateModel(
            name='RunDetails',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('kind', models.CharField(choices=[('practice', 'Practice'), ('heat', 'Heat'), ('main', 'Main')], default='practice', max_length=10)),
                ('surface', models.CharField(choices=[('paved', 'Paved'), ('dirt', 'Dirt')], max_length=10)),
                ('surface_state', models.CharField(blank=True, choices=[('cold', 'Cold track'), ('warm', 'Warm track'), ('hot', 'Hot track'), ('damp', 'Damp'), ('dusty', 'Dusty'), ('tacky', 'Tacky'), ('dry-slick', 'Dry slick')], max_length=10)),
                ('finish', models.PositiveSmallIntegerField(blank=True, help_text='The position it finished in, where it raced.', null=True)),
                ('fuel', clubsetup.site.model_fields.QuantityField(blank=True, decimal_places=10, kind='volume', max_digits=20, null=True)),
                ('fuel_typed', models.CharField(blank=True, max_length=40)),
                ('damage', models.CharField(blank=True, help_text="'Hit the wall'.", max_length=200)),
                ('damage_spots', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10), blank=True, default=list, size=None)),
                ('note', models.TextField(blank=True, help_text='What the handler saw.')),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('driver', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.driver')),
                ('replaced_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('run', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='details', to='cars.run')),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
                ('track', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.track')),
                ('weather', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.weather')),
            ],
        ),
        migrations.AddIndex(
            model_name='run',
            index=models.Index(fields=['team', 'id'], name='run_of_team'),
        ),
        migrations.AddIndex(
            model_name='run',
            index=models.Index(fields=['car', '-ran_at', '-id'], name='run_of_car'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('struck_at__isnull', True), ('struck_by__isnull', True), ('struck_reason', '')), models.Q(('struck_at__isnull', False), ('struck_by__isnull', False), models.Q(('struck_reason', ''), _negated=True)), _connector='OR'), name='run_struck_at_with_by_and_reason'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=clubsetup.access.row_security.SameParent(name='run_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=clubsetup.access.row_security.SameParent(name='run_car', parent='sheet_id', shared='car_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_run.team_id))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('ran_at', 'struck_at', 'struck_by_id', 'struck_reason'), name='run', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='laps',
            index=models.Index(fields=['team', 'id'], name='laps_of_team'),
        ),
        migrations.AddIndex(
            model_name='laps',
            index=models.Index(fields=['run', 'team'], name='laps_of_run'),
        ),
        migrations.AddConstraint(
            model_name='laps',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('run',), name='laps_one_now'),
        ),
        migrations.AddConstraint(
            model_name='laps',
            constraint=models.CheckConstraint(condition=models.Q(('times__len', models.F('marks__len')), ('times__len__gte', 1)), name='laps_each_with_mark'),
        ),
        migrations.AddConstraint(
            model_name='laps',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='laps_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='laps',
            constraint=clubsetup.access.row_security.SameParent(name='laps_team', parent='run_id', shared='team_id', to='cars_run'),
        ),
        migrations.AddConstraint(
            model_name='laps',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='laps', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='feel',
            index=models.Index(fields=['team', 'id'], name='feel_of_team'),
        ),
        migrations.AddIndex(
            model_name='feel',
            index=models.Index(fields=['run', 'team'], name='feel_of_run'),
        ),
        migrations.AddConstraint(
            model_name='feel',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('run', 'said_by'), name='feel_one_now'),
        ),
        migrations.AddConstraint(
            model_name='feel',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='feel_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='feel',
            constraint=clubsetup.access.row_security.SameParent(name='feel_team', parent='run_id', shared='team_id', to='cars_run'),
        ),
        migrations.AddConstraint(
            model_name='feel',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='feel', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='trackchange',
            index=models.Index(fields=['team', 'id'], name='track_change_of_team'),
        ),
        migrations.AddConstraint(
            model_name='trackchange',
            constraint=models.CheckConstraint(condition=models.Q(('amount', 0), _negated=True), name='track_change_of_something'),
        ),
        migrations.AddConstraint(
            model_name='trackchange',
            constraint=models.UniqueConstraint(condition=models.Q(('taken_back_at__isnull', True)), fields=('puts_back',), name='track_change_put_back_once'),
        ),
        migrations.AddConstraint(
            model_name='trackchange',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('taken_back_at__isnull', True), ('taken_back_by__isnull', True)), models.Q(('taken_back_at__isnull', False), ('taken_back_by__isnull', False)), _connector='OR'), name='track_change_taken_back_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='trackchange',
            constraint=clubsetup.access.row_security.SameParent(name='track_change_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='trackchange',
            constraint=clubsetup.access.row_security.RowSecurity(add="(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_sheet s WHERE s.id = sheet_id AND s.role = 'set'))", change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('taken_back_at', 'taken_back_by_id'), name='track_change', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='trackreading',
            index=models.Index(fields=['team', 'id'], name='track_reading_of_team'),
        ),
        migrations.AddConstraint(
            model_name='trackreading',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='track_reading_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='trackreading',
            constraint=clubsetup.access.row_security.SameParent(name='track_reading_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='trackreading',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='track_reading', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='weather',
            index=models.Index(fields=['team', 'id'], name='weather_of_team'),
        ),
        migrations.AddIndex(
            model_name='weather',
            index=models.Index(fields=['team', '-noted_at'], name='weather_of_team_by_time'),
        ),
        migrations.AddConstraint(
            model_name='weather',
            constraint=models.CheckConstraint(condition=models.Q(('humidity__gte', 0), ('humidity__lte', 100)), name='weather_humidity_percent'),
        ),
        migrations.AddConstraint(
            model_name='weather',
            constraint=models.CheckConstraint(condition=models.Q(('pressure_of', 'place'), ('altitude__isnull', False), _connector='OR'), name='weather_sea_level_with_altitude'),
        ),
        migrations.AddConstraint(
            model_name='weather',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='weather_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='weather',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='weather', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='rundetails',
            index=models.Index(fields=['team', 'id'], name='run_details_of_team'),
        ),
        migrations.AddIndex(
            model_name='rundetails',
            index=models.Index(fields=['run', 'team'], name='run_details_of_run'),
        ),
        migrations.AddConstraint(
            model_name='rundetails',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('run',), name='run_details_one_now'),
        ),
        migrations.AddConstraint(
            model_name='rundetails',
            constraint=models.CheckConstraint(condition=models.Q(('surface__in', ['paved', 'dirt'])), name='run_details_surface_known'),
        ),
        migrations.AddConstraint(
            model_name='rundetails',
            constraint=models.CheckConstraint(condition=models.Q(('finish__isnull', True), ('finish__gte', 1), _connector='OR'), name='run_details_finish_from_1'),
        ),
        migrations.AddConstraint(
            model_name='rundetails',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='run_details_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='rundetails',
            constraint=clubsetup.access.row_security.SameParent(name='run_details_team', parent='run_id', shared='team_id', to='cars_run'),
        ),
        migrations.AddConstraint(
            model_name='rundetails',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='run_details', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
