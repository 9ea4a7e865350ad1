"""The boxes of a form: what stood in them when the page was made, and what of them was sent."""

import json
from collections.abc import Iterable
from uuid import UUID

from django.http import HttpRequest, QueryDict

from cars.catalogue.keys import Key
from cars.sheets.actions.conflicts import NONE
from cars.sheets.actions.save_boxes import BoxInput, BoxResult, conflict_message
from cars.sheets.presenters.sheet_view import SheetView
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.site.readable_text import with_text_only

SEEN = "seen"  # the field that carries what stood in each box when the page was made

SeenBox = tuple[UUID | None, str]


def seen_json(boxes: Iterable[tuple[str, UUID, str]]) -> str:
    """The field's value: name, reading and text of every box in which something stands."""
    return json.dumps({name: [str(reading), text] for name, reading, text in boxes})


def seen_on(view: SheetView) -> str:
    """The same of a whole sheet."""
    return seen_json(
        (box.name, box.reading_id, box.stood) for box in view.boxes.values() if box.reading_id
    )


def read_seen(text: str) -> dict[str, SeenBox]:
    """What the page was made with. Raises Invalid where it is not as we made it."""
    try:
        boxes = json.loads(text or "{}")
        return {str(name): (id_of(str(seen)), str(was)) for name, (seen, was) in boxes.items()}
    except (ValueError, AttributeError, TypeError) as error:
        raise Invalid(SEEN, "Reload the page: it is not as we made it.") from error


def id_of(text: str) -> UUID | None:
    """The reading that a page names, None for an empty box. Raises ValueError."""
    return None if text == NONE else UUID(text)


def typed_text(text: str) -> str:
    """What was typed, without what is no text."""
    return with_text_only(text).strip()


def sent_box(request: HttpRequest) -> list[BoxInput]:
    """The one box that htmx sent; an unticked one sends no value. Empty where it names none."""
    name = request.headers.get("HX-Trigger-Name", "")
    seen, _ = read_seen(request.POST.get(SEEN, "")).get(name, (None, ""))
    try:
        return [BoxInput(Key.of(name), typed_text(request.POST.get(name, "")), seen)]
    except ValueError:
        return []


def changed_boxes(post: QueryDict) -> list[BoxInput]:
    """The boxes of a whole form in which somebody wrote since the page was made.

    What another person wrote meanwhile is not undone: a box that was sent as it stood says nothing.
    """
    stood = read_seen(post.get(SEEN, ""))
    names = {name for name in post if "." in name} | stood.keys()
    changed = []
    for name in sorted(names):
        text = typed_text(post.get(name, ""))
        seen, was = stood.get(name, (None, ""))
        if text != was:
            try:
                changed.append(BoxInput(Key.of(name), text, seen))
            except ValueError:
                continue
    return changed


def keep_typed(view: SheetView, results: Iterable[BoxResult], viewer: User) -> None:
    """Puts what could not be kept back in its box, with the sentence that says why."""
    for result in results:
        box = view.boxes.get(result.sent.key)
        if box is None or result.status == "saved":
            continue
        why = result.wrong or result.refused
        if result.conflict:
            why = conflict_message(result.conflict, viewer, result.sent.text)
        box.refuse(why)
        box.text, box.is_conflict = result.sent.text, result.conflict is not None
