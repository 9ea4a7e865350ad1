"""The planner keeps no samples of what is a child's: EXPLAIN tells estimates made from them.

A role may ask for the plan of a statement whose rows it does not see. Samples of a column show
there which values are frequent, and with few rows which there are at all.
"""

from django.db import migrations

COLUMNS = [
    ("teams_driver", "display_name"),
    ("teams_driverbirth", "birth_date"),
    ("teams_driverweight", "mass"),
    ("teams_driverweight", "mass_typed"),
    ("teams_driverweight", "weighed_on"),
]


def _each(target: str) -> str:
    return "\n".join(f"ALTER TABLE {t} ALTER COLUMN {c} SET STATISTICS {target};" for t, c in COLUMNS)


# Giving a column the type that it has throws away what was sampled of it before.
FORGET = f"""
SET CONSTRAINTS ALL IMMEDIATE;
DO $$ DECLARE given record; BEGIN
  FOR given IN SELECT attrelid::regclass AS t, attname AS c, format_type(atttypid, atttypmod) AS is_a
    FROM pg_attribute WHERE (attrelid::regclass::text, attname::text) IN {tuple(COLUMNS)}
  LOOP
    EXECUTE format('ALTER TABLE %s ALTER COLUMN %I TYPE %s', given.t, given.c, given.is_a);
  END LOOP;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("teams", "0010_changed_by_column")]
    operations = [
        migrations.RunSQL(_each("0"), _each("-1")),
        migrations.RunSQL(FORGET, migrations.RunSQL.noop),
    ]
