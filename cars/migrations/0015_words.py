"""Policies name who reads a team's sheets by the plain word."""

import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0014_found_and_set'),
        ('teams', '0013_words'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='ballastpiece',
            name='ballast_piece',
        ),
        migrations.RemoveConstraint(
            model_name='calibrationreset',
            name='calibration_reset',
        ),
        migrations.RemoveConstraint(
            model_name='car',
            name='car',
        ),
        migrations.RemoveConstraint(
            model_name='change',
            name='change',
        ),
        migrations.RemoveConstraint(
            model_name='comment',
            name='comment',
        ),
        migrations.RemoveConstraint(
            model_name='ownership',
            name='ownership',
        ),
        migrations.RemoveConstraint(
            model_name='plan',
            name='plan',
        ),
        migrations.RemoveConstraint(
            model_name='preference',
            name='preference',
        ),
        migrations.RemoveConstraint(
            model_name='reading',
            name='reading',
        ),
        migrations.RemoveConstraint(
            model_name='sheet',
            name='sheet',
        ),
        migrations.AlterField(
            model_name='sheettargetsource',
            name='sheet',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='target_source', to='cars.sheet'),
        ),
        migrations.AddConstraint(
            model_name='ballastpiece',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('car_id', 'mount_id', 'retired_at'), name='ballast_piece', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='calibrationreset',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_calibrationreset.team_id))', name='calibration_reset', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='car',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('number', 'name', 'chassis_id', 'race_class_id', 'baseline_id'), name='car', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='change',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('taken_back_at', 'taken_back_by_id'), name='change', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='comment',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.comment_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', name='comment', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='ownership',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', name='ownership', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', name='plan', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='preference',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_preference.team_id))', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='preference', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='reading', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='sheet',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND opened_by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('made_on', 'driver_id', 'track_id', 'surface', 'baseline_id', 'note', 'fuel', 'fuel_typed', 'fuel_carried', 'state', 'closed_at', 'closed_by_id'), name='sheet', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='sheettargetsource',
            constraint=models.CheckConstraint(condition=models.Q(('target__isnull', True), models.Q(('target', models.F('sheet')), _negated=True), _connector='OR'), name='target_source_is_another_sheet'),
        ),
        migrations.AddConstraint(
            model_name='sheettargetsource',
            constraint=clubsetup.access.row_security.SameParent(name='target_source_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='sheettargetsource',
            constraint=clubsetup.access.row_security.SameParent(name='target_source_own', parent='target_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='sheettargetsource',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', name='target_source', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
    ]
