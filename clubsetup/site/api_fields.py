"""How a quantity travels through the API: typed text in; canonical value, unit and text out."""

import math
from collections.abc import Mapping
from typing import Any

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from rest_framework import serializers

from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, QuantityLimits, Typed, parse
from clubsetup.quantities.table import CANONICAL
from clubsetup.quantities.units import Units


class PlainFloat(serializers.FloatField):
    """A number; "nan" and "inf", which the framework takes for numbers, are none."""

    def to_internal_value(self, data: Any) -> float:
        """The number sent."""
        number = super().to_internal_value(data)
        if not math.isfinite(number):
            self.fail("invalid")
        return number


class TypedQuantity(serializers.Field[Any, Any, Any, Any]):
    """A quantity of one kind.

    Reads text as people type it (`"46 5/16"`, `"118 cm"`), or an object with that text under
    `typed`, into `Typed`. A bare number is in the serializer context's `units`, or those of the
    person asking. Writes `{"value": "1176.3375", "unit": "mm", "typed": "46 5/16"}`: `typed` is
    what was typed, without the spaces around it, from the attribute that `typed_from` names; it
    is empty where no text was kept. What can be sent has its `limits` (see
    clubsetup/quantities/bounds.py).
    """

    def __init__(
        self,
        *,
        kind: Kind,
        typed_from: str = "",
        limits: QuantityLimits | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        if limits is None and not self.read_only:
            raise TypeError("what can be sent has limits")
        self.kind, self.typed_from, self.limits = Kind(kind), typed_from, limits

    def get_attribute(self, instance: Any) -> Any:
        """The value with the text it was typed as."""
        value = super().get_attribute(instance)
        if value is None or isinstance(value, Typed):
            return value
        text = instance
        for part in filter(None, self.typed_from.split(".")):
            text = text.get(part, "") if isinstance(text, Mapping) else getattr(text, part)
        return value, text if self.typed_from else ""

    def to_representation(self, value: Any) -> dict[str, str]:
        """Canonical value without trailing zeros, its unit, and what was typed."""
        amount, text = (value.value, value.text) if isinstance(value, Typed) else value
        unit = CANONICAL[self.kind]
        return {"value": f"{amount.normalize():f}", "unit": unit, "typed": text}

    def to_internal_value(self, data: Any) -> Typed:
        """The quantity typed."""
        text = data.get("typed") if isinstance(data, Mapping) else data
        if not isinstance(text, str):
            raise serializers.ValidationError('Write it as text, as in "46 5/16" or "118 cm".')
        try:
            return parse(text, self.kind, units=self._units(), limits=self.limits)
        except QuantityError as refusal:
            raise serializers.ValidationError(refusal.message) from refusal

    def _units(self) -> Units:
        given: Units | None = self.context.get("units")
        if given is not None:
            return given
        user = getattr(self.context.get("request"), "user", None)
        return user.units() if isinstance(user, User) else Units.imperial()


class TypedQuantityInSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """Tells the schema that what is sent is text and what comes back is an object."""

    target_class = "clubsetup.site.api_fields.TypedQuantity"

    def map_serializer_field(self, _: Any, direction: str) -> dict[str, Any]:
        """The JSON schema of one direction."""
        if direction == "request":
            return {"type": "string", "maxLength": 60, "example": "46 5/16"}
        text = {"type": "string"}
        typed = {**text, "description": "As typed, trimmed; empty where no text was kept."}
        return {
            "type": "object",
            "properties": {"value": {**text, "format": "decimal"}, "unit": text, "typed": typed},
            "required": ["value", "unit", "typed"],
        }
