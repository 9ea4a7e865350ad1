"""Of a row only what the service changes may change."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0012_changed_by_column'),
        ('events', '0018_confirmed_entries'),
        ('teams', '0010_changed_by_column'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry',
        ),
        migrations.RemoveConstraint(
            model_name='event',
            name='event',
        ),
        migrations.RemoveConstraint(
            model_name='rule',
            name='rule',
        ),
        migrations.RemoveConstraint(
            model_name='scaleset',
            name='scale_set',
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=clubsetup.access.row_security.RowSecurity(add='((team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND driver_id IS NOT NULL AND confirmed_at IS NOT NULL AND confirmed_by_id = (SELECT access.viewer())) OR ((club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[])) AND team_id = ANY ((SELECT access.tended_teams())::uuid[]) AND driver_id IS NULL AND confirmed_at IS NULL AND confirmed_by_id IS NULL))', change='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))', change_columns=('number', 'withdrawn_at'), name='entry', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='event',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('state', 'findings_published'), name='event', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='rule',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('parameters',), name='rule', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])', remove='club_id = ANY ((SELECT access.steward_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='scaleset',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('apply_corrections',), name='scale_set', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
    ]
