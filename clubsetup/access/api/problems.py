"""Errors as problem details (RFC 9457)."""

from http import HTTPStatus
from math import ceil
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import connection, transaction
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler

from clubsetup.access.api.field_words import reworded
from clubsetup.access.errors import Invalid, NoSuchPage, TooOften, WrongState
from clubsetup.site.database_refusals import as_invalid

MEDIA_TYPE = "application/problem+json"


def problem(status: int, detail: str, **more: Any) -> Response:
    """A problem document. `type` is about:blank: the status says what kind of problem it is."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    return Response({**body, **more}, status=status, content_type=MEDIA_TYPE)


def _field_errors(errors: Any, at: str = "") -> list[dict[str, str]]:
    if isinstance(errors, dict):
        return [e for key, value in errors.items() for e in _field_errors(value, f"{at}/{key}")]
    if isinstance(errors, list):
        nested = [(f"{at}/{i}" if isinstance(e, dict) else at, e) for i, e in enumerate(errors)]
        return [e for where, value in nested for e in _field_errors(value, where)]
    return [{"pointer": f"#{at}", "detail": reworded(str(errors), at)}]


def handle(exception: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler: every refusal becomes a problem document and saves nothing."""
    if connection.in_atomic_block:
        transaction.set_rollback(True)
    if isinstance(exception, exceptions.ValidationError):
        errors = _field_errors(exception.detail)
        return problem(400, errors[0]["detail"] if errors else "Not valid.", errors=errors)
    return _too_often(exception) or _refusal(exception) or _standard(exception, context)


def _where(refusal: Invalid) -> dict[str, str]:
    """What was wrong of what was sent, or of the address."""
    if isinstance(refusal, NoSuchPage):
        return {"parameter": refusal.field}
    return {"pointer": f"#/{refusal.field}" if refusal.field else "#"}


def _refusal(exception: Exception) -> Response | None:
    if refusal := exception if isinstance(exception, Invalid) else as_invalid(exception):
        errors = [{**_where(refusal), "detail": refusal.message}]
        return problem(400, refusal.message, errors=errors, **refusal.more)
    if isinstance(exception, WrongState):
        return problem(409, str(exception), **exception.more)
    if isinstance(exception, Http404):
        return problem(404, "There is no such thing, or it is not yours to see.")
    if isinstance(exception, PermissionDenied):
        return problem(403, str(exception) or "You may see this but not do that.")
    return None


def _too_often(exception: Exception) -> Response | None:
    if isinstance(exception, TooOften):
        return _later(str(exception), exception.seconds)
    if isinstance(exception, exceptions.Throttled):
        wait = ceil(getattr(exception, "wait", None) or 60)
        return _later(f"Too many requests. Try again in {wait} seconds.", wait)
    return None


def _later(detail: str, seconds: int) -> Response:
    answer = problem(429, detail)
    answer["Retry-After"] = str(seconds)
    return answer


def _standard(exception: Exception, context: dict[str, Any]) -> Response | None:
    standard = exception_handler(exception, context)
    if standard is None or not isinstance(exception, exceptions.APIException):
        return standard
    answer = problem(standard.status_code, str(exception.detail))
    for header in ("WWW-Authenticate", "Retry-After"):
        if header in standard:
            answer[header] = standard[header]
    return answer
