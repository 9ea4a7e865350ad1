"""The age rule as it is declared, and no word of a child in what is published."""

from django.db import migrations

FORWARD = """
-- Eligible or not, for an entry the viewer may see: the limits are the entry's frozen rule's and
-- not the caller's, so that a birth date cannot be found by asking. NULL: not known. The same
-- arithmetic as events.rules.driver: so many years before the day, 29 February counting as 28.
CREATE OR REPLACE FUNCTION access.entry_age_eligible(given uuid, given_rule uuid) RETURNS boolean
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT (r.parameters->>'at_least' IS NULL
          OR b.birth_date <= d.day - make_interval(years => (r.parameters->>'at_least')::int))
     AND (r.parameters->>'at_most' IS NULL
          OR b.birth_date > d.day - make_interval(years => (r.parameters->>'at_most')::int + 1))
  FROM events_entry e
  JOIN events_event v ON v.id = e.event_id
  JOIN events_eventclass k ON k.id = e.event_class_id
  JOIN events_rule r ON r.rule_set_id = k.rule_set_id AND r.id = given_rule AND r.kind = 'driver_age'
  JOIN teams_driverbirth b ON b.driver_id = e.driver_id
  CROSS JOIN LATERAL (SELECT CASE r.parameters->>'reckoned'
      WHEN 'year_start' THEN make_date(date_part('year', v.starts_on)::int, 1, 1)
      WHEN 'year_end' THEN make_date(date_part('year', v.starts_on)::int, 12, 31)
      ELSE v.starts_on END AS day) d
  WHERE e.id = given AND (e.club_id = ANY (access.official_clubs())
    OR e.club_id = ANY (access.steward_clubs()) OR e.team_id = ANY (access.setup_teams())) $$;

-- The finding of every entry that stands: the newest batch. Superseded ones are not published, nor
-- is what the rules say of a child.
CREATE OR REPLACE FUNCTION access.published_findings(given uuid)
  RETURNS TABLE (race_class text, number text, display_name text, rule_words text, outcome text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT c.name::text, e.number::text, e.display_name::text, f.rule_words::text, f.outcome::text
  FROM events_entry e JOIN events_event v ON v.id = e.event_id
  JOIN events_eventclass k ON k.id = e.event_class_id JOIN teams_raceclass c ON c.id = k.race_class_id
  JOIN events_finding f ON f.entry_id = e.id AND f.batch =
    (SELECT n.batch FROM events_finding n WHERE n.entry_id = e.id ORDER BY n.batch DESC LIMIT 1)
  JOIN events_rule r ON r.id = f.rule_id
  WHERE v.id = given AND r.kind NOT IN ('driver_age', 'driver_weight_band')
    AND v.findings_published AND v.club_id = ANY (access.member_clubs())
  ORDER BY c.name, e.number, r.order $$;
"""


class Migration(migrations.Migration):
    dependencies = [("events", "0004_looked_again")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
