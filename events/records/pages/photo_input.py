"""The box for a photo."""

from typing import Any

from django import forms

from events.rules.photo import MOST_SENT, too_large

HINT = "Photograph the piece, not the child."
AGAIN = "Add the photo again: it does not stay with a page that comes back."
# JPEG first, and no image/*: a browser that has a HEIC picture then sends it as JPEG.
READ = "image/jpeg,image/png,image/webp"


class PhotoInput(forms.FileField):
    """Opens the camera on a phone and asks for a file elsewhere. Cleans to the bytes, or None."""

    def __init__(self, **kwargs: Any) -> None:
        box = forms.FileInput(attrs={"accept": READ, "capture": "environment"})
        missing = {"required": "Take a photo or choose one."}
        super().__init__(label="Photo", widget=box, error_messages=missing, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> bytes | None:
        """What was sent, as it came."""
        sent = super().clean(data, initial)
        if not sent:
            return None
        if sent.size > MOST_SENT:
            raise forms.ValidationError(too_large(), code="too_large")
        content: bytes = sent.read()
        return content


class KeepsNoPhoto(forms.Form):
    """A photo beside other fields; where one of those must be mended, it is asked for again."""

    def add_error(self, field: str | None, error: Any) -> None:
        super().add_error(field, error)
        if self.files.get("photo") and "photo" not in self.errors:
            super().add_error("photo", AGAIN)
