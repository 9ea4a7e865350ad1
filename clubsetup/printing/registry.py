"""The documents that can be printed, and other files made like them: the apps' `documents`."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import tzinfo
from itertools import chain
from pathlib import Path
from typing import Any, ClassVar
from uuid import UUID

from django.core.exceptions import ImproperlyConfigured
from django.db.models import Model
from django.http import Http404
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


def _team_of(subject: Any) -> UUID | None:
    team_id: UUID | None = getattr(subject, "team_id", None)
    return team_id


def _anybody(_subject: Any) -> bool:
    return True


@dataclass(frozen=True, kw_only=True)
class MadeFile:
    """One kind of file that is made in the background and kept with the prints.

    `key` names it in addresses and rows, `name` on buttons ("Setup sheet"). `model` is what it is
    made of. `title(subject)` becomes its title and its file's name. `is_open(subject)` says whether
    whoever is looking may have it, where seeing the subject alone is not enough; it is asked when
    the file is asked for, made and fetched. `team_of(subject)` says in whose trail it stands.
    """

    key: str
    name: str
    model: type[Model]
    title: Callable[[Any], str]
    is_open: Callable[[Any], bool] = _anybody
    team_of: Callable[[Any], UUID | None] = _team_of

    suffix: ClassVar[str]
    content_type: ClassVar[str]
    lease_factor: ClassVar[int] = 1  # how many leases of a print the making may take

    def subject(self, subject_id: UUID) -> Any:
        """What it is made of, if whoever is looking may have it; else Http404."""
        row = self.model._default_manager.filter(pk=subject_id).first()
        if row is None or not self.is_open(row):
            raise Http404("There is no such thing, or it is not yours to see.")
        return row


@dataclass(frozen=True, kw_only=True)
class Document(MadeFile):
    """One kind of print.

    `html(subject, viewer)` is the whole page as HTML; it runs in a transaction in which the person
    who asked is the viewer, so it finds what they may see and no more. `clock(subject)` is the zone
    whose wall clock it tells. `styles` are static files that style it. `in_archive`: one is made
    for each of its subjects (a car) in the archive of a team.
    """

    html: Callable[[Any, User], str]
    clock: Callable[[Any], tzinfo]
    styles: tuple[str, ...] = ("print.css",)
    in_archive: bool = False

    suffix: ClassVar[str] = ".pdf"
    content_type: ClassVar[str] = "application/pdf"

    def page(self, subject: Any, viewer: User) -> str:
        """The HTML, with times as the document's clock tells them, whoever makes it and where."""
        with timezone.override(self.clock(subject)):
            return self.html(subject, viewer)


@dataclass(frozen=True, kw_only=True)
class ZipFileKind(MadeFile):
    """One kind of file that holds others.

    `gather(subject, viewer, folder)` runs under the eyes of whoever asked, as `html` of a document
    does, and puts into the folder what must be read for it. What it returns is called afterwards,
    with no transaction open, to make the rest there. Then the folder's files are the archive's.
    """

    gather: Callable[[Any, User, Path], Callable[[], None]]

    suffix: ClassVar[str] = ".zip"
    content_type: ClassVar[str] = "application/zip"
    # Tens of prints and a hundred thousand rows.
    lease_factor: ClassVar[int] = 20


_kinds: dict[str, MadeFile] = {}


def collect() -> None:
    """From what the apps list as `documents`; two cannot have the same key."""
    kinds = list(chain(*contributed("documents")))
    keyed = {kind.key: kind for kind in kinds}
    if len(keyed) < len(kinds):
        raise ImproperlyConfigured("two documents want the same key")
    _kinds.clear()
    _kinds.update(keyed)


def kind_for(key: str) -> MadeFile:
    """The kind of file of this key; Http404 where there is none."""
    if key not in _kinds:
        raise Http404("There is no such document.")
    return _kinds[key]


def document_for(key: str) -> Document:
    """The document of this key; Http404 where there is none."""
    kind = kind_for(key)
    if not isinstance(kind, Document):
        raise Http404("There is no such document.")
    return kind


def all_documents() -> list[Document]:
    """Every document, by key."""
    kinds = (_kinds[key] for key in sorted(_kinds))
    return [kind for kind in kinds if isinstance(kind, Document)]


def zip_keys() -> list[str]:
    """Those of files that hold others: no prints, and asked for where they are offered."""
    return [key for key, kind in _kinds.items() if isinstance(kind, ZipFileKind)]
