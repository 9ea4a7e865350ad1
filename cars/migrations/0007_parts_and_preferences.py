"""Which part is on which corner, and what a team prefers."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

CLOSED = """
CREATE TRIGGER sheet_is_closed BEFORE INSERT OR UPDATE ON cars_partfitted
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_closed_sheet();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0006_plan_heights_together'),
        ('teams', '0004_closer_grants'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='PartFitted',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('sort', models.CharField(choices=[('spring', 'Spring'), ('damper', 'Damper'), ('tyre', 'Tyre')], max_length=10)),
                ('spot', models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['created_at'],
            },
        ),
        migrations.CreateModel(
            name='Preference',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('surface', models.CharField(blank=True, choices=[('paved', 'Paved'), ('dirt', 'Dirt')], max_length=10)),
                ('spot', models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('target', models.DecimalField(decimal_places=10, max_digits=20)),
                ('tolerance', models.DecimalField(decimal_places=10, max_digits=20)),
                ('target_typed', models.CharField(max_length=40)),
                ('tolerance_typed', models.CharField(max_length=40)),
                ('reason', models.CharField(max_length=200)),
                ('version', models.PositiveIntegerField(default=1)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['created_at'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='benchtarget',
            name='bench_target_is_another_sheet',
        ),
        migrations.AlterField(
            model_name='benchtarget',
            name='target',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.sheet'),
        ),
        migrations.AddConstraint(
            model_name='benchtarget',
            constraint=models.CheckConstraint(condition=models.Q(('target__isnull', True), models.Q(('target', models.F('sheet')), _negated=True), _connector='OR'), name='bench_target_is_another_sheet'),
        ),
        migrations.AddField(
            model_name='partfitted',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='partfitted',
            name='part',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='fitted', to='cars.part'),
        ),
        migrations.AddField(
            model_name='partfitted',
            name='replaced_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='partfitted',
            name='sheet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='parts_fitted', to='cars.sheet'),
        ),
        migrations.AddField(
            model_name='partfitted',
            name='team',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddField(
            model_name='preference',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='preference',
            name='car',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='preferences', to='cars.car'),
        ),
        migrations.AddField(
            model_name='preference',
            name='measure',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.measure'),
        ),
        migrations.AddField(
            model_name='preference',
            name='replaced_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='preference',
            name='team',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('sheet', 'sort', 'spot'), name='part_fitted_one_now'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=models.CheckConstraint(condition=models.Q(('spot__in', ['LF', 'RF', 'LR', 'RR'])), name='part_fitted_at_a_corner'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='part_fitted_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=clubsetup.access.row_security.SameParent(name='part_fitted_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=clubsetup.access.row_security.SameParent(name='part_fitted_own', parent='part_id', shared='team_id', to='cars_part'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=clubsetup.access.row_security.SameParent(name='part_fitted_sort', parent='part_id', shared='sort', to='cars_part'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND team_id = ANY ((SELECT access.code_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND team_id = ANY ((SELECT access.code_teams())::uuid[]))', change_columns=('replaced_at', 'replaced_by_id'), name='part_fitted', read='team_id = ANY ((SELECT access.code_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=models.UniqueConstraint(fields=('car', 'team', 'surface', 'measure', 'spot', 'version'), name='preference_version_once'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('car', 'team', 'surface', 'measure', 'spot'), name='preference_one_now'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='preference_has_reason'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=models.CheckConstraint(condition=models.Q(('tolerance__gte', 0)), name='preference_tolerance_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=models.CheckConstraint(condition=models.Q(('surface__in', ['', 'paved', 'dirt'])), name='preference_surface_known'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='preference_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_preference.team_id))', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='preference', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.RunSQL(CLOSED, migrations.RunSQL.noop),
    ]
