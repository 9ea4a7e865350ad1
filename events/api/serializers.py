"""Rules, events and entries as JSON."""

from typing import Any

from django.db.models import Model
from rest_framework import serializers

from cars.models import Car
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from events.models import Entry, Event, EventClass, Rule, RuleSet, ScaleSet
from events.rules import rule_from
from teams.models import Club, Driver, RaceClass, Track


def row(model: type[Model]) -> Any:
    """A row the person asking can see, by its id; one they cannot see does not exist."""
    return serializers.PrimaryKeyRelatedField(queryset=model._default_manager.all())


class RuleSerializer(serializers.ModelSerializer[Rule]):
    """One declared rule, with its words."""

    parameters = serializers.DictField(
        child=serializers.JSONField(), help_text="As the kind declares; quantities canonical."
    )
    words = serializers.SerializerMethodField()

    class Meta:
        model = Rule
        fields = ("id", "rule_set", "order", "kind", "parameters", "words")

    def get_words(self, rule: Rule) -> str:
        """The rule as one line."""
        return rule_from(rule.kind, rule.parameters).words()


class RuleCreateSerializer(CreateOnceSerializer):
    """A new rule of a draft."""

    rule_set = row(RuleSet)
    kind = serializers.SlugField(max_length=40)
    parameters = serializers.DictField(child=serializers.JSONField(), required=False, default=dict)


class RuleChangeSerializer(serializers.Serializer[Any]):
    """A rule of a draft, declared anew."""

    parameters = serializers.DictField(child=serializers.JSONField())


class RuleSetSerializer(serializers.ModelSerializer[RuleSet]):
    """One version of a class's rules."""

    rules = RuleSerializer(many=True, read_only=True)

    class Meta:
        model = RuleSet
        fields = (
            "id",
            "club",
            "race_class",
            "version",
            "valid_from",
            "state",
            "decision",
            "published_at",
            "rules",
        )


class RuleSetChangeSerializer(serializers.Serializer[Any]):
    """What can be changed of a draft."""

    valid_from = serializers.DateField()
    decision = serializers.ChoiceField(RuleSet.Decision.choices, default=RuleSet.Decision.READING)


class RuleSetCreateSerializer(CreateOnceSerializer):
    """A new draft."""

    race_class = row(RaceClass)
    valid_from = serializers.DateField()
    decision = serializers.ChoiceField(RuleSet.Decision.choices, default=RuleSet.Decision.READING)
    copy_of = serializers.PrimaryKeyRelatedField(
        queryset=RuleSet.objects.all(), required=False, allow_null=True, default=None
    )


class InWordsSerializer(serializers.Serializer[Any]):
    """A rule before and now; empty before where it is new, empty now where it is gone."""

    before = serializers.CharField(allow_blank=True)
    now = serializers.CharField(allow_blank=True)


class RuleChangesSerializer(serializers.Serializer[Any]):
    """All that differs from an earlier version."""

    earlier = serializers.UUIDField(
        source="earlier.pk", default=None, allow_null=True, help_text="None before a first version."
    )
    rules = InWordsSerializer(many=True)
    decision = InWordsSerializer(allow_null=True)


class ScaleSetSerializer(serializers.ModelSerializer[ScaleSet]):
    """Scales of the club."""

    division = TypedQuantity(kind=Kind.MASS, typed_from="division_typed", read_only=True)

    class Meta:
        model = ScaleSet
        fields = ("id", "club", "name", "pads", "division", "apply_corrections", "created_at")


class CorrectionsSerializer(serializers.Serializer[Any]):
    """Whether weights count with the correction of the day's check."""

    applied = serializers.BooleanField()


class ScaleSetCreateSerializer(CreateOnceSerializer):
    """New scales."""

    club = row(Club)
    name = serializers.CharField(max_length=40)
    pads = serializers.ChoiceField([(4, "Four pads"), (1, "One platform")], default=4)
    division = TypedQuantity(kind=Kind.MASS, limits=bounds.DIVISION)


class EventSerializer(serializers.ModelSerializer[Event]):
    """An event."""

    class Meta:
        model = Event
        fields = (
            "id",
            "club",
            "track",
            "name",
            "starts_on",
            "ends_on",
            "state",
            "findings_published",
            "created_at",
        )


class EventCreateSerializer(CreateOnceSerializer):
    """A planned event."""

    club = row(Club)
    track = row(Track)
    name = serializers.CharField(max_length=80)
    starts_on = serializers.DateField()
    ends_on = serializers.DateField()


class StartEventSerializer(serializers.Serializer[Any]):
    """What starting an event may say."""

    another_day = serializers.BooleanField(
        default=False, help_text="It is meant to start on a day that is none of the event's own."
    )


class EventClassSerializer(serializers.ModelSerializer[EventClass]):
    """A class run at an event, and the version of its rules that the event froze."""

    name = serializers.CharField(source="race_class.name", read_only=True)

    class Meta:
        model = EventClass
        fields = ("id", "event", "race_class", "name", "rule_set", "created_at")


class EventClassCreateSerializer(CreateOnceSerializer):
    """A class to be run."""

    event = row(Event)
    race_class = row(RaceClass)


class ListedSerializer(serializers.Serializer[Any]):
    """One line of the start list."""

    race_class = serializers.CharField()
    number = serializers.CharField()
    display_name = serializers.CharField()


class PublishedFindingSerializer(ListedSerializer):
    """What one rule said of one entry, without weights."""

    rule_words = serializers.CharField()
    outcome = serializers.CharField()


class EntrySerializer(serializers.ModelSerializer[Entry]):
    """A car and driver entered in a class."""

    class Meta:
        model = Entry
        fields = (
            "id",
            "event",
            "event_class",
            "team",
            "car",
            "driver",
            "number",
            "display_name",
            "confirmed_at",
            "withdrawn_at",
            "created_at",
        )


class EntryCreateSerializer(CreateOnceSerializer):
    """A team's entry of its own car and driver."""

    event_class = row(EventClass)
    car = row(Car)
    driver = row(Driver)
    number = serializers.CharField(max_length=6, required=False, default="")


class EntryByHandSerializer(serializers.Serializer[Any]):
    """An official's entry of a car that stands at the scales."""

    event_class = row(EventClass)
    car_number = serializers.CharField(max_length=6)
    car_id = serializers.UUIDField()


class EntryConfirmSerializer(serializers.Serializer[Any]):
    """Who drives a car that was entered by hand."""

    driver = row(Driver)


class EntryNumberSerializer(serializers.Serializer[Any]):
    """Another number."""

    number = serializers.CharField(max_length=6)


class CarByNumberSerializer(serializers.Serializer[Any]):
    """A car of one of the club's teams, by its number."""

    car_id = serializers.UUIDField()
    team_id = serializers.UUIDField()
    team = serializers.CharField()
    number = serializers.CharField()


class ParameterSerializer(serializers.Serializer[Any]):
    """One parameter of a kind of rule."""

    name = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    sort = serializers.CharField()
    quantity = serializers.CharField(allow_null=True)
    choices = serializers.ListField(child=serializers.CharField())
    least = serializers.CharField(allow_null=True, help_text="The least it may be, canonical.")
    most = serializers.CharField(allow_null=True, help_text="The most it may be, canonical.")


class RuleKindSerializer(serializers.Serializer[Any]):
    """A kind of rule and what it must be told."""

    kind = serializers.SlugField()
    title = serializers.CharField()
    parameters = ParameterSerializer(many=True)
