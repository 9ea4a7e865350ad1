"""What only the database found out: that a figure or a text sent cannot be kept.

The last wall, behind the forms and parsers that name the field. It stands for what was sent alone:
any other mistake stays a server error, so that it is seen.
"""

import logging

import psycopg.errors as pg
from django.core.exceptions import ValidationError
from django.db import DataError
from django.http import HttpRequest

from clubsetup.access.errors import Invalid
from clubsetup.site.readable_text import has_no_text

_SENT = (
    pg.NumericValueOutOfRange,
    pg.DatetimeFieldOverflow,
    pg.InvalidDatetimeFormat,
    pg.InvalidTextRepresentation,
    pg.StringDataRightTruncation,
    pg.CharacterNotInRepertoire,
    pg.UntranslatableCharacter,
)
_log = logging.getLogger(__name__)


def as_invalid(exception: Exception, request: HttpRequest | None = None) -> Invalid | None:
    """The refusal that says it, None where the exception is about something else."""
    if isinstance(exception, ValidationError):
        return Invalid("", " ".join(exception.messages))
    cause = exception.__cause__
    if not isinstance(exception, DataError) or not isinstance(cause, pg.DataError):
        return None
    if cause.sqlstate is not None and not isinstance(cause, _SENT):
        return None
    _log.warning("The database refused what was sent.", exc_info=exception)
    field = _field_of(request)
    name = f"“{field.replace('_', ' ')}”" if field else "Something that was sent"
    return Invalid(field, f"{name} holds a sign or a figure that cannot be kept. Write it anew.")


def _field_of(request: HttpRequest | None) -> str:
    """The first field of a form that holds a sign which is no text."""
    sent = request.POST.lists() if request is not None else ()
    return next((name for name, texts in sent if has_no_text(texts)), "")
