"""The function that lets a walk-in be entered is called so."""

from django.db import migrations

from clubsetup.access.function_bodies import change_words

RENAME = "ALTER FUNCTION access.{old}(uuid) RENAME TO {new};"
OLD, NEW = "may_enter_by_hand", "may_enter_walk_in"


class Migration(migrations.Migration):
    dependencies = [("events", "0023_words")]
    operations = [
        migrations.RunSQL(RENAME.format(old=OLD, new=NEW), RENAME.format(old=NEW, new=OLD)),
        change_words({f"access.{OLD}": f"access.{NEW}"}),
    ]
