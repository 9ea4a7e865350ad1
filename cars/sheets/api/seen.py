"""What whoever writes has seen before, or that they write over anything."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.sheets.actions.conflicts import OVER_ANYTHING, Unseen

FIGURES_HELP = (
    "As it was told with the answer: refused where a reading changed since. `anything`: noted "
    "whatever the readings say by now."
)


@extend_schema_field({"type": "string", "examples": ["anything"]})
class SeenReadingField(serializers.UUIDField):
    """The id of a reading, null for an empty box, or `anything`."""

    def to_internal_value(self, data: Any) -> UUID | Unseen:  # type: ignore[override]
        """As it was seen."""
        if data == OVER_ANYTHING.value:
            return OVER_ANYTHING
        return super().to_internal_value(data)


class SeenFiguresField(serializers.CharField):
    """The fingerprint of the readings that an answer was worked out from, or `anything`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"help_text": FIGURES_HELP, "max_length": 64, **kwargs})

    def to_internal_value(self, data: Any) -> str | Unseen:  # type: ignore[override]
        """As it was seen."""
        seen = super().to_internal_value(data)
        return OVER_ANYTHING if seen == OVER_ANYTHING.value else seen

    def run_validators(self, value: Any) -> None:
        """Of a fingerprint; the word has nothing to check."""
        if not isinstance(value, Unseen):
            super().run_validators(value)
