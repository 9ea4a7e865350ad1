"""A browser that its person gave into other hands: until a code it gets one page.

It stands with the sign-in and not in the session's content: two requests that come together write
that content one over the other, and each wrong code must count.
"""

from django.db import migrations, models
from django.db.models import Q

from clubsetup.access.row_security import RowSecurity

VIEWER = "user_id = (SELECT access.viewer())"
FORWARD = """
-- Asked at the start of every request, with the digest of its session's key.
CREATE FUNCTION access.is_handed_over(given text) RETURNS boolean
  LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  RETURN EXISTS (SELECT FROM access_signin WHERE digest = given AND handed_over_at IS NOT NULL);
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("access", "0016_light_or_dark")]
    operations = [
        migrations.AddField("signin", "handed_over_at", models.DateTimeField(null=True, blank=True)),
        migrations.AddField(
            "signin",
            "handed_over_for",
            models.UUIDField(null=True, blank=True, help_text="What that page is about."),
        ),
        migrations.AddField(
            "signin",
            "handed_over_code",
            models.CharField(max_length=64, blank=True, default="", db_default=""),
        ),
        migrations.AddField(
            "signin",
            "wrong_codes",
            models.PositiveSmallIntegerField(default=0, db_default=0),
        ),
        migrations.AddConstraint(
            "signin",
            models.CheckConstraint(
                condition=Q(
                    handed_over_at__isnull=True,
                    handed_over_for__isnull=True,
                    handed_over_code="",
                    wrong_codes=0,
                )
                | Q(handed_over_at__isnull=False, handed_over_for__isnull=False)
                & ~Q(handed_over_code=""),
                name="sign_in_handed_over_whole",
            ),
        ),
        migrations.RemoveConstraint("signin", "own_sign_ins"),
        migrations.AddConstraint(
            "signin",
            RowSecurity(
                name="own_sign_ins",
                read=VIEWER,
                add=VIEWER,
                change=VIEWER,
                change_columns=[
                    "handed_over_at",
                    "handed_over_for",
                    "handed_over_code",
                    "wrong_codes",
                ],
                remove=VIEWER,
            ),
        ),
        migrations.RunSQL(FORWARD, "DROP FUNCTION access.is_handed_over(text)"),
    ]
