"""The API of the order of work: its steps and measures."""

from rest_framework import serializers

from cars.api_base import Listed
from cars.models import Measure, Step


class StepSerializer(serializers.ModelSerializer[Step]):
    """A step of the order of work."""

    class Meta:
        model = Step
        fields = ("slug", "order", "name", "why_here", "caution", "makes_stale")


class MeasureSerializer(serializers.ModelSerializer[Measure]):
    """Something that is read off a car."""

    class Meta:
        model = Measure
        fields = (
            *("slug", "step", "order", "name", "taken", "kind", "spots", "where"),
            *("low", "high", "tool_resolution", "more_less"),
        )


class Steps(Listed):
    """The order of work. The same for every club."""

    queryset = Step.objects.all()
    serializer_class = StepSerializer
    pagination_class = None


class Measures(Listed):
    """What is read off a car, where and how."""

    queryset = Measure.objects.order_by("step__order", "order")
    serializer_class = MeasureSerializer
    pagination_class = None
    filterset_fields = ("step", "taken", "kind")
