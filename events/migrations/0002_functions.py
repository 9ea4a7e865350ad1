"""What crosses from one to another around an event, and no more of it than that."""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

FORWARD = f"""
-- The ballast pieces of an entered car, for officials of the club holding the event.
CREATE FUNCTION access.entered_cars() RETURNS uuid[]
  LANGUAGE sql STABLE SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$
  SELECT COALESCE(array_agg(DISTINCT e.car_id), '{{}}') FROM events_entry e
  JOIN events_event v ON v.id = e.event_id
  WHERE e.club_id = ANY (access.official_clubs()) AND e.withdrawn_at IS NULL AND v.state <> 'over' $$;
CREATE POLICY entered_car_read ON cars_ballastpiece FOR SELECT TO {APP_ROLE}
  USING (car_id = ANY ((SELECT access.entered_cars())::uuid[]));

-- What everybody in the club may see of the entries: number and display name.
CREATE FUNCTION access.start_list(given uuid)
  RETURNS TABLE (race_class text, number text, display_name text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT c.name::text, e.number::text, e.display_name::text FROM events_entry e
  JOIN events_eventclass k ON k.id = e.event_class_id JOIN teams_raceclass c ON c.id = k.race_class_id
  WHERE e.event_id = given AND e.withdrawn_at IS NULL AND e.club_id = ANY (access.member_clubs())
  ORDER BY c.name, e.number $$;

-- What the club publishes of an event, once it does: the outcome by number, no weights.
CREATE FUNCTION access.published_findings(given uuid)
  RETURNS TABLE (race_class text, number text, display_name text, rule_words text, outcome text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT c.name::text, e.number::text, e.display_name::text, f.rule_words::text, f.outcome::text
  FROM events_finding f JOIN events_entry e ON e.id = f.entry_id
  JOIN events_event v ON v.id = e.event_id
  JOIN events_eventclass k ON k.id = e.event_class_id JOIN teams_raceclass c ON c.id = k.race_class_id
  LEFT JOIN events_void d ON d.weigh_in_id = f.weigh_in_id
  WHERE v.id = given AND v.findings_published AND d.id IS NULL
    AND v.club_id = ANY (access.member_clubs())
  ORDER BY c.name, e.number, f.created_at $$;

-- Eligible or not, for an entry the viewer may see: the limits are the entry's frozen rule's and
-- not the caller's, so that a birth date cannot be found by asking. NULL: not known.
CREATE FUNCTION access.entry_age_eligible(given uuid, given_rule uuid) RETURNS boolean
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT date_part('year', age(v.starts_on, b.birth_date))
         BETWEEN COALESCE((r.parameters->>'youngest')::int, 0)
             AND COALESCE((r.parameters->>'oldest')::int, 200)
  FROM events_entry e
  JOIN events_event v ON v.id = e.event_id
  JOIN events_eventclass k ON k.id = e.event_class_id
  JOIN events_rule r ON r.rule_set_id = k.rule_set_id AND r.id = given_rule AND r.kind = 'driver_age'
  JOIN teams_driverbirth b ON b.driver_id = e.driver_id
  WHERE e.id = given AND (e.club_id = ANY (access.official_clubs())
    OR e.club_id = ANY (access.steward_clubs()) OR e.team_id = ANY (access.setup_teams())) $$;
"""


class Migration(migrations.Migration):
    dependencies = [("events", "0001_initial")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
