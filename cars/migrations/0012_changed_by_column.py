"""Of a row only what the service changes may change."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0011_teams_that_race'),
        ('teams', '0010_changed_by_column'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='ballastmount',
            name='ballast_mount',
        ),
        migrations.RemoveConstraint(
            model_name='ballastpiece',
            name='ballast_piece',
        ),
        migrations.RemoveConstraint(
            model_name='baseline',
            name='baseline',
        ),
        migrations.RemoveConstraint(
            model_name='baselinevalue',
            name='baseline_value',
        ),
        migrations.RemoveConstraint(
            model_name='car',
            name='car',
        ),
        migrations.RemoveConstraint(
            model_name='chassis',
            name='chassis',
        ),
        migrations.RemoveConstraint(
            model_name='ownership',
            name='ownership',
        ),
        migrations.RemoveConstraint(
            model_name='part',
            name='part',
        ),
        migrations.RemoveConstraint(
            model_name='partcode',
            name='part_code',
        ),
        migrations.RemoveConstraint(
            model_name='sheet',
            name='sheet',
        ),
        migrations.AddConstraint(
            model_name='ballastmount',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', name='ballast_mount', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='ballastpiece',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('car_id', 'mount_id', 'retired_at'), name='ballast_piece', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='baseline',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('state', 'note', 'published_at', 'published_by_id'), name='baseline', read="(club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR (club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND state <> 'draft'))"),
        ),
        migrations.AddConstraint(
            model_name='baselinevalue',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('target', 'tolerance', 'target_typed', 'tolerance_typed', 'where', 'source', 'source_note'), name='baseline_value', read='(club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND EXISTS (SELECT FROM cars_baseline b WHERE b.id = baseline_id))', remove='club_id = ANY ((SELECT access.steward_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='car',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('number', 'name', 'chassis_id', 'race_class_id', 'baseline_id'), name='car', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='chassis',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('name', 'geometry', 'note'), name='chassis', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='ownership',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', name='ownership', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='part',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', name='part', read='team_id = ANY ((SELECT access.code_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='partcode',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('code', 'note'), name='part_code', read='team_id = ANY ((SELECT access.code_teams())::uuid[])', remove='team_id = ANY ((SELECT access.crew_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='sheet',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND opened_by_id = (SELECT access.viewer()))', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('made_on', 'driver_id', 'track_id', 'surface', 'baseline_id', 'note', 'fuel', 'fuel_typed', 'fuel_carried', 'state', 'closed_at', 'closed_by_id'), name='sheet', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
    ]
