"""A void and a finding speak of a record of their own entry.

An official could otherwise take another club's or another car's weighing out of force.
"""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('events', '0007_scale_checks'),
        ('teams', '0004_closer_grants'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddConstraint(
            model_name='finding',
            constraint=clubsetup.access.row_security.SameParent(name='finding_weigh_in', parent='weigh_in_id', shared='entry_id', to='events_weighin'),
        ),
        migrations.AddConstraint(
            model_name='void',
            constraint=clubsetup.access.row_security.SameParent(name='void_weigh_in', parent='weigh_in_id', shared='entry_id', to='events_weighin'),
        ),
        migrations.AddConstraint(
            model_name='void',
            constraint=clubsetup.access.row_security.SameParent(name='void_ballast_check', parent='ballast_check_id', shared='entry_id', to='events_ballastcheck'),
        ),
    ]
