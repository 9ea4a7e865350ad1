"""What somebody who opened a page a moment ago sends back as seen."""

import html
import json
import re

from cars.models import Sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as


def seen_by(person: User, sheet: Sheet) -> str:
    """The field of a form: every box of the sheet as it stands now."""
    with viewing_as(person.pk):
        rows = sheet.readings.current().filter(take=1)
        return json.dumps(
            {f"{row.measure_id}.{row.spot}": [str(row.pk), row.typed] for row in rows}
        )


def reading_seen(person: User, sheet: Sheet, measure: str, spot: str) -> str:
    """The id of the reading in one box."""
    with viewing_as(person.pk):
        return str(sheet.readings.current().at(measure, spot, 1).get().pk)


def seen_on(page: str) -> str:
    """The field as a page has it."""
    match = re.search(r'name="seen"\s+value="([^"]*)"', page)
    assert match
    return html.unescape(match[1])
