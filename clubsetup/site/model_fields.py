"""How a quantity is kept: the exact decimal in its canonical unit."""

from typing import Any

from django.db import models

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits


class QuantityField(models.DecimalField):  # type: ignore[type-arg]
    """A canonical value of one kind of quantity, numeric(20, 10): exact for what a tape can say."""

    def __init__(
        self, *args: Any, kind: Kind, limits: QuantityLimits | None = None, **kwargs: Any
    ) -> None:
        """`limits` are what a form or the API takes for it; migrations know nothing of them."""
        kwargs.setdefault("max_digits", 20)
        kwargs.setdefault("decimal_places", 10)
        super().__init__(*args, **kwargs)
        self.kind, self.limits = Kind(kind), limits

    def deconstruct(self) -> Any:
        """As any field, with the kind as its plain word."""
        name, path, args, kwargs = super().deconstruct()
        return name, path, args, {**kwargs, "kind": str(self.kind)}
