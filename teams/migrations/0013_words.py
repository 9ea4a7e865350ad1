"""Policies name who reads a team's sheets by the plain word."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('teams', '0012_erasing_accounts'),
        ('access', '0013_plain_words'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='driver',
            name='driver',
        ),
        migrations.RemoveConstraint(
            model_name='team',
            name='team',
        ),
        migrations.RemoveConstraint(
            model_name='teammember',
            name='team_member',
        ),
        migrations.AddConstraint(
            model_name='driver',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('display_name',), name='driver', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='team',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='(club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR id = ANY ((SELECT access.chief_teams())::uuid[]))', change_columns=('name',), name='team', read='(club_id = ANY ((SELECT access.member_clubs())::uuid[]) OR id = ANY ((SELECT access.reader_teams())::uuid[]) OR id = ANY ((SELECT access.invited_teams())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='teammember',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR (user_id = (SELECT access.viewer()) AND (team_id, role) IN (SELECT * FROM access.team_invitations())))', change='team_id = ANY ((SELECT access.chief_teams())::uuid[])', change_columns=('role',), name='team_member', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR user_id = (SELECT access.viewer()))', remove='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR user_id = (SELECT access.viewer()))'),
        ),
    ]
