"""What events can print: tech cards, ballast labels, the weigh-in list, the record book."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

import segno
from django.conf import settings
from django.db.models import Model
from django.http import Http404
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import mark_safe

from cars.models import BallastPiece, Car
from clubsetup.access.models import User
from clubsetup.access.viewer import current_viewer
from clubsetup.printing.registry import Document
from clubsetup.runtime.public import public_address
from events.models import Entry, Event
from events.permissions import may_see_desk
from events.printing.presenters.label_sheets import SHEETS, LabelSheet
from events.printing.presenters.labels import label_of, sheets_of
from events.printing.presenters.trailer_sheet import trailer_sheet
from events.printing.queries import EntryBook, book_of, books_of
from events.queries.ballast import pieces_on
from events.records.queries.records import chain_end, scale_checks_of
from teams.models import Club
from teams.queries.roles import roles_of

STYLES = ("events/printing/prints.css",)
MEDIUM = "m"  # 15 % of the code may be dirty


class DeskDocument(Document):
    """Of an event, for the officials and stewards of its club alone."""

    def subject(self, subject_id: UUID) -> Any:
        """The event; Http404 for everybody else, who would print an empty one."""
        event = super().subject(subject_id)
        looking = current_viewer()
        viewer = User.objects.filter(pk=looking).first() if looking else None
        if viewer is None or not may_see_desk(viewer, event):
            raise Http404("There is no such thing, or it is not yours to see.")
        return event


def qr_of(entry: Entry) -> str:
    """The address that opens the entry, as an SVG code; empty where the service has no address."""
    base = public_address()
    if not base:
        return ""
    code = segno.make(base + reverse("entry", args=[entry.pk]), error=MEDIUM, micro=False)
    return mark_safe(code.svg_inline(border=4, omitsize=True))  # noqa: S308 - drawn by segno


def _card(book: EntryBook) -> dict[str, Any]:
    rows = max(4, len(book.pieces) + 2)
    return {"book": book, "qr": qr_of(book.entry), "empty": range(rows - len(book.pieces))}


def tech_card_html(entry: Entry, viewer: User) -> str:
    """One entry: what to check, room to write, and the code that opens it at the desk."""
    book = book_of(entry, viewer.units(entry.club.units()))
    return render_to_string("events/printing/print/tech_cards.html", {"cards": [_card(book)]})


def tech_cards_html(event: Event, viewer: User) -> str:
    """The cards of every standing entry, one a page."""
    books = books_of(event, viewer.units(event.club.units()))
    return render_to_string(
        "events/printing/print/tech_cards.html", {"cards": [_card(b) for b in books]}
    )


def weigh_in_list_html(event: Event, viewer: User) -> str:
    """Every standing entry with what it weighed, and boxes for what it has not."""
    units = viewer.units(event.club.units())
    context = {
        "event": event,
        "units": units,
        "books": books_of(event, units),
        "paper": settings.PRINT_PAPER,
    }
    return render_to_string("events/printing/print/weigh_in_list.html", context)


def record_book_html(event: Event, viewer: User) -> str:
    """Everything on record, and the last hash of the chain."""
    units, records = viewer.units(event.club.units()), chain_end(event)
    context = {
        "event": event,
        "units": units,
        "books": books_of(event, units, withdrawn=True),
        "records": records,
        "named": records.last_at or event.created_at,
        "scale_checks": list(scale_checks_of(event).select_related("scale_set", "by")),
        "draws": event.draws.select_related("event_class__race_class", "by").order_by("created_at"),
        "classes": event.classes.select_related("race_class", "rule_set"),
    }
    return render_to_string("events/printing/print/record_book.html", context)


def _of_event(key: str, name: str, html: Callable[[Any, User], str]) -> Document:
    return DeskDocument(
        key=key,
        name=name,
        model=Event,
        title=lambda event: f"{name}, {event}",
        html=html,
        clock=lambda event: event.club.zone(),
        styles=STYLES,
    )


TECH_CARD = Document(
    key="tech-card",
    name="Tech card",
    model=Entry,
    title=lambda entry: f"Tech card, {entry}, {entry.event}",
    html=tech_card_html,
    clock=lambda entry: entry.club.zone(),
    styles=STYLES,
)
OF_EVENTS = (
    _of_event("tech-cards", "Tech cards", tech_cards_html),
    _of_event("weigh-in-list", "Weigh-in list", weigh_in_list_html),
    _of_event("record-book", "Record book", record_book_html),
)


# For the trailer: what one car is to be there, for its team alone.


class TeamDocument(Document):
    """Of an entry, for whoever reads its team's sheets; an official would print an empty one."""

    def subject(self, subject_id: UUID) -> Any:
        """The entry; Http404 for everybody else."""
        entry = super().subject(subject_id)
        looking = current_viewer()
        viewer = User.objects.filter(pk=looking).first() if looking else None
        if viewer is None or entry.team_id not in roles_of(viewer).readable_teams:
            raise Http404("There is no such thing, or it is not yours to see.")
        # Another club's event shows itself to its members alone, and a car may have gone on.
        here = Event.objects.filter(pk=entry.event_id).exists()
        if not here or not Car.objects.filter(pk=entry.car_id, team=entry.team_id).exists():
            raise Http404("The event, or the car, is not yours to see any more.")
        return entry


def trailer_sheet_html(entry: Entry, viewer: User) -> str:
    """Everything of the event that the car needs: limits, the way back to how it was set there,
    ballast, advice."""
    context = {"sheet": trailer_sheet(entry, viewer), "title": trailer_title(entry)}
    return render_to_string("events/printing/print/trailer_sheet.html", context)


def trailer_title(entry: Entry) -> str:
    """The print's title, and its file's name."""
    return f"For the trailer, {entry}, {entry.event}"


TRAILER_SHEET = TeamDocument(
    key="trailer-sheet",
    name="For the trailer",
    model=Entry,
    title=trailer_title,
    html=trailer_sheet_html,
    clock=lambda entry: entry.club.zone(),
    styles=(
        "cars/sheets/paper.css",
        "cars/sheets/setup_sheet.css",
        "events/printing/trailer_sheet.css",
    ),
)


# Labels: one document for each sheet, of an entry or of a car.


def _pieces_of(subject: Entry | Car) -> tuple[list[BallastPiece], str]:
    """The pieces on the car, and whose name stands on them: the driver's, or else the team's."""
    if isinstance(subject, Entry):
        return list(pieces_on(subject)), subject.display_name
    pieces_in_use = BallastPiece.objects.in_use().filter(car=subject)
    return list(pieces_in_use), str(subject.team)


def labels_html(subject: Entry | Car, sheet: LabelSheet) -> str:
    """A label for every piece that the team keeps on the car."""
    pieces, name = _pieces_of(subject)
    labels = [label_of(piece, number=subject.number, name=name) for piece in pieces]
    drawn = [mark_safe(svg) for svg in sheets_of(labels, sheet)]  # noqa: S308 - text is escaped
    return render_to_string("events/printing/print/labels.html", {"sheets": drawn, "sheet": sheet})


def _club_of(subject: Entry | Car) -> Club:
    return subject.club if isinstance(subject, Entry) else subject.team.club


def _labels(model: type[Model], of: str, sheet: LabelSheet) -> Document:
    return Document(
        key=f"{of}-labels-{sheet.key}",
        name=f"Ballast labels, {sheet.name}",
        model=model,
        title=lambda subject: f"Ballast labels, {subject}, {sheet.words}",
        html=lambda subject, _: labels_html(subject, sheet),
        clock=lambda subject: _club_of(subject).zone(),
        styles=(f"events/printing/labels_{sheet.paper.lower()}.css",),
    )


LABELS = [
    _labels(model, of, sheet) for sheet in SHEETS for model, of in ((Entry, "entry"), (Car, "car"))
]
DOCUMENTS = (TECH_CARD, TRAILER_SHEET, *OF_EVENTS, *LABELS)
