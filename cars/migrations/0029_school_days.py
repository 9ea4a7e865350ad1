"""Plans for school days, and which cars go out on them."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.constraints
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


# Who drove, and what was said of a driver who is erased.
ERASING = """
DO $do$ BEGIN
  EXECUTE replace(pg_get_functiondef('access.erase_driver(uuid)'::regprocedure),
    'DELETE FROM teams_driver WHERE id = given;', $sql$UPDATE cars_schoolday SET
      name = access.without_name(name, driver.display_name, 80),
      note = access.without_name(note, driver.display_name, 1000)
    WHERE id IN (SELECT school_day_id FROM cars_outing WHERE team_id = driver.team_id)
      AND (name <> access.without_name(name, driver.display_name, 80)
        OR note <> access.without_name(note, driver.display_name, 1000));
  UPDATE cars_outing SET note = access.without_name(note, driver.display_name, 200)
    WHERE team_id = driver.team_id
      AND note <> access.without_name(note, driver.display_name, 200);
  UPDATE cars_outing SET driver_id = NULL WHERE driver_id = given;
  DELETE FROM teams_driver WHERE id = given;$sql$);
  EXECUTE replace(pg_get_functiondef('access.subjects_of_driver(uuid, uuid)'::regprocedure),
    'SELECT id FROM cars_sheet WHERE team_id = given_team', $sql$SELECT id FROM cars_sheet WHERE team_id = given_team
    UNION SELECT school_day_id FROM cars_outing WHERE team_id = given_team$sql$);
END $do$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0028_imports'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='SchoolDay',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('day', models.DateField()),
                ('name', models.CharField(max_length=80)),
                ('note', models.TextField(blank=True)),
                ('shown_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('club', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club')),
                ('track', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.track')),
            ],
            options={
                'ordering': ['-day', '-id'],
            },
        ),
        migrations.CreateModel(
            name='Outing',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('is_shown', models.BooleanField(default=False)),
                ('order', models.PositiveSmallIntegerField()),
                ('note', models.CharField(blank=True, max_length=200)),
                ('baseline', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.baseline')),
                ('by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('car', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='outings', to='cars.car')),
                ('driver', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.driver')),
                ('sheet', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.sheet')),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
                ('school_day', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='outings', to='cars.schoolday')),
            ],
            options={
                'ordering': ['order'],
            },
        ),
        migrations.AddIndex(
            model_name='schoolday',
            index=models.Index(fields=['by', '-day', '-id'], name='school_day_of_coach'),
        ),
        migrations.AddIndex(
            model_name='schoolday',
            index=models.Index(fields=['club', 'id'], name='school_day_of_club'),
        ),
        migrations.AddConstraint(
            model_name='schoolday',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='school_day_has_a_name'),
        ),
        migrations.AddConstraint(
            model_name='schoolday',
            constraint=clubsetup.access.row_security.SameParent(name='school_day_track', parent='track_id', shared='club_id', to='teams_track'),
        ),
        migrations.AddConstraint(
            model_name='schoolday',
            constraint=clubsetup.access.row_security.RowSecurity(add='(by_id = (SELECT access.viewer()) AND club_id = ANY ((SELECT access.coach_clubs())::uuid[]))', change='by_id = (SELECT access.viewer())', change_columns=('day', 'track_id', 'name', 'note', 'shown_at'), name='school_day', read='(by_id = (SELECT access.viewer()) OR EXISTS (SELECT FROM cars_outing o WHERE o.school_day_id = cars_schoolday.id AND o.is_shown))', remove='by_id = (SELECT access.viewer())'),
        ),
        migrations.AddIndex(
            model_name='outing',
            index=models.Index(fields=['team', 'id'], name='outing_of_team'),
        ),
        migrations.AddIndex(
            model_name='outing',
            index=models.Index(fields=['school_day', 'order'], name='outing_of_school_day'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=models.UniqueConstraint(deferrable=django.db.models.constraints.Deferrable['DEFERRED'], fields=('school_day', 'order'), name='outing_order_once'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=models.CheckConstraint(condition=models.Q(('order__gte', 1)), name='outing_order_from_one'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=models.CheckConstraint(condition=models.Q(('sheet__isnull', True), ('baseline__isnull', True), _connector='OR'), name='outing_sheet_or_baseline'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=clubsetup.access.row_security.SameParent(name='outing_by', parent='school_day_id', shared='by_id', to='cars_schoolday'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=clubsetup.access.row_security.SameParent(name='outing_sheet_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=clubsetup.access.row_security.SameParent(name='outing_driver_team', parent='driver_id', shared='team_id', to='teams_driver'),
        ),
        migrations.AddConstraint(
            model_name='outing',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.comment_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_outing.team_id))', change='by_id = (SELECT access.viewer())', change_columns=('order', 'driver_id', 'sheet_id', 'baseline_id', 'note', 'is_shown'), name='outing', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) AND (by_id = (SELECT access.viewer()) OR is_shown))', remove='by_id = (SELECT access.viewer())'),
        ),
        migrations.RunSQL(ERASING),
    ]
