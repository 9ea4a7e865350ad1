from django.contrib.postgres.fields import ArrayField
from django.db import models

from clubsetup.quantities.kinds import Kind


class Spot(models.TextChoices):
    """Where on the car."""

    LF = "LF", "Left front"
    RF = "RF", "Right front"
    LR = "LR", "Left rear"
    RR = "RR", "Right rear"
    FRONT = "front", "Front"
    REAR = "rear", "Rear"
    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    CAR = "car", "Car"


class Taken(models.TextChoices):
    """How a measure's figure comes about."""

    QUANTITY = "quantity", "Read with a tool"
    WORDS = "words", "Noted in words"
    DONE = "done", "Checked"
    DERIVED = "derived", "Computed from other readings"


class Step(models.Model):
    """One step of the order of work, the same for every club; from fixtures/catalogue.json."""

    slug = models.SlugField(primary_key=True, max_length=20)
    order = models.PositiveSmallIntegerField(unique=True)
    name = models.CharField(max_length=40)
    why_here = models.TextField(help_text="Why this step comes where it does.")
    caution = models.TextField(blank=True)
    # The steps whose readings must be taken again when something is changed in this one.
    makes_stale = ArrayField(models.SlugField(max_length=20), default=list)

    class Meta:
        ordering = ["order"]

    def __str__(self) -> str:
        return self.name


class Measure(models.Model):
    """Something that is read off a car, at one or more spots."""

    slug = models.SlugField(primary_key=True, max_length=40)
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="measures")
    order = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    taken = models.CharField(max_length=10, choices=Taken.choices)
    # Empty for words and checks.
    kind = models.CharField(max_length=20, blank=True, choices=[(str(k), str(k)) for k in Kind])
    spots = ArrayField(models.CharField(max_length=10, choices=Spot.choices))
    where = models.TextField(help_text="Where and how to measure.")
    low = models.DecimalField(max_digits=20, decimal_places=10, null=True)
    high = models.DecimalField(max_digits=20, decimal_places=10, null=True)
    # Canonical; the finest that the usual tool can be read to.
    tool_resolution = models.DecimalField(max_digits=20, decimal_places=10, null=True)
    # The words for more and less than the target: ["high", "low"].
    more_less = ArrayField(models.CharField(max_length=20), default=list)

    class Meta:
        ordering = ["step__order", "order"]
        constraints = [
            models.UniqueConstraint(fields=["step", "order"], name="measure_order_once_a_step"),
        ]

    def __str__(self) -> str:
        return self.name
