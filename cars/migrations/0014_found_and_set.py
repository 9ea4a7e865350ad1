"""The second sheet is called set; where a sheet's targets come from is called so."""

from django.db import migrations, models

from clubsetup.access.function_bodies import change_words

ROLE = """
ALTER TABLE cars_sheet DISABLE TRIGGER USER;
UPDATE cars_sheet SET role = '{new}' WHERE role = '{old}';
SET CONSTRAINTS ALL IMMEDIATE;
ALTER TABLE cars_sheet ENABLE TRIGGER USER;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("cars", "0013_no_answer_before_the_policy"),
        ("access", "0013_plain_words"),
    ]
    operations = [
        migrations.AlterField(
            model_name="sheet",
            name="role",
            field=models.CharField(
                choices=[("found", "As found"), ("set", "As set"), ("target", "Target")],
                max_length=10,
            ),
        ),
        migrations.RunSQL(
            ROLE.format(old="left", new="set"), ROLE.format(old="set", new="left")
        ),
        change_words({"s.role = 'left'": "s.role = 'set'"}),
        migrations.RemoveConstraint(model_name="benchtarget", name="bench_target"),
        migrations.RemoveConstraint(model_name="benchtarget", name="bench_target_own"),
        migrations.RemoveConstraint(model_name="benchtarget", name="bench_target_team"),
        migrations.RemoveConstraint(
            model_name="benchtarget", name="bench_target_is_another_sheet"
        ),
        migrations.RenameModel("BenchTarget", "SheetTargetSource"),
    ]
