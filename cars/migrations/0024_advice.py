"""What coaches advise on cars, and what is said to it."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


# Whom the viewer coaches: a link counts while its coach is a coach of the team's club.
FORWARD = """
CREATE FUNCTION access.coach_teams() RETURNS uuid[] LANGUAGE plpgsql STABLE
  SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$
DECLARE me uuid := access.viewer();
BEGIN
  RETURN ARRAY(SELECT l.team_id FROM teams_coachlink l JOIN teams_clubmember m
    ON m.club_id = l.club_id AND m.user_id = l.coach_id AND m.role = 'coach' WHERE l.coach_id = me);
END $$;
"""

# What was said of a driver who is erased.
ERASING = """
DO $do$ BEGIN
  EXECUTE replace(pg_get_functiondef('access.erase_driver(uuid)'::regprocedure),
    'DELETE FROM teams_driver WHERE id = given;', $sql$UPDATE cars_advice SET text = access.without_name(text, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND text <> access.without_name(text, driver.display_name, 1000000);
  UPDATE cars_advicereply SET text = access.without_name(text, driver.display_name, 1000000)
    WHERE team_id = driver.team_id AND text <> access.without_name(text, driver.display_name, 1000000);
  DELETE FROM teams_driver WHERE id = given;$sql$);
END $do$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0023_comparisons'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunSQL(FORWARD, 'DROP FUNCTION access.coach_teams();'),
        migrations.CreateModel(
            name='Advice',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('spot', models.CharField(blank=True, choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('wanted', models.DecimalField(blank=True, decimal_places=10, max_digits=20, null=True)),
                ('wanted_typed', models.CharField(blank=True, max_length=40)),
                ('text', models.TextField()),
                ('done_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('car', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='advice', to='cars.car')),
                ('done_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('measure', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.measure')),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.CreateModel(
            name='AdviceReply',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('of_coach', models.BooleanField()),
                ('text', models.TextField()),
                ('advice', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='replies', to='cars.advice')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['created_at', 'id'],
            },
        ),
        migrations.AddIndex(
            model_name='advice',
            index=models.Index(fields=['team', 'id'], name='advice_of_team'),
        ),
        migrations.AddIndex(
            model_name='advice',
            index=models.Index(fields=['car', '-id'], name='advice_of_car'),
        ),
        migrations.AddIndex(
            model_name='advice',
            index=models.Index(condition=models.Q(('done_at__isnull', True)), fields=['team', 'id'], name='advice_open'),
        ),
        migrations.AddConstraint(
            model_name='advice',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('done_at__isnull', True), ('done_by__isnull', True)), models.Q(('done_at__isnull', False), ('done_by__isnull', False)), _connector='OR'), name='advice_done_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='advice',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('measure__isnull', True), ('spot', ''), ('wanted__isnull', True)), models.Q(('measure__isnull', False), models.Q(('spot', ''), _negated=True)), _connector='OR'), name='advice_spot_with_measure'),
        ),
        migrations.AddConstraint(
            model_name='advice',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('wanted__isnull', True), ('wanted_typed', '')), models.Q(('wanted__isnull', False), models.Q(('wanted_typed', ''), _negated=True)), _connector='OR'), name='advice_wanted_as_typed'),
        ),
        migrations.AddConstraint(
            model_name='advice',
            constraint=models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='advice_says_something'),
        ),
        migrations.AddConstraint(
            model_name='advice',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.coach_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_advice.team_id))', change='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) OR (team_id = ANY ((SELECT access.coach_teams())::uuid[]) AND by_id = (SELECT access.viewer())))', change_columns=('done_at', 'done_by_id'), name='advice', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddIndex(
            model_name='advicereply',
            index=models.Index(fields=['team', 'id'], name='advice_reply_of_team'),
        ),
        migrations.AddIndex(
            model_name='advicereply',
            index=models.Index(fields=['advice', 'created_at', 'id'], name='advice_reply_of_advice'),
        ),
        migrations.AddConstraint(
            model_name='advicereply',
            constraint=models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='advice_reply_says_something'),
        ),
        migrations.AddConstraint(
            model_name='advicereply',
            constraint=clubsetup.access.row_security.SameParent(name='advice_reply_team', parent='advice_id', shared='team_id', to='cars_advice'),
        ),
        migrations.AddConstraint(
            model_name='advicereply',
            constraint=clubsetup.access.row_security.RowSecurity(add='(by_id = (SELECT access.viewer()) AND ((of_coach AND team_id = ANY ((SELECT access.coach_teams())::uuid[])) OR (NOT of_coach AND team_id = ANY ((SELECT access.crew_teams())::uuid[]))))', name='advice_reply', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.RunSQL(ERASING),
    ]
