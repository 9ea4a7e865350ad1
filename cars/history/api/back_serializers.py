"""Back to a track as JSON."""

from rest_framework import serializers


class PlaceSerializer(serializers.Serializer[object]):
    """Where the car was set."""

    track = serializers.UUIDField()
    surface = serializers.CharField()
    sheets = serializers.IntegerField(help_text="How many sheets were set there.")
    last = serializers.DateField()


class SetThereSerializer(serializers.Serializer[object]):
    """A sheet as set there, with the runs on it."""

    sheet = serializers.UUIDField()
    made_on = serializers.DateField()
    driver = serializers.UUIDField(allow_null=True)
    runs = serializers.ListField(child=serializers.UUIDField(), help_text="The newest first.")
    finishes = serializers.ListField(child=serializers.IntegerField())
    median_s = serializers.DecimalField(
        max_digits=9, decimal_places=3, allow_null=True, help_text="The median of their medians."
    )
    best_s = serializers.DecimalField(max_digits=9, decimal_places=3, allow_null=True)


class BackToTrackSerializer(serializers.Serializer[object]):
    """How a car was set at a track before."""

    places = PlaceSerializer(many=True)
    place = PlaceSerializer(allow_null=True, help_text="The one that is answered for.")
    sheets = SetThereSerializer(many=True)
    fastest = serializers.CharField(help_text="Which was fastest of these, where it can be told.")
    next = serializers.UUIDField(allow_null=True, help_text="`before` of the next page.")


class BackLineSerializer(serializers.Serializer[object]):
    """A box that stands otherwise than then."""

    name = serializers.CharField()
    now = serializers.CharField()
    then = serializers.CharField()
    do = serializers.CharField(help_text="How much, and which way that is to the hand.")


class BackStepSerializer(serializers.Serializer[object]):
    """One step of the order of work."""

    number = serializers.IntegerField()
    name = serializers.CharField()
    caution = serializers.CharField()
    lines = BackLineSerializer(many=True)
    parts = serializers.ListField(child=serializers.CharField())


class TurnBackSerializer(serializers.Serializer[object]):
    """What to turn at one seat."""

    corner = serializers.CharField()
    turn = serializers.CharField()


class WayBackSerializer(serializers.Serializer[object]):
    """What to turn, swap and add to stand as on that sheet."""

    standing = serializers.CharField(help_text="From what the car stands on now.")
    steps = BackStepSerializer(many=True)
    turns = TurnBackSerializer(many=True, source="turns_by_name")
    turns_make = serializers.CharField()
    comes_to = BackLineSerializer(many=True)
    gone = serializers.ListField(
        child=serializers.CharField(),
        help_text="What may not be had again, and what comes nearest.",
    )
    to_read = serializers.ListField(
        child=serializers.CharField(), help_text="Measures to be read before more can be told."
    )
    notes = serializers.ListField(child=serializers.CharField())
