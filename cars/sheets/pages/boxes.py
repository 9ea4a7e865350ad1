"""The boxes of a sheet's form: what of them was sent."""

import json

from django.http import HttpRequest, QueryDict

from cars.catalogue.keys import Key
from cars.sheets.queries.sheet_view import SheetView

STOOD = "stood"  # the field that carries what stood in the boxes when the page was made


def sent_box(request: HttpRequest) -> dict[Key, str]:
    """The one box that htmx sent; an unticked one sends no value. Empty where it names none."""
    name = request.headers.get("HX-Trigger-Name", "")
    try:
        return {Key.of(name): request.POST.get(name, "")}
    except ValueError:
        return {}


def changed_boxes(post: QueryDict) -> dict[Key, str]:
    """The boxes of a whole form in which somebody wrote since the page was made.

    What another person wrote meanwhile is not undone: a box that was sent as it stood says nothing.
    """
    stood = _stood(post.get(STOOD, ""))
    names = {name for name in post if "." in name} | stood.keys()
    changed = {}
    for name in names:
        text = post.get(name, "").strip()
        if text != stood.get(name, ""):
            try:
                changed[Key.of(name)] = text
            except ValueError:
                continue
    return changed


def _stood(text: str) -> dict[str, str]:
    try:
        found = json.loads(text or "{}")
    except ValueError:
        return {}
    if not isinstance(found, dict):
        return {}
    return {str(name): str(value) for name, value in found.items()}


def stood_in(view: SheetView) -> str:
    """What stands in the boxes now, for `changed_boxes` to compare with."""
    return json.dumps({box.name: box.text for box in view.boxes.values() if box.text})


def keep_typed(view: SheetView, typed: dict[Key, str], wrong: dict[Key, str]) -> None:
    """Puts what could not be kept back in its box, with the sentence that says why."""
    for key, message in wrong.items():
        if box := view.boxes.get(key):
            box.refuse(message)
            box.text = typed[key]
