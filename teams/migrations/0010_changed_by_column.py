"""Of a row only what the service changes may change; an invitation once used or withdrawn stays so."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('teams', '0009_second_factors_and_lost_tablets'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='club',
            name='club',
        ),
        migrations.RemoveConstraint(
            model_name='coachlink',
            name='coach_link',
        ),
        migrations.RemoveConstraint(
            model_name='driver',
            name='driver',
        ),
        migrations.RemoveConstraint(
            model_name='driverbirth',
            name='driver_birth',
        ),
        migrations.RemoveConstraint(
            model_name='invitation',
            name='invitation',
        ),
        migrations.RemoveConstraint(
            model_name='raceclass',
            name='race_class',
        ),
        migrations.RemoveConstraint(
            model_name='track',
            name='track',
        ),
        migrations.AddConstraint(
            model_name='club',
            constraint=clubsetup.access.row_security.RowSecurity(add='founder_id = (SELECT access.viewer())', change='id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('preferred_units', 'time_zone', 'official_idle_minutes', 'asks_second_factor'), name='club', read='(id = ANY ((SELECT access.member_clubs())::uuid[]) OR id = ANY ((SELECT access.invited_clubs())::uuid[]) OR founder_id = (SELECT access.viewer()))'),
        ),
        migrations.AddConstraint(
            model_name='coachlink',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.chief_teams())::uuid[])', change='team_id = ANY ((SELECT access.chief_teams())::uuid[])', change_columns=('may_write', 'may_see_codes'), name='coach_link', read='(team_id = ANY ((SELECT access.member_teams())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR coach_id = (SELECT access.viewer()))', remove='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR coach_id = (SELECT access.viewer()))'),
        ),
        migrations.AddConstraint(
            model_name='driver',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('display_name',), name='driver', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='driverbirth',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('birth_date',), name='driver_birth', read='team_id = ANY ((SELECT access.crew_teams())::uuid[])', remove='team_id = ANY ((SELECT access.crew_teams())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='invitation',
            constraint=clubsetup.access.row_security.RowSecurity(add='(invited_by_id = (SELECT access.viewer()) AND ((team_id IS NOT NULL AND team_id = ANY ((SELECT access.chief_teams())::uuid[])) OR (club_id = ANY ((SELECT access.steward_clubs())::uuid[]) AND (team_id IS NULL OR NOT access.has_chief(team_id)))))', change='(accepted_at IS NULL AND withdrawn_at IS NULL AND (club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR digest = (SELECT access.shown_invitation())))', change_columns=('accepted_at', 'accepted_by_id', 'withdrawn_at'), change_to='((digest = (SELECT access.shown_invitation()) AND accepted_by_id = (SELECT access.viewer()) AND withdrawn_at IS NULL) OR ((club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR team_id = ANY ((SELECT access.chief_teams())::uuid[])) AND accepted_at IS NULL))', name='invitation', read='(club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR digest = (SELECT access.shown_invitation()))'),
        ),
        migrations.AddConstraint(
            model_name='raceclass',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', name='race_class', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='track',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('name', 'surface', 'corner_radius', 'lap_length', 'banking', 'typed'), name='track', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
    ]
