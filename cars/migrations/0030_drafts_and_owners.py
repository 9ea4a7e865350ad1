"""A draft of suggestions is thrown away, and no run is older than the team's time with the car."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations

FORWARD = """
-- The day from which a team of the viewer's had a car that another team had on the day given;
-- nothing where the day is its own, or older than all that is known of the car.
CREATE FUNCTION access.had_only_since(given_car uuid, given_team uuid, given_day date) RETURNS date
  LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF given_team <> ALL (access.reader_teams())
    OR EXISTS (SELECT FROM cars_ownership WHERE car_id = given_car AND team_id = given_team
      AND since <= given_day AND (until IS NULL OR until >= given_day))
    OR (SELECT o.team_id FROM cars_ownership o WHERE o.car_id = given_car
      AND NOT EXISTS (SELECT FROM cars_ownership n WHERE n.car_id = given_car
        AND n.since <= given_day) ORDER BY o.since, o.until, o.created_at LIMIT 1) = given_team
  THEN RETURN NULL; END IF;
  RETURN (SELECT min(since) FROM cars_ownership
    WHERE car_id = given_car AND team_id = given_team AND since > given_day);
END $$;
"""
BACK = "DROP FUNCTION access.had_only_since(uuid, uuid, date)"


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0029_school_days'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunSQL(FORWARD, BACK),
        migrations.RemoveConstraint(
            model_name='suggestiontable',
            name='suggestion_table',
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=clubsetup.access.row_security.RowSecurity(add='((team_id IS NULL AND coach_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND coach_id IS NULL) OR (coach_id = (SELECT access.viewer()) AND team_id IS NULL AND club_id = ANY ((SELECT access.coach_clubs())::uuid[])))', change='((team_id IS NULL AND coach_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND coach_id IS NULL) OR (coach_id = (SELECT access.viewer()) AND team_id IS NULL AND club_id = ANY ((SELECT access.coach_clubs())::uuid[])))', change_columns=('state', 'note', 'published_at', 'published_by_id'), name='suggestion_table', read="((team_id IS NULL AND coach_id IS NULL AND (club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR (club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND state <> 'draft'))) OR team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR coach_id = (SELECT access.viewer()) OR id = ANY ((SELECT access.coached_tables())::uuid[]))", remove="(state = 'draft' AND ((team_id IS NULL AND coach_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND coach_id IS NULL) OR (coach_id = (SELECT access.viewer()) AND team_id IS NULL AND club_id = ANY ((SELECT access.coach_clubs())::uuid[]))))"),
        ),
    ]
