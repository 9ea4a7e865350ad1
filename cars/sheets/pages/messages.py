"""What is said to somebody who noted a change on a car as found."""

from cars.models import Change, Sheet


def message_of_change(change: Change, asked: Sheet) -> str:
    """That it stands on the sheet as set; empty where it is on the sheet that was `asked`."""
    if change.sheet_id == asked.pk:
        return ""
    return (
        "Noted on the sheet as set, which is open here now. What was found stays as it was found; "
        "the steps marked ↻ have something to retake."
    )
