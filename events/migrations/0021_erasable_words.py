"""Of what officials write in words a new line of the chain holds a salted hash alone.

The words and the salt stand beside the line, where they can be erased. Lines that are there keep
their words: they were hashed as they stand.
"""

from django.db import migrations, models

FORWARD = """
-- Which columns of a kind of record are words: events.records.queries.lines.WORDS says the same.
CREATE FUNCTION access.words_of_kind(kind text) RETURNS text[]
  LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT CASE kind
    WHEN 'weigh_in' THEN ARRAY['fuel_note']
    WHEN 'ballast_check' THEN ARRAY['label', 'place', 'reason']
    WHEN 'finding' THEN ARRAY['sentence']
    WHEN 'void' THEN ARRAY['reason']
    WHEN 'draw' THEN ARRAY['purpose']
    WHEN 'scale_check' THEN ARRAY['level_note']
    ELSE '{}' END $$;

-- A line with its words in place of their hashes; NULL where a hash is not theirs, or words stand
-- in the line itself or beside it without a hash.
CREATE FUNCTION access.line_in_words(given_kind text, said jsonb, words jsonb) RETURNS jsonb
  LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
  name text;
  hashed text[] := '{}';
BEGIN
  FOREACH name IN ARRAY access.words_of_kind(given_kind) LOOP
    IF said ? name THEN
      IF words ->> 'salt' !~ '^[0-9a-f]{64}$' OR said -> name IS DISTINCT FROM jsonb_build_object('sha256',
          encode(sha256(convert_to((words ->> 'salt') || E'\\n' || name || E'\\n' || (words ->> name), 'UTF8')), 'hex')) THEN
        RETURN NULL;
      END IF;
      said := jsonb_set(said, ARRAY[name], words -> name);
      hashed := hashed || name;
    END IF;
  END LOOP;
  IF words IS NOT NULL AND words - hashed - 'salt' <> '{}' THEN
    RETURN NULL;
  END IF;
  RETURN said;
END $$;

DROP FUNCTION access.append_lines(uuid, text[], uuid[], text[]);

-- Enters records of an event, in this order. Each line is the text that is hashed; beside it stand
-- the words that it holds the hashes of.
CREATE FUNCTION access.append_lines(given_event uuid, kinds text[], records uuid[], texts text[], words jsonb[])
  RETURNS void LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  chain events_recordchain;
  said jsonb;
  fault text;
BEGIN
  SELECT * INTO chain FROM access.hold_chain(given_event);
  IF chain.id IS NULL THEN
    RAISE EXCEPTION 'only an official of the club enters records' USING ERRCODE = 'insufficient_privilege';
  END IF;
  FOR n IN 1 .. cardinality(texts) LOOP
    said := access.line_in_words(kinds[n], texts[n]::jsonb, words[n]);
    IF said IS NULL THEN
      fault := 'not as recorded: words without their hash';
    ELSE
      fault := access.fault_of_line(chain, chain.length + 1, kinds[n], records[n], said);
    END IF;
    IF fault IS NOT NULL THEN
      RAISE EXCEPTION 'line %: %', chain.length + 1, fault
        USING ERRCODE = 'check_violation', CONSTRAINT = 'record_line_true';
    END IF;
    chain.length := chain.length + 1;
    chain.last_hash := encode(sha256(convert_to(chain.last_hash || E'\\n' || texts[n], 'UTF8')), 'hex');
    INSERT INTO events_recordline (id, created_at, chain_id, club_id, place, kind, record_id, text, hash, words)
      VALUES (gen_random_uuid(), clock_timestamp(), chain.id, chain.club_id, chain.length, kinds[n],
        records[n], texts[n], chain.last_hash, words[n]);
  END LOOP;
  UPDATE events_recordchain SET length = chain.length, last_hash = chain.last_hash WHERE id = chain.id;
END $$;

-- Takes the words of one line away, beside it, in the record itself and in prints of the event: for
-- the club's stewards. Returns the files of prints to remove; NULL where there were no words. Words
-- in a line of an older format stay: they are what was hashed.
CREATE FUNCTION access.erase_words(given_event uuid, given_place int) RETURNS text[]
  LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  line events_recordline;
  name text;
BEGIN
  SELECT l.* INTO line FROM events_recordline l JOIN events_recordchain c ON c.id = l.chain_id
  WHERE c.event_id = given_event AND l.place = given_place AND c.club_id = ANY (access.steward_clubs())
    AND l.words ? 'salt' FOR UPDATE OF l;
  IF NOT FOUND THEN
    RETURN NULL;
  END IF;
  FOREACH name IN ARRAY access.words_of_kind(line.kind) LOOP
    EXECUTE format('UPDATE %I SET %I = ''Erased.'' WHERE id = $1 AND %I <> ''''',
      'events_' || replace(line.kind, '_', ''), name, name) USING line.record_id;
    UPDATE access_auditrow SET detail = jsonb_set(detail, ARRAY[name], '"Erased."')
    WHERE on_id = line.record_id AND detail ? name;
  END LOOP;
  -- A check of the scales stands in the chain of every event of its day.
  UPDATE events_recordline SET words = '{"erased": true}'
  WHERE record_id = line.record_id AND words ? 'salt';
  RETURN access.remove_prints(ARRAY(SELECT id FROM printing_printjob WHERE subject_id = given_event
    OR subject_id IN (SELECT id FROM events_entry WHERE event_id = given_event)));
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("events", "0020_no_answer_before_the_policy"),
        ("printing", "0006_kept_for_a_while"),
    ]
    operations = [
        migrations.AddField(
            model_name="recordline",
            name="words",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
    ]
