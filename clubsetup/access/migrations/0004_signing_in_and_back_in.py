"""Where people are signed in, codes for a new password, and second factors' secrets sealed.

Sessions of before are on no list, so nobody could end them: everybody signs in once more.
"""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


# The viewer ends own sign-ins: one, or all but the one whose digest is kept. A session is stored
# under the beginning of its key's digest (clubsetup/access/sessions.py).
FUNCTIONS = """
-- An id in the order of time, as the service makes them (RFC 9562, version 7): trails are read by it.
CREATE FUNCTION access.new_id() RETURNS uuid LANGUAGE sql VOLATILE AS $$
  SELECT encode(set_bit(set_bit(overlay(uuid_send(gen_random_uuid()) PLACING
      substring(int8send((extract(epoch FROM clock_timestamp()) * 1000)::bigint) FROM 3)
      FROM 1 FOR 6), 52, 1), 53, 1), 'hex')::uuid $$;
CREATE FUNCTION access.end_sign_ins(one uuid, kept text) RETURNS integer
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  me uuid := access.viewer();
  ended integer;
BEGIN
  DELETE FROM django_session s USING access_signin i
    WHERE i.user_id = me AND (one IS NULL OR i.id = one) AND i.digest IS DISTINCT FROM kept
      AND s.session_key = left(i.digest, 40);
  DELETE FROM access_signin i
    WHERE i.user_id = me AND (one IS NULL OR i.id = one) AND i.digest IS DISTINCT FROM kept;
  GET DIAGNOSTICS ended = ROW_COUNT;
  RETURN ended;
END $$;
-- Takes off the viewer's list what is over.
CREATE FUNCTION access.tidy_sign_ins() RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  DELETE FROM access_signin i WHERE i.user_id = access.viewer() AND NOT EXISTS (
    SELECT FROM django_session s WHERE s.expire_date > now()
      AND s.session_key = left(i.digest, 40));
END $$;
"""


def end_sessions(apps, schema_editor):
    """Ends the sessions of before, where there are any (see seal)."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT to_regclass('django_session')")
        if cursor.fetchone()[0] is not None:
            cursor.execute("DELETE FROM django_session")


def seal(apps, schema_editor):
    """Seals what was kept in the clear of one-time codes and recovery codes.

    Where there is anything to seal the table is there: without a dependency on allauth's migrations,
    which would have them run before there are people.
    """
    import json

    from clubsetup.access.second_factor import keys

    box = keys()

    def sealed(text):
        return box.encrypt(text.encode()).decode()

    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT to_regclass('mfa_authenticator')")
        if cursor.fetchone()[0] is None:
            return
        cursor.execute(
            "SELECT id, data::text FROM mfa_authenticator WHERE type IN ('totp', 'recovery_codes')"
        )
        for pk, text in cursor.fetchall():
            data = json.loads(text)
            for name in {"secret", "seed"} & set(data):
                data[name] = sealed(data[name])
            if "migrated_codes" in data:
                data["migrated_codes"] = [sealed(code) for code in data["migrated_codes"]]
            cursor.execute(
                "UPDATE mfa_authenticator SET data = %s WHERE id = %s", [json.dumps(data), pk]
            )


class Migration(migrations.Migration):

    dependencies = [
        ('access', '0003_receipt'),
    ]

    operations = [
        migrations.CreateModel(
            name='ResetCode',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('expires_at', models.DateTimeField()),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('made_by__isnull', True), models.Q(('made_by', models.F('user')), _negated=True), _connector='OR'), name='reset_code_not_for_oneself'), clubsetup.access.row_security.RowSecurity(name='made_reset_codes', read='made_by_id = (SELECT access.viewer())')],
            },
        ),
        migrations.CreateModel(
            name='SignIn',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('device', models.CharField(help_text='As its browser names it, roughly.', max_length=60)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='sign_ins', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-created_at'],
                'constraints': [clubsetup.access.row_security.RowSecurity(add='user_id = (SELECT access.viewer())', name='own_sign_ins', read='user_id = (SELECT access.viewer())', remove='user_id = (SELECT access.viewer())')],
            },
        ),
        migrations.RunSQL(FUNCTIONS, "DROP FUNCTION access.end_sign_ins(uuid, text), access.tidy_sign_ins(), access.new_id()"),
        migrations.RunPython(end_sessions, migrations.RunPython.noop),
        migrations.RunPython(seal, migrations.RunPython.noop),
    ]
