from collections import defaultdict

import django.db.models.functions.text
from django.db import migrations, models


def mark_pairs(apps, schema_editor):
    """Leaves numbers that differ in the case of their letter only as they are, and says which."""
    entries = apps.get_model("events", "Entry").objects.using(schema_editor.connection.alias)
    standing = entries.filter(withdrawn_at__isnull=True).select_related(
        "event", "event_class__race_class"
    )
    found = defaultdict(list)
    for entry in standing.order_by("created_at", "pk"):
        found[entry.event_class_id, entry.number.upper()].append(entry)
    for same in found.values():
        if len(same) < 2:
            continue
        entries.filter(pk__in=[entry.pk for entry in same[1:]]).update(shares_its_number=True)
        numbers = " and ".join(entry.number for entry in same)
        where = f"{same[0].event_class.race_class.name}, {same[0].event.name}"
        print(f"  {where}: {numbers} are one number by now. Both stay; renumber one by hand.")


class Migration(migrations.Migration):

    dependencies = [
        ("events", "0015_weigh_in_scatter"),
    ]

    operations = [
        migrations.AddField(
            model_name="entry",
            name="shares_its_number",
            field=models.BooleanField(default=False, editable=False),
        ),
        migrations.RunPython(mark_pairs, migrations.RunPython.noop, elidable=False),
        migrations.RunSQL("SET CONSTRAINTS ALL IMMEDIATE", migrations.RunSQL.noop),
        migrations.AddConstraint(
            model_name="entry",
            constraint=models.UniqueConstraint(
                models.F("event_class"),
                django.db.models.functions.text.Upper("number"),
                condition=models.Q(
                    ("shares_its_number", False), ("withdrawn_at__isnull", True)
                ),
                name="entry_number_in_any_case",
            ),
        ),
    ]
