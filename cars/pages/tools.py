"""What the pages that work something out from a sheet share."""

from typing import Any

from cars.models import Sheet

TOOLS = [
    ("sheet-turn", "What to turn"),
    ("sheet-what-if", "What if"),
    ("sheet-add", "What to add"),
    ("sheet-square", "Rods"),
    ("sheet-marks", "Block marks"),
    ("sheet-lead", "Lead and stagger"),
]


def on_the_page(sheet: Sheet, here: str) -> dict[str, Any]:
    """The sheet, and the row of links with the one that is shown."""
    return {"sheet": sheet, "here": here, "tools": TOOLS}
