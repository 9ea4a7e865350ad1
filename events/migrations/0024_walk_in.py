"""The function that lets a walk-in be entered is called so."""

from django.db import migrations

from clubsetup.access.function_bodies import change_words

RENAME = "ALTER FUNCTION access.{old}(uuid) RENAME TO {new};"
OLD, NEW = "may_enter_by_hand", "may_enter_walk_in"


class Migration(migrations.Migration):
    dependencies = [("events", "0023_words")]
    # Renamed before the words are changed, both ways: what names itself would be made twice.
    operations = [
        migrations.RunSQL(RENAME.format(old=OLD, new=NEW), migrations.RunSQL.noop),
        change_words({f"access.{OLD}": f"access.{NEW}"}),
        migrations.RunSQL(migrations.RunSQL.noop, RENAME.format(old=NEW, new=OLD)),
    ]
