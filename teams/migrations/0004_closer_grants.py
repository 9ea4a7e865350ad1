"""A team stays in its club and a membership its person's: only a name and a role change.

A chief could otherwise take the team, with everybody in it, into a club that asked nobody.
"""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('teams', '0003_invitations_of_the_club'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='team',
            name='team',
        ),
        migrations.RemoveConstraint(
            model_name='teammember',
            name='team_member',
        ),
        migrations.AddConstraint(
            model_name='team',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='(club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR id = ANY ((SELECT access.chief_teams())::uuid[]))', change_columns=('name',), name='team', read='(club_id = ANY ((SELECT access.member_clubs())::uuid[]) OR id = ANY ((SELECT access.setup_teams())::uuid[]) OR id = ANY ((SELECT access.invited_teams())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='teammember',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR (user_id = (SELECT access.viewer()) AND (team_id, role) IN (SELECT * FROM access.team_invitations())))', change='team_id = ANY ((SELECT access.chief_teams())::uuid[])', change_columns=('role',), name='team_member', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR user_id = (SELECT access.viewer()))', remove='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR user_id = (SELECT access.viewer()))'),
        ),
    ]
