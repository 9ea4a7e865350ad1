"""What is asked of an open bench again and again: whether anything on it is new."""

from uuid import UUID

from django.db import connection

from cars.models import Sheet

# Asked every two seconds by every phone at the bench, so written out: a third of the time.
VERSION = """
SELECT (SELECT count(*) FROM cars_reading WHERE sheet_id = sheet.id),
       (SELECT count(*) FROM cars_reading WHERE sheet_id = sheet.id AND replaced_at IS NOT NULL),
       (SELECT count(*) + count(taken_back_at) FROM cars_change WHERE sheet_id = sheet.id),
       sheet.state
FROM cars_sheet sheet WHERE sheet.id = %s
"""


def version_of(sheet_id: UUID) -> str | None:
    """What changes whenever anything on the sheet does; None where no such sheet is seen.

    Readings and changes are only added, a reading is replaced once and a change taken back once,
    so that the counts and the state say it, whatever the clocks of those who write.
    """
    with connection.cursor() as cursor:
        cursor.execute(VERSION, [sheet_id])
        row = cursor.fetchone()
    return "-".join(str(part) for part in row) if row else None


def sheet_to_write(pk: UUID) -> Sheet | None:
    """The sheet with as much of it as taking a reading asks for."""
    return Sheet.objects.select_related("team__club", "car").filter(pk=pk).first()
