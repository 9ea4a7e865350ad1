"""The documents that can be printed: those that the apps list as `documents`."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import tzinfo
from itertools import chain
from typing import Any
from uuid import UUID

from django.core.exceptions import ImproperlyConfigured
from django.db.models import Model
from django.http import Http404
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


@dataclass(frozen=True, kw_only=True)
class Document:
    """One kind of print.

    `key` names it in addresses and rows, `name` on buttons ("Setup sheet"). `model` is what it is
    printed of. `title(subject)` becomes the print's title and its file's name. `html(subject,
    viewer)` is the whole page as HTML; it runs in a transaction in which the person who asked is
    the viewer, so it finds what they may see and no more. `clock(subject)` is the zone whose wall
    clock it tells. `styles` are static files that style it.
    """

    key: str
    name: str
    model: type[Model]
    title: Callable[[Any], str]
    html: Callable[[Any, User], str]
    clock: Callable[[Any], tzinfo]
    styles: tuple[str, ...] = ("print.css",)

    def subject(self, subject_id: UUID) -> Any:
        """What is printed, if whoever is looking may see it; else Http404."""
        row = self.model._default_manager.filter(pk=subject_id).first()
        if row is None:
            raise Http404("There is no such thing, or it is not yours to see.")
        return row

    def page(self, subject: Any, viewer: User) -> str:
        """The HTML, with times as the document's clock tells them, whoever makes it and where."""
        with timezone.override(self.clock(subject)):
            return self.html(subject, viewer)


_documents: dict[str, Document] = {}


def collect() -> None:
    """From what the apps list as `documents`; two cannot have the same key."""
    documents = list(chain(*contributed("documents")))
    keyed = {document.key: document for document in documents}
    if len(keyed) < len(documents):
        raise ImproperlyConfigured("two documents want the same key")
    _documents.clear()
    _documents.update(keyed)


def document_for(key: str) -> Document:
    """The document of this key; Http404 where there is none."""
    if key not in _documents:
        raise Http404("There is no such document.")
    return _documents[key]


def all_documents() -> list[Document]:
    """Every document, by key."""
    return [_documents[key] for key in sorted(_documents)]
