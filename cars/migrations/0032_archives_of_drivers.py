"""Archives of a team, prints of a car and comparisons show a driver too: erasing removes them."""

from django.db import migrations

FORWARD = """
CREATE OR REPLACE FUNCTION access.subjects_of_driver(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT ARRAY(SELECT id FROM events_entry WHERE driver_id = given
    UNION SELECT event_id FROM events_entry WHERE driver_id = given
    UNION SELECT id FROM cars_sheet WHERE team_id = given_team
    UNION SELECT id FROM cars_car WHERE team_id = given_team
    UNION SELECT c.id FROM cars_comparison c WHERE EXISTS (
      SELECT FROM cars_sheet s WHERE s.team_id = given_team AND s.id = ANY (c.sheets))
    UNION SELECT given_team) $$;
"""
BACK = """
CREATE OR REPLACE FUNCTION access.subjects_of_driver(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT ARRAY(SELECT id FROM events_entry WHERE driver_id = given
    UNION SELECT event_id FROM events_entry WHERE driver_id = given
    UNION SELECT id FROM cars_sheet WHERE team_id = given_team) $$;
"""


class Migration(migrations.Migration):
    dependencies = [("cars", "0024_advice"), ("events", "0022_erasing_drivers")]
    operations = [migrations.RunSQL(FORWARD, BACK)]
