"""Policies name who reads a team's sheets by the plain word."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0015_words'),
        ('events', '0022_erasing_drivers'),
        ('teams', '0013_words'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='ballastcheck',
            name='ballast_check',
        ),
        migrations.RemoveConstraint(
            model_name='ballastphoto',
            name='ballast_photo',
        ),
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry',
        ),
        migrations.RemoveConstraint(
            model_name='finding',
            name='finding',
        ),
        migrations.RemoveConstraint(
            model_name='techreading',
            name='tech_reading',
        ),
        migrations.RemoveConstraint(
            model_name='void',
            name='void',
        ),
        migrations.RemoveConstraint(
            model_name='weighin',
            name='weigh_in',
        ),
        migrations.AddConstraint(
            model_name='ballastcheck',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='ballast_check', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='ballastphoto',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='ballast_photo', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=clubsetup.access.row_security.RowSecurity(add='((team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND driver_id IS NOT NULL AND confirmed_at IS NOT NULL AND confirmed_by_id = (SELECT access.viewer())) OR ((club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[])) AND team_id = ANY ((SELECT access.walk_in_teams())::uuid[]) AND driver_id IS NULL AND confirmed_at IS NULL AND confirmed_by_id IS NULL))', change='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))', change_columns=('number', 'withdrawn_at'), name='entry', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='finding',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='finding', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='techreading',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='tech_reading', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='void',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='void', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='weighin',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='weigh_in', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
    ]
