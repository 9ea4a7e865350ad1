"""The chain of an event's records as rows: each line at its place, with its hash, as it was hashed.

Events that are there get the chain that their record book was printed of. What builds it here is
frozen: it may never call what builds lines today.
"""

import hashlib
import json
from datetime import UTC, datetime
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
import events.models.record_chain
from django.db import migrations, models
from django.db.models import Q
from django.utils import timezone

READ = '(club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'

FUNCTIONS = """
-- Whoever enters a record holds the chain to the end of the transaction. Officials alone.
CREATE FUNCTION access.hold_chain(given_event uuid) RETURNS SETOF events_recordchain
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  RETURN QUERY SELECT * FROM events_recordchain
    WHERE event_id = given_event AND club_id = ANY (access.official_clubs()) FOR UPDATE;
END $$;

-- Whether two values are one, though a line writes decimals and times as text. Written so that it
-- becomes part of the statement that asks: no call for each value.
CREATE FUNCTION access.same_value(said jsonb, held jsonb) RETURNS boolean
  LANGUAGE sql STABLE PARALLEL SAFE AS $$
  SELECT CASE
    WHEN said IS NULL OR held IS NULL THEN false
    WHEN said = held THEN true
    WHEN jsonb_typeof(said) <> 'string' THEN false
    WHEN jsonb_typeof(held) = 'number' THEN (said #>> '{}')::numeric = (held #>> '{}')::numeric
    WHEN held #>> '{}' ~ '^[0-9]{4}-[0-9]{2}-[0-9]{2}T' AND said #>> '{}' ~ '^[0-9]{4}-[0-9]{2}-[0-9]{2}T'
      THEN (said #>> '{}')::timestamptz = (held #>> '{}')::timestamptz
    ELSE false END $$;

-- A record's row without its pictures; NULL where there is none of that kind and id.
CREATE FUNCTION access.row_of_record(given_kind text, given_record uuid) RETURNS jsonb
  LANGUAGE plpgsql STABLE SET search_path = public, pg_temp AS $$
DECLARE
  source regclass := to_regclass('public.events_' || replace(given_kind, '_', ''));
  columns text;
  found jsonb;
BEGIN
  -- A kind of record is a table whose rows must be in a chain; scale checks may be in several.
  IF source IS NULL OR NOT (given_kind = 'scale_check' OR EXISTS (SELECT FROM pg_trigger
    WHERE tgrelid = source AND tgfoid = 'access.refuse_without_line()'::regprocedure)) THEN
    RETURN NULL;
  END IF;
  SELECT string_agg(quote_ident(attname), ', ') INTO columns FROM pg_attribute
    WHERE attrelid = source AND attnum > 0 AND NOT attisdropped AND atttypid <> 'bytea'::regtype;
  EXECUTE format('SELECT to_jsonb(r) FROM (SELECT %s FROM %s WHERE id = $1) r', columns, source)
    INTO found USING given_record;
  RETURN found;
END $$;

-- What is wrong with a line; NULL where it says what the record's row holds, all of it and nothing
-- else, and the record belongs to the event.
CREATE FUNCTION access.fault_of_line(chain events_recordchain, given_place int, given_kind text, given_record uuid, said jsonb)
  RETURNS text LANGUAGE plpgsql STABLE SET search_path = public, pg_temp AS $$
DECLARE
  held jsonb := access.row_of_record(given_kind, given_record);
  differs text;
BEGIN
  IF held IS NULL THEN
    RETURN 'no such record';
  ELSIF chain.event_id IS DISTINCT FROM (CASE
      WHEN held ? 'entry_id' THEN (SELECT event_id FROM events_entry WHERE id = (held ->> 'entry_id')::uuid)
      WHEN held ? 'event_id' THEN (held ->> 'event_id')::uuid
      WHEN (held ->> 'club_id')::uuid = chain.club_id THEN chain.event_id END) THEN
    RETURN 'a record of another event';
  ELSIF held ->> 'scale_check_id' IS NOT NULL AND NOT EXISTS (SELECT FROM events_recordline l
      WHERE l.chain_id = chain.id AND l.record_id = (held ->> 'scale_check_id')::uuid) THEN
    RETURN 'the scale check that it rests on is not in the chain';
  ELSIF NOT (said @> jsonb_build_object('kind', given_kind, 'line', given_place) AND said ? 'format') THEN
    RETURN 'not its kind, its place or a format';
  END IF;
  SELECT string_agg(key, ', ') INTO differs
    FROM (SELECT key, value FROM jsonb_each(said - ARRAY['kind', 'line', 'format'])) l
    FULL JOIN (SELECT regexp_replace(key, '_id$', '') AS key, value FROM jsonb_each(held)
      WHERE value NOT IN ('null', 'false', '""', '{}', '[]')) h USING (key)
    WHERE NOT access.same_value(l.value, h.value);
  RETURN 'not as recorded: ' || differs;
END $$;

-- Enters records of an event, in this order. Each line is the text that is hashed.
CREATE FUNCTION access.append_lines(given_event uuid, kinds text[], records uuid[], texts text[]) RETURNS void
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  chain events_recordchain;
  fault text;
BEGIN
  SELECT * INTO chain FROM access.hold_chain(given_event);
  IF chain.id IS NULL THEN
    RAISE EXCEPTION 'only an official of the club enters records' USING ERRCODE = 'insufficient_privilege';
  END IF;
  FOR n IN 1 .. cardinality(texts) LOOP
    fault := access.fault_of_line(chain, chain.length + 1, kinds[n], records[n], texts[n]::jsonb);
    IF fault IS NOT NULL THEN
      RAISE EXCEPTION 'line %: %', chain.length + 1, fault
        USING ERRCODE = 'check_violation', CONSTRAINT = 'record_line_true';
    END IF;
    chain.length := chain.length + 1;
    chain.last_hash := encode(sha256(convert_to(chain.last_hash || E'\\n' || texts[n], 'UTF8')), 'hex');
    INSERT INTO events_recordline (id, created_at, chain_id, club_id, place, kind, record_id, text, hash)
      VALUES (gen_random_uuid(), clock_timestamp(), chain.id, chain.club_id, chain.length, kinds[n],
        records[n], texts[n], chain.last_hash);
  END LOOP;
  UPDATE events_recordchain SET length = chain.length, last_hash = chain.last_hash WHERE id = chain.id;
END $$;

-- At the end of a transaction that stored a record, its line must be there.
CREATE FUNCTION access.refuse_without_line() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM events_recordline WHERE record_id = NEW.id) THEN
    RAISE EXCEPTION 'a record of % without its line in the chain', TG_TABLE_NAME
      USING ERRCODE = 'check_violation', CONSTRAINT = TG_NAME;
  END IF;
  RETURN NULL;
END $$;

CREATE FUNCTION access.begin_chain() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  head text := format('{"club":"%s","event":"%s","format":"clubsetup records 1"}', NEW.club_id, NEW.id);
BEGIN
  INSERT INTO events_recordchain (id, created_at, event_id, club_id, head, length, last_hash)
    VALUES (gen_random_uuid(), clock_timestamp(), NEW.id, NEW.club_id, head, 0,
      encode(sha256(convert_to(head, 'UTF8')), 'hex'));
  RETURN NULL;
END $$;

-- Nothing is stored while the chains are laid down.
LOCK TABLE events_event, events_scalecheck IN SHARE ROW EXCLUSIVE MODE;
"""

AWAY = """
DROP FUNCTION access.append_lines(uuid, text[], uuid[], text[]);
DROP FUNCTION access.fault_of_line(events_recordchain, int, text, uuid, jsonb);
DROP FUNCTION access.row_of_record(text, uuid);
DROP FUNCTION access.same_value(jsonb, jsonb);
DROP FUNCTION access.hold_chain(uuid);
DROP FUNCTION access.refuse_without_line();
DROP FUNCTION access.begin_chain();
"""

BEGIN = """
UPDATE events_recordline SET created_at = (text::jsonb ->> 'created_at')::timestamptz;
CREATE TRIGGER begin_chain AFTER INSERT ON events_event
  FOR EACH ROW EXECUTE FUNCTION access.begin_chain();
"""

OF_ENTRIES = {
    "weigh_in": "WeighIn",
    "ballast_check": "BallastCheck",
    "ballast_photo": "BallastPhoto",
    "tech_reading": "TechReading",
    "finding": "Finding",
    "void": "Void",
}
EMPTY = (None, "", {}, [])


def lay_down(apps, schema_editor):
    """Gives every event its chain, by (created_at, id), as its record book had it."""
    using = schema_editor.connection.alias
    for event in apps.get_model("events", "Event").objects.using(using).select_related("club"):
        head = _canonical({"format": "clubsetup records 1", "event": str(event.pk), "club": str(event.club_id)})
        last = _sha256(head)
        chain = apps.get_model("events", "RecordChain")(
            event_id=event.pk, club_id=event.club_id, head=head
        )
        lines = []
        for place, (kind, row) in enumerate(_records(apps, using, event), start=1):
            text = _canonical({**_said(kind, row), "line": place})
            last = _sha256(f"{last}\n{text}")
            lines.append(
                apps.get_model("events", "RecordLine")(
                    chain=chain, club_id=event.club_id, place=place, kind=kind,
                    record_id=row.pk, text=text, hash=last,
                )
            )
        chain.length, chain.last_hash = len(lines), last
        chain.save(using=using, force_insert=True)
        apps.get_model("events", "RecordLine").objects.using(using).bulk_create(lines, batch_size=500)


def _records(apps, using, event):
    """All of an event, in order."""
    found = []
    for kind, name in OF_ENTRIES.items():
        model = apps.get_model("events", name)
        pictures = [f.name for f in model._meta.concrete_fields if isinstance(f, models.BinaryField)]
        rows = model._default_manager.using(using).filter(entry__event=event).defer(*pictures)
        found += [(kind, row) for row in rows]
    draws = apps.get_model("events", "Draw").objects.using(using).filter(event=event)
    found += [("draw", row) for row in draws]
    found += [("scale_check", row) for row in _scale_checks(apps, using, event)]
    return sorted(found, key=lambda pair: (pair[1].created_at, pair[1].pk))


def _scale_checks(apps, using, event):
    """Those that its weigh-ins rest on, and all others of the club on its days by the club's clock,
    as the record book told them."""
    weigh_ins = apps.get_model("events", "WeighIn").objects.using(using)
    rested_on = weigh_ins.filter(entry__event=event, scale_check__isnull=False)
    with timezone.override(ZoneInfo(event.club.time_zone)):
        days = Q(created_at__date__gte=event.starts_on, created_at__date__lte=event.ends_on)
        checks = apps.get_model("events", "ScaleCheck").objects.using(using)
        mine = Q(pk__in=rested_on.values("scale_check")) | days
        return list(checks.filter(mine, club_id=event.club_id))


def _said(kind, row):
    fields = [f for f in row._meta.concrete_fields if not isinstance(f, models.BinaryField)]
    held = {field.name: getattr(row, field.attname) for field in fields}
    return {
        "kind": kind,
        **{name: _plain(v) for name, v in held.items() if v is not False and v not in EMPTY},
    }


def _plain(value):
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, UUID):
        return str(value)
    return value


def _canonical(value):
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def _sha256(text):
    return hashlib.sha256(text.encode()).hexdigest()


def in_chain(model, name):
    return migrations.AddConstraint(
        model_name=model, constraint=events.models.record_chain.InChain(name=f"{name}_in_chain")
    )


class Migration(migrations.Migration):

    dependencies = [
        ('events', '0012_weigh_in_tank_empty'),
        ('teams', '0006_the_wall_clock_of_a_club'),
    ]

    operations = [
        migrations.CreateModel(
            name='RecordChain',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('head', models.TextField(help_text='What the records are of, as it was hashed.')),
                ('length', models.PositiveIntegerField(default=0)),
                ('last_hash', models.CharField(help_text='Of the head while there is no line.', max_length=64)),
                ('club', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club')),
                ('event', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='record_chain', to='events.event')),
            ],
            options={
                'constraints': [
                    clubsetup.access.row_security.SameParent(name='record_chain_club', parent='event_id', shared='club_id', to='events_event'),
                    clubsetup.access.row_security.RowSecurity(name='record_chain', read=READ),
                ],
            },
        ),
        migrations.CreateModel(
            name='RecordLine',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('place', models.PositiveIntegerField(help_text='From 1.')),
                ('kind', models.CharField(max_length=40)),
                ('record_id', models.UUIDField()),
                ('text', models.TextField(help_text='Canonical JSON.')),
                ('hash', models.CharField(help_text='Of this line and all before it.', max_length=64)),
                ('chain', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='events.recordchain')),
                ('club', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club')),
            ],
            options={
                'ordering': ['place'],
                'constraints': [
                    models.UniqueConstraint(fields=('chain', 'place'), name='record_line_place_once'),
                    models.UniqueConstraint(fields=('record_id', 'chain'), name='record_line_once'),
                    models.CheckConstraint(condition=models.Q(('place__gte', 1)), name='record_line_place_from_one'),
                    clubsetup.access.row_security.SameParent(name='record_line_club', parent='chain_id', shared='club_id', to='events_recordchain'),
                    clubsetup.access.row_security.RowSecurity(name='record_line', read=READ),
                ],
            },
        ),
        migrations.RunSQL(FUNCTIONS, AWAY),
        in_chain('ballastcheck', 'ballast_check'),
        in_chain('ballastphoto', 'ballast_photo'),
        in_chain('draw', 'draw'),
        in_chain('finding', 'finding'),
        in_chain('techreading', 'tech_reading'),
        in_chain('void', 'void'),
        in_chain('weighin', 'weigh_in'),
        migrations.RunPython(lay_down, migrations.RunPython.noop),
        migrations.RunSQL(BEGIN, 'DROP TRIGGER begin_chain ON events_event'),
    ]
