"""A car goes to its next owner, with the history that the giver chooses."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.contrib.postgres.fields
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from clubsetup.runtime.addresses import APP_ROLE

SHARED = "LANGUAGE plpgsql {} SECURITY DEFINER SET search_path = public, pg_temp"
STABLE, VOLATILE = SHARED.format("STABLE"), SHARED.format("VOLATILE")
WAS = (
    "(SELECT o.{} FROM public.cars_ownership o WHERE o.car_id = c.id AND o.until IS NOT NULL"
    " AND o.team_id = ANY ((SELECT access.reader_teams())::uuid[])"
    " ORDER BY o.until DESC, o.id DESC LIMIT 1)"
)
MINE = "c.team_id = ANY ((SELECT access.reader_teams())::uuid[])"
DESCRIBED = {
    "number": "varchar(6)",
    "name": "varchar(40)",
    "chassis_id": "uuid",
    "race_class_id": "uuid",
    "baseline_id": "uuid",
}
COLUMNS = ", ".join(
    f"(CASE WHEN {MINE} THEN c.{column} ELSE {WAS.format(column)} END)::{kind} AS {column}"
    for column, kind in DESCRIBED.items()
)

FORMER = f"""
-- Cars that a team of the viewer had once.
CREATE FUNCTION access.former_cars() RETURNS uuid[] {STABLE} PARALLEL SAFE AS $$
BEGIN
  RETURN ARRAY(SELECT car_id FROM cars_ownership
    WHERE until IS NOT NULL AND team_id = ANY (access.reader_teams()));
END $$;

-- Whether a car is in an event that is not over; events says so.
CREATE FUNCTION access.is_entered(given uuid) RETURNS boolean
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$ SELECT false $$;
REVOKE EXECUTE ON FUNCTION access.is_entered(uuid) FROM PUBLIC;
"""

FUNCTIONS = f"""
-- The role finds a car under the table's name in the schema it looks into first: as it is for the
-- team that has it, and as it was when it went for those that had it. The policies are the table's.
CREATE VIEW shown.cars_car WITH (security_invoker = true) AS
  SELECT c.id, c.created_at, c.team_id, {COLUMNS} FROM public.cars_car c;
GRANT SELECT, INSERT, UPDATE ({", ".join(DESCRIBED)}) ON shown.cars_car TO {APP_ROLE};

CREATE FUNCTION access.add_car() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO public.cars_car
    (id, created_at, team_id, number, name, chassis_id, race_class_id, baseline_id)
  VALUES (NEW.id, NEW.created_at, NEW.team_id, NEW.number, NEW.name, NEW.chassis_id,
    NEW.race_class_id, NEW.baseline_id);
  RETURN NEW;
END $$;
CREATE TRIGGER add_car INSTEAD OF INSERT ON shown.cars_car
  FOR EACH ROW EXECUTE FUNCTION access.add_car();
CREATE FUNCTION access.change_car() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE public.cars_car SET number = NEW.number, name = NEW.name, chassis_id = NEW.chassis_id,
    race_class_id = NEW.race_class_id, baseline_id = NEW.baseline_id WHERE id = OLD.id;
  IF NOT FOUND THEN RETURN NULL; END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER change_car INSTEAD OF UPDATE ON shown.cars_car
  FOR EACH ROW EXECUTE FUNCTION access.change_car();

-- What whoever holds the code is offered. It tells a chief alone, and of nothing but the code.
CREATE FUNCTION access.offered_handover(given_digest text)
  RETURNS TABLE (id uuid, package jsonb, expires_at timestamptz) {STABLE} AS $$
BEGIN
  IF cardinality(access.chief_teams()) = 0 THEN RETURN; END IF;
  RETURN QUERY SELECT h.id, h.package, h.expires_at FROM cars_handover h
    WHERE h.digest = given_digest AND h.taken_at IS NULL AND h.withdrawn_at IS NULL
      AND h.expires_at > access.server_now();
END $$;

-- Moves the car to a team of which the viewer is chief. Returns '' or why not.
CREATE FUNCTION access.take_car(given_digest text, given_team uuid, given_day date,
    new_number text, new_name text, new_chassis uuid, new_class uuid)
  RETURNS text {VOLATILE} AS $$
DECLARE
  offer cars_handover;
  its cars_car;
BEGIN
  IF given_team IS NULL OR NOT given_team = ANY (access.chief_teams()) THEN
    RETURN 'not-chief';
  END IF;
  SELECT * INTO offer FROM cars_handover WHERE digest = given_digest FOR UPDATE;
  IF NOT FOUND OR offer.taken_at IS NOT NULL OR offer.withdrawn_at IS NOT NULL
    OR offer.expires_at <= access.server_now() THEN
    RETURN 'gone';
  END IF;
  SELECT * INTO its FROM cars_car WHERE id = offer.car_id FOR UPDATE;
  IF its.team_id <> offer.team_id THEN RETURN 'gone'; END IF;
  IF its.team_id = given_team THEN RETURN 'own'; END IF;
  -- Whoever offered it may have left the team since.
  IF NOT EXISTS (SELECT FROM teams_teammember WHERE team_id = offer.team_id
      AND user_id = offer.by_id AND role = 'chief') THEN
    RETURN 'gone';
  END IF;
  IF EXISTS (SELECT FROM cars_sheet WHERE car_id = its.id AND team_id = its.team_id AND state = 'open') THEN
    RETURN 'open-sheet';
  END IF;
  IF access.is_entered(its.id) THEN RETURN 'entered'; END IF;
  IF NOT EXISTS (SELECT FROM cars_chassis c JOIN teams_team t ON t.club_id = c.club_id
      WHERE c.id = new_chassis AND t.id = given_team) THEN
    RETURN 'chassis';
  END IF;
  IF new_class IS NOT NULL AND NOT EXISTS (SELECT FROM teams_raceclass c JOIN teams_team t
      ON t.club_id = c.club_id WHERE c.id = new_class AND t.id = given_team) THEN
    RETURN 'race-class';
  END IF;
  IF EXISTS (SELECT FROM cars_car WHERE team_id = given_team AND upper(number) = upper(new_number)) THEN
    RETURN 'number';
  END IF;
  UPDATE cars_ownership SET until = greatest(since, given_day), number = its.number, name = its.name,
    chassis_id = its.chassis_id, race_class_id = its.race_class_id, baseline_id = its.baseline_id
    WHERE car_id = its.id AND until IS NULL;
  -- The giver's ballast is the giver's: it goes on the shelf.
  UPDATE cars_ballastpiece SET car_id = NULL, mount_id = NULL WHERE car_id = its.id;
  UPDATE cars_car SET team_id = given_team, number = new_number, name = new_name,
    chassis_id = new_chassis, race_class_id = new_class, baseline_id = NULL WHERE id = its.id;
  INSERT INTO cars_ownership (id, created_at, car_id, team_id, since, until, number, name)
    VALUES (access.new_id(), now(), its.id, given_team, given_day, NULL, '', '');
  UPDATE cars_handover SET taken_at = now(), taken_by_id = access.viewer(), to_team_id = given_team,
    to_name = (SELECT name FROM teams_team WHERE id = given_team),
    taken_as = (SELECT to_jsonb(c) FROM cars_car c WHERE c.id = its.id)
    WHERE id = offer.id;
  RETURN '';
END $$;

-- The same for a chief of the team that has the car, and of no other car.
CREATE FUNCTION access.own_car_is_entered(given uuid) RETURNS boolean {STABLE} AS $$
BEGIN
  RETURN EXISTS (SELECT FROM cars_car WHERE id = given AND team_id = ANY (access.chief_teams()))
    AND access.is_entered(given);
END $$;

-- Whether the team that took the car has written since: on the car, or on what came with it.
CREATE FUNCTION access.has_written_since(offer cars_handover) RETURNS boolean {STABLE} AS $$
DECLARE
  copies uuid[] := ARRAY(SELECT sheet_id FROM cars_handedsheet WHERE handover_id = offer.id);
BEGIN
  RETURN NOT EXISTS (SELECT FROM cars_car c WHERE c.id = offer.car_id AND to_jsonb(c) = offer.taken_as)
    OR EXISTS (SELECT FROM cars_sheet WHERE car_id = offer.car_id AND team_id = offer.to_team_id
      AND id <> ALL (copies))
    OR EXISTS (SELECT FROM cars_run WHERE car_id = offer.car_id AND team_id = offer.to_team_id)
    OR EXISTS (SELECT FROM cars_owntarget WHERE car_id = offer.car_id AND team_id = offer.to_team_id)
    OR EXISTS (SELECT FROM cars_calibrationreset WHERE car_id = offer.car_id AND team_id = offer.to_team_id)
    OR EXISTS (SELECT FROM cars_advice WHERE car_id = offer.car_id AND team_id = offer.to_team_id)
    OR EXISTS (SELECT FROM cars_ballastpiece WHERE car_id = offer.car_id)
    OR EXISTS (SELECT FROM cars_handover WHERE car_id = offer.car_id AND team_id = offer.to_team_id)
    OR EXISTS (SELECT FROM cars_comment WHERE sheet_id = ANY (copies))
    OR access.is_entered(offer.car_id);
END $$;
REVOKE EXECUTE ON FUNCTION access.has_written_since(cars_handover) FROM PUBLIC;

-- Undoes it for the giver, copies and all. Returns '' or why not.
CREATE FUNCTION access.take_car_back(given uuid) RETURNS text {VOLATILE} AS $$
DECLARE
  offer cars_handover;
  was cars_ownership;
  copies uuid[];
BEGIN
  SELECT * INTO offer FROM cars_handover
    WHERE id = given AND team_id = ANY (access.chief_teams()) FOR UPDATE;
  IF NOT FOUND THEN RETURN 'not-chief'; END IF;
  IF offer.taken_at IS NULL OR offer.taken_back_at IS NOT NULL THEN RETURN 'not-taken'; END IF;
  PERFORM FROM cars_car WHERE id = offer.car_id FOR UPDATE;
  IF access.has_written_since(offer) THEN RETURN 'written'; END IF;
  SELECT * INTO was FROM cars_ownership WHERE car_id = offer.car_id AND team_id = offer.team_id
    AND until IS NOT NULL ORDER BY until DESC, id DESC LIMIT 1 FOR UPDATE;
  IF EXISTS (SELECT FROM cars_car WHERE team_id = offer.team_id AND upper(number) = upper(was.number)) THEN
    RETURN 'number';
  END IF;
  copies := ARRAY(SELECT sheet_id FROM cars_handedsheet WHERE handover_id = offer.id);
  BEGIN
    -- Whatever else hangs on a copy was written by the receiver, and its key refuses this.
    SET CONSTRAINTS ALL IMMEDIATE;
    PERFORM access.remove_prints(ARRAY(SELECT id FROM printing_printjob
      WHERE subject_id = ANY (copies || offer.car_id) AND asked_by_id IN
        (SELECT user_id FROM teams_teammember WHERE team_id = offer.to_team_id)));
    DELETE FROM cars_handedsheet WHERE handover_id = offer.id;
    DELETE FROM cars_closedfigures WHERE sheet_id = ANY (copies);
    DELETE FROM cars_reading WHERE sheet_id = ANY (copies);
    DELETE FROM cars_change WHERE sheet_id = ANY (copies);
    DELETE FROM cars_sheet WHERE id = ANY (copies);
  EXCEPTION WHEN foreign_key_violation THEN
    RETURN 'written';
  END;
  DELETE FROM cars_ownership WHERE car_id = offer.car_id AND team_id = offer.to_team_id AND until IS NULL;
  UPDATE cars_car SET team_id = offer.team_id, number = was.number, name = was.name,
    chassis_id = was.chassis_id, race_class_id = was.race_class_id, baseline_id = was.baseline_id
    WHERE id = offer.car_id;
  UPDATE cars_ownership SET until = NULL, number = '', name = '', chassis_id = NULL,
    race_class_id = NULL, baseline_id = NULL WHERE id = was.id;
  UPDATE cars_handover SET taken_back_at = now() WHERE id = offer.id;
  RETURN '';
END $$;
"""

# A driver who is erased is erased from what was handed over with a car too.
ERASING = """
DO $do$ BEGIN
  EXECUTE replace(pg_get_functiondef('access.erase_driver(uuid)'::regprocedure),
    'UPDATE cars_sheet SET driver_id = NULL WHERE driver_id = given;', $sql$UPDATE cars_handedsheet
    SET content = content - ARRAY['driver', 'shares', 'ballast', 'car_alone']
    WHERE source IN (SELECT id FROM cars_sheet WHERE driver_id = given);
  UPDATE cars_handedsheet SET content = access.json_without_name(content, driver.display_name)
    WHERE source IN (SELECT id FROM cars_sheet WHERE team_id = driver.team_id);
  UPDATE cars_handover h SET withdrawn_at = CASE WHEN taken_at IS NULL THEN COALESCE(withdrawn_at, now()) END,
    package = access.json_without_name(jsonb_set(package, '{sheets}', COALESCE((
      SELECT jsonb_agg(CASE WHEN (one ->> 'source')::uuid IN (SELECT id FROM cars_sheet WHERE driver_id = given)
        THEN one - ARRAY['driver', 'shares', 'ballast', 'car_alone'] ELSE one END ORDER BY place)
      FROM jsonb_array_elements(package -> 'sheets') WITH ORDINALITY AS each (one, place)), '[]')),
      driver.display_name)
    WHERE team_id = driver.team_id;
  UPDATE cars_ownership SET name = access.without_name(name, driver.display_name, 40)
    WHERE team_id = driver.team_id AND name <> access.without_name(name, driver.display_name, 40);
  UPDATE cars_sheet SET driver_id = NULL WHERE driver_id = given;$sql$);
  EXECUTE replace(pg_get_functiondef('access.subjects_of_driver(uuid, uuid)'::regprocedure),
    'SELECT id FROM cars_sheet WHERE team_id = given_team', $sql$SELECT id FROM cars_sheet WHERE team_id = given_team
    UNION SELECT h.sheet_id FROM cars_handedsheet h JOIN cars_sheet s ON s.id = h.source
      WHERE s.team_id = given_team$sql$);
END $do$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0025_parts_life'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunSQL(FORMER),
        migrations.CreateModel(
            name='HandedSheet',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('source', models.UUIDField()),
                ('content', models.JSONField()),
            ],
        ),
        migrations.CreateModel(
            name='Handover',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('history', models.CharField(choices=[('all', 'All closed sheets'), ('set', 'Sheets as set only'), ('none', 'None')], max_length=4)),
                ('ticked', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(max_length=60), blank=True, default=list, size=None)),
                ('package', models.JSONField()),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('expires_at', models.DateTimeField()),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                ('taken_at', models.DateTimeField(blank=True, null=True)),
                ('to_name', models.CharField(blank=True, max_length=80)),
                ('taken_as', models.JSONField(blank=True, default=dict)),
                ('taken_back_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='car',
            name='car',
        ),
        migrations.AddField(
            model_name='ownership',
            name='baseline',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.baseline'),
        ),
        migrations.AddField(
            model_name='ownership',
            name='chassis',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.chassis'),
        ),
        migrations.AddField(
            model_name='ownership',
            name='name',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='ownership',
            name='number',
            field=models.CharField(blank=True, max_length=6),
        ),
        migrations.AddField(
            model_name='ownership',
            name='race_class',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.raceclass'),
        ),
        migrations.AddConstraint(
            model_name='car',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('number', 'name', 'chassis_id', 'race_class_id', 'baseline_id'), name='car', read='(team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR id = ANY ((SELECT access.former_cars())::uuid[]))'),
        ),
        migrations.AddConstraint(
            model_name='ownership',
            constraint=models.CheckConstraint(condition=models.Q(('until__isnull', True), ('chassis__isnull', False), _connector='OR'), name='ownership_ended_says_what_it_was'),
        ),
        migrations.AddField(
            model_name='handedsheet',
            name='sheet',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='handed', to='cars.sheet'),
        ),
        migrations.AddField(
            model_name='handedsheet',
            name='team',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddField(
            model_name='handover',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='handover',
            name='car',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='handovers', to='cars.car'),
        ),
        migrations.AddField(
            model_name='handover',
            name='taken_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='handover',
            name='team',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddField(
            model_name='handover',
            name='to_team',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddField(
            model_name='handedsheet',
            name='handover',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sheets', to='cars.handover'),
        ),
        migrations.AddIndex(
            model_name='handover',
            index=models.Index(fields=['team', 'id'], name='handover_of_team'),
        ),
        migrations.AddConstraint(
            model_name='handover',
            constraint=models.UniqueConstraint(condition=models.Q(('taken_at__isnull', True), ('withdrawn_at__isnull', True)), fields=('car',), name='handover_one_open'),
        ),
        migrations.AddConstraint(
            model_name='handover',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('taken_at__isnull', True), ('taken_back_at__isnull', True), ('taken_by__isnull', True), ('to_team__isnull', True)), models.Q(('taken_at__isnull', False), ('taken_by__isnull', False), ('to_team__isnull', False)), _connector='OR'), name='handover_taken_at_with_by_and_team'),
        ),
        migrations.AddConstraint(
            model_name='handover',
            constraint=models.CheckConstraint(condition=models.Q(('taken_at__isnull', True), ('withdrawn_at__isnull', True), _connector='OR'), name='handover_taken_or_withdrawn'),
        ),
        migrations.AddConstraint(
            model_name='handover',
            constraint=models.CheckConstraint(condition=models.Q(('history__in', ['all', 'set', 'none'])), name='handover_history_known'),
        ),
        migrations.AddConstraint(
            model_name='handover',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND taken_at IS NULL AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_handover.team_id))', change='team_id = ANY ((SELECT access.chief_teams())::uuid[])', change_columns=('withdrawn_at',), name='handover', read='(team_id = ANY ((SELECT access.chief_teams())::uuid[]) OR to_team_id = ANY ((SELECT access.chief_teams())::uuid[]))'),
        ),
        migrations.AddIndex(
            model_name='handedsheet',
            index=models.Index(fields=['team', 'id'], name='handed_sheet_of_team'),
        ),
        migrations.AddIndex(
            model_name='handedsheet',
            index=models.Index(fields=['source'], name='handed_sheet_by_source'),
        ),
        migrations.AddConstraint(
            model_name='handedsheet',
            constraint=clubsetup.access.row_security.SameParent(name='handed_sheet_team', parent='sheet_id', shared='team_id', to='cars_sheet'),
        ),
        migrations.AddConstraint(
            model_name='handedsheet',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.chief_teams())::uuid[])', name='handed_sheet', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
        migrations.RunSQL(FUNCTIONS),
        migrations.RunSQL(ERASING),
    ]
