"""Takes from the app's role what it has no use for."""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

FORWARD = f"""
-- The framework's own lists: not used, or read alone.
REVOKE ALL ON auth_group, auth_permission, auth_group_permissions FROM {APP_ROLE};
REVOKE INSERT, UPDATE, DELETE ON django_content_type FROM {APP_ROLE};
-- Whoever owns the tables may not own the database or the schema; then whoever does says so.
DO $$ BEGIN
  EXECUTE format('REVOKE CREATE, TEMPORARY ON DATABASE %I FROM PUBLIC', current_database());
EXCEPTION WHEN insufficient_privilege THEN NULL;
END $$;
DO $$ BEGIN
  REVOKE CREATE ON SCHEMA public FROM PUBLIC;
EXCEPTION WHEN insufficient_privilege THEN NULL;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("access", "0011_lines_of_ones_own"),
        ("auth", "0012_alter_user_first_name_max_length"),
        ("contenttypes", "0002_remove_content_type_name"),
    ]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
