"""Chains, engines and sprockets as parts, what a part had run before, and how long it may."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0024_advice'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='PartLimit',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('sort', models.CharField(choices=[('spring', 'Spring'), ('damper', 'Damper'), ('tyre', 'Tyre'), ('chain', 'Chain'), ('engine', 'Engine'), ('sprocket', 'Sprocket')], max_length=10)),
                ('per', models.CharField(choices=[('nights', 'Nights'), ('runs', 'Runs'), ('laps', 'Laps'), ('hours', 'Hours')], max_length=10)),
                ('most', models.DecimalField(decimal_places=2, max_digits=8)),
            ],
        ),
        migrations.CreateModel(
            name='PartStart',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('replaced_at', models.DateTimeField(blank=True, null=True)),
                ('runs', models.PositiveIntegerField(blank=True, null=True)),
                ('laps', models.PositiveIntegerField(blank=True, null=True)),
                ('nights', models.PositiveIntegerField(blank=True, null=True)),
                ('hours', models.DecimalField(blank=True, decimal_places=2, max_digits=8, null=True)),
            ],
        ),
        migrations.RemoveConstraint(
            model_name='partfitted',
            name='part_fitted_at_a_corner',
        ),
        migrations.RemoveConstraint(
            model_name='runpart',
            name='run_part_at_a_corner',
        ),
        migrations.AlterField(
            model_name='part',
            name='sort',
            field=models.CharField(choices=[('spring', 'Spring'), ('damper', 'Damper'), ('tyre', 'Tyre'), ('chain', 'Chain'), ('engine', 'Engine'), ('sprocket', 'Sprocket')], max_length=10),
        ),
        migrations.AlterField(
            model_name='partfitted',
            name='sort',
            field=models.CharField(choices=[('spring', 'Spring'), ('damper', 'Damper'), ('tyre', 'Tyre'), ('chain', 'Chain'), ('engine', 'Engine'), ('sprocket', 'Sprocket')], max_length=10),
        ),
        migrations.AlterField(
            model_name='runpart',
            name='sort',
            field=models.CharField(choices=[('spring', 'Spring'), ('damper', 'Damper'), ('tyre', 'Tyre'), ('chain', 'Chain'), ('engine', 'Engine'), ('sprocket', 'Sprocket')], max_length=10),
        ),
        migrations.AddIndex(
            model_name='partfitted',
            index=models.Index(fields=['part', 'sheet'], name='part_fitted_of_part'),
        ),
        migrations.AddConstraint(
            model_name='partfitted',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('sort__in', ('spring', 'damper', 'tyre')), ('spot__in', ('LF', 'RF', 'LR', 'RR'))), models.Q(('sort__in', ('chain', 'engine', 'sprocket')), ('spot', 'car')), _connector='OR'), name='part_fitted_where_it_belongs'),
        ),
        migrations.AddConstraint(
            model_name='runpart',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('sort__in', ('spring', 'damper', 'tyre')), ('spot__in', ('LF', 'RF', 'LR', 'RR'))), models.Q(('sort__in', ('chain', 'engine', 'sprocket')), ('spot', 'car')), _connector='OR'), name='run_part_where_it_belongs'),
        ),
        migrations.AddField(
            model_name='partlimit',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='partlimit',
            name='club',
            field=models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club'),
        ),
        migrations.AddField(
            model_name='partlimit',
            name='part',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='limits', to='cars.part'),
        ),
        migrations.AddField(
            model_name='partlimit',
            name='replaced_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='partlimit',
            name='team',
            field=models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddField(
            model_name='partstart',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='partstart',
            name='part',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='starts', to='cars.part'),
        ),
        migrations.AddField(
            model_name='partstart',
            name='replaced_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='partstart',
            name='team',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddIndex(
            model_name='partlimit',
            index=models.Index(fields=['team', 'id'], name='part_limit_of_team'),
        ),
        migrations.AddIndex(
            model_name='partlimit',
            index=models.Index(fields=['club', 'id'], name='part_limit_of_club'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('club__isnull', False), ('part__isnull', True), ('team__isnull', True)), models.Q(('club__isnull', True), ('team__isnull', False)), _connector='OR'), name='part_limit_of_club_or_team'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.CheckConstraint(condition=models.Q(('per__in', ['nights', 'runs', 'laps', 'hours']), ('sort__in', ['spring', 'damper', 'tyre', 'chain', 'engine', 'sprocket'])), name='part_limit_known'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.CheckConstraint(condition=models.Q(('most__gt', 0)), name='part_limit_positive'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.UniqueConstraint(condition=models.Q(('club__isnull', False), ('replaced_at__isnull', True)), fields=('club', 'sort', 'per'), name='part_limit_of_club_one_now'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.UniqueConstraint(condition=models.Q(('part__isnull', True), ('replaced_at__isnull', True), ('team__isnull', False)), fields=('team', 'sort', 'per'), name='part_limit_of_team_one_now'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.UniqueConstraint(condition=models.Q(('part__isnull', False), ('replaced_at__isnull', True)), fields=('part', 'per'), name='part_limit_of_part_one_now'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='part_limit_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=clubsetup.access.row_security.SameParent(name='part_limit_team', parent='part_id', shared='team_id', to='cars_part'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=clubsetup.access.row_security.SameParent(name='part_limit_sort', parent='part_id', shared='sort', to='cars_part'),
        ),
        migrations.AddConstraint(
            model_name='partlimit',
            constraint=clubsetup.access.row_security.RowSecurity(add='((club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR team_id = ANY ((SELECT access.crew_teams())::uuid[])) AND by_id = (SELECT access.viewer()))', change='(club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR team_id = ANY ((SELECT access.crew_teams())::uuid[]))', change_columns=('replaced_at', 'replaced_by_id'), name='part_limit', read='(club_id = ANY ((SELECT access.member_clubs())::uuid[]) OR team_id = ANY ((SELECT access.code_teams())::uuid[]))'),
        ),
        migrations.AddIndex(
            model_name='partstart',
            index=models.Index(fields=['team', 'id'], name='part_start_of_team'),
        ),
        migrations.AddConstraint(
            model_name='partstart',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('part',), name='part_start_one_now'),
        ),
        migrations.AddConstraint(
            model_name='partstart',
            constraint=models.CheckConstraint(condition=models.Q(('hours__isnull', True), ('hours__gte', 0), _connector='OR'), name='part_start_hours_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='partstart',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='part_start_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='partstart',
            constraint=clubsetup.access.row_security.SameParent(name='part_start_team', parent='part_id', shared='team_id', to='cars_part'),
        ),
        migrations.AddConstraint(
            model_name='partstart',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='part_start', read='team_id = ANY ((SELECT access.code_teams())::uuid[])'),
        ),
    ]
