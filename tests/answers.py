"""The type of what Django's test client answers; it has a name in the type stubs alone."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.test.client import _MonkeyPatchedWSGIResponse as Answer
else:
    from django.http import HttpResponse as Answer

__all__ = ["Answer"]
