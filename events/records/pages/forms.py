"""The forms that make a record."""

from clubsetup.offline.forms import SentOnce
from events.models.photo import MOST_PHOTOS
from events.records.pages.photo_input import HINT, PhotoInput


class PhotoForm(SentOnce):
    """One more photo of a piece."""

    photo = PhotoInput(help_text=f"{HINT} A look has {MOST_PHOTOS} photos at most.")
