"""What stands at an event: findings in batches, frozen rules, official records in their maker's name."""

import clubsetup.access.ids
import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations, models

BEFORE = """
-- Teams at home in a club where the viewer is an official or a steward.
CREATE FUNCTION access.tended_teams() RETURNS uuid[]
  LANGUAGE sql STABLE SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$
  SELECT COALESCE(array_agg(id), '{}') FROM teams_team
  WHERE club_id = ANY (access.official_clubs()) OR club_id = ANY (access.steward_clubs()) $$;
"""

AFTER = """
-- The club's events that take entries and where the viewer may enter a car by hand.
CREATE FUNCTION access.may_enter_by_hand(given_event uuid) RETURNS uuid
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT club_id FROM events_event WHERE id = given_event AND state <> 'over'
    AND (club_id = ANY (access.official_clubs()) OR club_id = ANY (access.steward_clubs())) $$;

-- To enter a car that stands at the scales without an entry an official says its number; they see
-- which of the club's teams have a car of that number, and of the car nothing more.
CREATE FUNCTION access.cars_by_number(given_event uuid, given_number text)
  RETURNS TABLE (car_id uuid, team_id uuid, team text, number text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT c.id, t.id, t.name::text, c.number::text FROM cars_car c JOIN teams_team t ON t.id = c.team_id
  WHERE t.club_id = access.may_enter_by_hand(given_event) AND upper(c.number) = upper(given_number)
  ORDER BY t.name $$;

-- And the display names of the drivers of that car's team, as they would stand on the start list.
CREATE FUNCTION access.drivers_for_car(given_event uuid, given_car uuid)
  RETURNS TABLE (driver_id uuid, display_name text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT d.id, d.display_name::text FROM cars_car c JOIN teams_team t ON t.id = c.team_id
  JOIN teams_driver d ON d.team_id = t.id
  WHERE t.club_id = access.may_enter_by_hand(given_event) AND c.id = given_car
  ORDER BY d.display_name $$;

-- The finding of every entry that stands: the newest batch. Superseded ones are not published.
CREATE OR REPLACE FUNCTION access.published_findings(given uuid)
  RETURNS TABLE (race_class text, number text, display_name text, rule_words text, outcome text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT c.name::text, e.number::text, e.display_name::text, f.rule_words::text, f.outcome::text
  FROM events_entry e JOIN events_event v ON v.id = e.event_id
  JOIN events_eventclass k ON k.id = e.event_class_id JOIN teams_raceclass c ON c.id = k.race_class_id
  JOIN events_finding f ON f.entry_id = e.id AND f.batch =
    (SELECT n.batch FROM events_finding n WHERE n.entry_id = e.id ORDER BY n.batch DESC LIMIT 1)
  JOIN events_rule r ON r.id = f.rule_id
  WHERE v.id = given AND v.findings_published AND v.club_id = ANY (access.member_clubs())
  ORDER BY c.name, e.number, r.order $$;

-- A published version's rules, date and decision stay; it may only be retired.
CREATE FUNCTION access.refuse_on_published_rules() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  -- The lock makes a change of rules and the publishing of their version wait for each other.
  IF (SELECT state FROM events_ruleset
      WHERE id = COALESCE(NEW.rule_set_id, OLD.rule_set_id) FOR SHARE) <> 'draft' THEN
    RAISE EXCEPTION 'these rules are published'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'rules_are_published';
  END IF;
  RETURN COALESCE(NEW, OLD);
END $$;
CREATE TRIGGER rules_are_published BEFORE INSERT OR UPDATE OR DELETE ON events_rule
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_published_rules();

CREATE FUNCTION access.refuse_changed_rule_set() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'these rules are published'
    USING ERRCODE = 'check_violation', CONSTRAINT = 'rules_are_published';
END $$;
CREATE TRIGGER rules_are_published BEFORE UPDATE ON events_ruleset
  FOR EACH ROW WHEN (
    OLD.state = 'retired'
    OR (OLD.state = 'published' AND (NEW.state <> 'retired'
      OR ROW(NEW.valid_from, NEW.decision, NEW.published_at, NEW.published_by_id)
         IS DISTINCT FROM ROW(OLD.valid_from, OLD.decision, OLD.published_at, OLD.published_by_id))))
  EXECUTE FUNCTION access.refuse_changed_rule_set();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0002_guards'),
        ('events', '0002_functions'),
        ('teams', '0002_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunSQL(BEFORE, migrations.RunSQL.noop),
        migrations.AlterModelOptions(
            name='finding',
            options={'ordering': ['batch', 'rule__order']},
        ),
        migrations.RemoveConstraint(
            model_name='ballastcheck',
            name='ballast_check',
        ),
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry_number_once_a_class',
        ),
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry_car_once_a_class',
        ),
        migrations.RemoveConstraint(
            model_name='entry',
            name='entry',
        ),
        migrations.RemoveConstraint(
            model_name='eventclass',
            name='event_class',
        ),
        migrations.RemoveConstraint(
            model_name='finding',
            name='finding',
        ),
        migrations.RemoveConstraint(
            model_name='ruleset',
            name='rule_set',
        ),
        migrations.RemoveConstraint(
            model_name='void',
            name='void',
        ),
        migrations.RemoveConstraint(
            model_name='weighin',
            name='weigh_in',
        ),
        migrations.AddField(
            model_name='finding',
            name='batch',
            field=models.UUIDField(default=clubsetup.access.ids.new_id),
        ),
        migrations.AddField(
            model_name='scaleset',
            name='pads',
            field=models.PositiveSmallIntegerField(choices=[(4, 'Four pads'), (1, 'One platform')], default=4),
        ),
        migrations.AddConstraint(
            model_name='ballastcheck',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='ballast_check', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=models.UniqueConstraint(condition=models.Q(('withdrawn_at__isnull', True)), fields=('event_class', 'number'), name='entry_number_once_a_class'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=models.UniqueConstraint(condition=models.Q(('withdrawn_at__isnull', True)), fields=('event_class', 'car'), name='entry_car_once_a_class'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=clubsetup.access.row_security.RowSecurity(add='((team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND club_id = ANY ((SELECT access.member_clubs())::uuid[])) OR ((club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[])) AND team_id = ANY ((SELECT access.tended_teams())::uuid[])))', change='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))', change_columns=('number', 'display_name', 'withdrawn_at'), name='entry', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='eventclass',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', name='event_class', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])', remove='club_id = ANY ((SELECT access.steward_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='finding',
            constraint=models.UniqueConstraint(fields=('batch', 'rule'), name='finding_rule_once_a_batch'),
        ),
        migrations.AddConstraint(
            model_name='finding',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='finding', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='ruleset',
            constraint=clubsetup.access.row_security.RowSecurity(add='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change='club_id = ANY ((SELECT access.steward_clubs())::uuid[])', change_columns=('valid_from', 'decision', 'state', 'published_at', 'published_by_id'), name='rule_set', read='club_id = ANY ((SELECT access.member_clubs())::uuid[])'),
        ),
        migrations.AddConstraint(
            model_name='scaleset',
            constraint=models.CheckConstraint(condition=models.Q(('pads__in', [1, 4])), name='scale_set_pads_known'),
        ),
        migrations.AddConstraint(
            model_name='void',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='void', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='weighin',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='weigh_in', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
        migrations.RunSQL(AFTER, migrations.RunSQL.noop),
    ]
