"""Bodies sent to the API, read by the one reader of what can be kept."""

from typing import IO, Any

from rest_framework import parsers
from rest_framework.exceptions import ParseError

from clubsetup.access.errors import Invalid
from clubsetup.site.readable_text import has_no_text, read_json


class JSONParser(parsers.JSONParser):
    """JSON in UTF-8. Raises Invalid with the place of what cannot be kept."""

    def parse(self, stream: IO[Any], *_: Any, **__: Any) -> Any:
        """As BaseParser."""
        return read_json(stream.read())


class MultiPartParser(parsers.MultiPartParser):
    """A form with files. Raises Invalid for a text that cannot be kept."""

    def parse(self, stream: IO[Any], *args: Any, **kwargs: Any) -> Any:
        """As BaseParser."""
        try:
            form = super().parse(stream, *args, **kwargs)
        except LookupError as error:  # the head of a part names an encoding that is none
            raise ParseError("The form cannot be read.") from error
        for name, texts in form.data.lists():
            if has_no_text([name, *texts]):
                shown = name.replace("\x00", "")
                raise Invalid(shown, f"“{shown}” holds a sign that cannot be kept.")
        return form
