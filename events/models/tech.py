from decimal import Decimal

from django.db import models
from django.db.models import Q

from cars.models import BallastPiece, Measure, Spot
from clubsetup.access.ids import new_id
from clubsetup.access.models import RowQuerySet
from clubsetup.access.row_security import SameParent
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from events.models.official import (
    OfficialRecord,
    VoidableRows,
    just_one,
    of_this_entry,
    official_record,
)
from events.models.rule_set import Rule
from events.models.scale_check import ScaleCheck
from events.models.scales import ScaleSet

RESOLUTION = "weighed_resolution"  # in BallastCheck.typed, canonical


class WeighIn(OfficialRecord):
    """One weighing: four pads, or a total."""

    class Stage(models.TextChoices):
        ENTRY = "entry", "Before the race"
        AFTER = "after", "After the race"

    stage = models.CharField(max_length=10, choices=Stage.choices)
    scale_set = models.ForeignKey(ScaleSet, on_delete=models.PROTECT, related_name="+")
    driver_in = models.BooleanField()
    # The same car, rolled off and on with nothing changed: counts together with the one before.
    again = models.BooleanField(default=False)
    # Drained or run dry: what a minimum without fuel asks for.
    tank_empty = models.BooleanField(default=False)
    fuel_note = models.CharField(
        max_length=40, blank=True, help_text="As it came: full, empty, after the race."
    )
    lf = QuantityField(kind=Kind.MASS, limits=bounds.PAD, null=True, blank=True)
    rf = QuantityField(kind=Kind.MASS, limits=bounds.PAD, null=True, blank=True)
    lr = QuantityField(kind=Kind.MASS, limits=bounds.PAD, null=True, blank=True)
    rr = QuantityField(kind=Kind.MASS, limits=bounds.PAD, null=True, blank=True)
    total = QuantityField(kind=Kind.MASS, limits=bounds.CAR)
    # As typed: {"LF": "78.2", ...} or {"car": "318 lb"}.
    typed = models.JSONField(default=dict)
    # Standard uncertainty of the total, kg.
    u_total = models.DecimalField(max_digits=12, decimal_places=6)
    # What the day's repeats on this set had shown before it: the standard deviation of one
    # weighing, kg, and its degrees of freedom. Kept, so that no later weighing alters what it says.
    scatter = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    scatter_dof = models.PositiveSmallIntegerField(null=True, blank=True)
    # The set's newest check of the day, passed or failed; none where nobody had checked.
    scale_check = models.ForeignKey(
        ScaleCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    # Ids of the pieces of ballast that the team had on the car then; none where it was not kept.
    listed = models.JSONField(null=True, blank=True)
    # What that check says to add, kg as text by pad (or "car"), and whether the rules count it in.
    corrections = models.JSONField(default=dict)
    u_correction = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    corrected = models.BooleanField(default=False)

    objects = VoidableRows["WeighIn"].as_manager()

    class Meta(OfficialRecord.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(corrected=False)
                | Q(scale_check__isnull=False, u_correction__isnull=False),
                name="weigh_in_corrected_by_a_check",
            ),
            SameParent(
                name="weigh_in_check_of_set",
                parent="scale_check_id",
                shared="scale_set_id",
                to="events_scalecheck",
            ),
            models.CheckConstraint(condition=Q(total__gt=0), name="weigh_in_total_positive"),
            models.CheckConstraint(
                condition=Q(lf__isnull=True, rf__isnull=True, lr__isnull=True, rr__isnull=True)
                | Q(lf__gte=0, rf__gte=0, lr__gte=0, rr__gte=0),
                name="weigh_in_four_pads_or_none",
            ),
            *official_record("weigh_in"),
        ]

    def __str__(self) -> str:
        return f"{self.get_stage_display()}: {self.entry}"

    @property
    def total_typed(self) -> str:
        """The total as typed; empty where four pads were."""
        return str(self.typed.get("car", ""))

    @property
    def correction(self) -> Decimal | None:
        """What the scale check says to add to the total, kg; None where there was none."""
        return (
            sum(map(Decimal, self.corrections.values()), Decimal(0)) if self.corrections else None
        )

    def counted(self, spot: str) -> float:
        """A pad's or the total's kg as the rules count it, corrected if the club has it so."""
        read: Decimal = self.total if spot == "total" else getattr(self, spot.lower())
        if not self.corrected:
            return float(read)
        added = self.correction if spot == "total" else self.corrections.get(spot.upper(), 0)
        return float(read + Decimal(added or 0))


class BallastCheck(OfficialRecord):
    """One look at one piece of ballast, or at a car that carries none.

    Or the word of an official that a piece, which the team lists (`piece`) or somebody had looked
    at (`look`), is not on the car, with the reason.
    """

    class WhenWeighed(models.TextChoices):
        ON = "on", "It was on the car"
        OFF = "off", "It was not on the car yet"

    none_on_car = models.BooleanField(default=False)
    not_on_car = models.BooleanField(default=False)
    look = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    reason = models.CharField(max_length=200, blank=True)
    # Of a piece that nobody knew of when the car was weighed; empty where it was not said.
    when_weighed = models.CharField(max_length=10, choices=WhenWeighed.choices, blank=True)

    piece = models.ForeignKey(
        BallastPiece, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    label_legible = models.BooleanField()
    label = models.CharField(max_length=40, blank=True)
    marked_mass = QuantityField(kind=Kind.MASS, limits=bounds.PIECE, null=True, blank=True)
    weighed_mass = QuantityField(kind=Kind.MASS, limits=bounds.PIECE, null=True, blank=True)
    typed = models.JSONField(default=dict)
    place = models.CharField(max_length=60, blank=True)
    fixed = models.BooleanField()

    objects = RowQuerySet["BallastCheck"].as_manager()

    class Meta(OfficialRecord.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(none_on_car=False) | Q(piece__isnull=True, label=""),
                name="ballast_check_none_or_a_piece",
            ),
            models.CheckConstraint(
                condition=Q(not_on_car=False, look__isnull=True, reason="")
                | (
                    Q(not_on_car=True, none_on_car=False, when_weighed="")
                    & Q(Q(piece__isnull=False) | Q(look__isnull=False))
                    & ~Q(reason="")
                ),
                name="ballast_check_off_with_reason",
            ),
            models.CheckConstraint(
                condition=Q(when_weighed__in=["", "on", "off"]),
                name="ballast_check_when_weighed_known",
            ),
            of_this_entry("ballast_check_look", "look_id", "events_ballastcheck"),
            *official_record("ballast_check"),
        ]

    def __str__(self) -> str:
        return f"{self.label or 'unlabelled'}: {self.entry}"

    @property
    def weighed_resolution(self) -> Decimal:
        """What the piece's weight was read to, kg."""
        return Decimal(self.typed.get(RESOLUTION, 0))

    @property
    def marked_typed(self) -> str:
        """The marked weight as typed."""
        return str(self.typed.get("marked", ""))

    @property
    def weighed_typed(self) -> str:
        """The piece's weight as typed."""
        return str(self.typed.get("weighed", ""))


class TechReading(OfficialRecord):
    """One length that an official measured on the car, because a rule asks for it."""

    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    spot = models.CharField(max_length=10, choices=Spot.choices)
    value = QuantityField(kind=Kind.LENGTH, limits=bounds.LENGTH_ON_A_CAR)
    typed = models.CharField(max_length=60)
    # What the writing or the measure's tool resolves; with it stands the uncertainty.
    resolution = QuantityField(kind=Kind.LENGTH, limits=bounds.LENGTH_ON_A_CAR)

    objects = RowQuerySet["TechReading"].as_manager()

    class Meta(OfficialRecord.Meta):
        constraints = [
            models.CheckConstraint(condition=Q(value__gt=0), name="tech_reading_positive"),
            models.CheckConstraint(condition=Q(resolution__gt=0), name="tech_reading_resolves"),
            *official_record("tech_reading"),
        ]

    def __str__(self) -> str:
        return f"{self.measure} {self.spot} {self.typed}: {self.entry}"


class Finding(OfficialRecord):
    """What one rule says of one entry on the evidence there was."""

    class Outcome(models.TextChoices):
        MEETS = "meets", "Meets"
        FAILS = "fails", "Fails"
        TOO_CLOSE = "too_close", "Too close to call"
        NOT_CHECKED = "not_checked", "Not checked"

    rule = models.ForeignKey(Rule, on_delete=models.PROTECT, related_name="+")
    weigh_in = models.ForeignKey(
        WeighIn, on_delete=models.PROTECT, null=True, blank=True, related_name="findings"
    )
    # Findings made together carry one time-ordered id; an entry's newest batch is what stands.
    batch = models.UUIDField(default=new_id)
    outcome = models.CharField(max_length=12, choices=Outcome.choices)
    # The rule's words then, and the sentence that was read out.
    rule_words = models.CharField(max_length=200)
    sentence = models.CharField(max_length=400)
    # Value, limit, margin, uncertainty and probability, canonical; and the records they rest on.
    evidence = models.JSONField(default=dict)

    objects = RowQuerySet["Finding"].as_manager()

    class Meta(OfficialRecord.Meta):
        ordering = ["batch", "rule__order"]
        constraints = [
            models.UniqueConstraint(fields=["batch", "rule"], name="finding_rule_once_a_batch"),
            models.CheckConstraint(
                condition=Q(outcome__in=["meets", "fails", "too_close", "not_checked"]),
                name="finding_outcome_known",
            ),
            of_this_entry("finding_weigh_in", "weigh_in_id", "events_weighin"),
            *official_record("finding"),
        ]

    def __str__(self) -> str:
        return f"{self.get_outcome_display()}: {self.rule_words}"


class Void(OfficialRecord):
    """Takes one record of an official out of force, with the reason; the record itself stays."""

    weigh_in = models.OneToOneField(
        WeighIn, on_delete=models.PROTECT, null=True, blank=True, related_name="void"
    )
    ballast_check = models.OneToOneField(
        BallastCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="void"
    )
    tech_reading = models.OneToOneField(
        TechReading, on_delete=models.PROTECT, null=True, blank=True, related_name="void"
    )
    reason = models.CharField(max_length=200)

    objects = RowQuerySet["Void"].as_manager()

    class Meta(OfficialRecord.Meta):
        constraints = [
            models.CheckConstraint(
                condition=just_one("weigh_in", "ballast_check", "tech_reading"),
                name="void_of_one_record",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="void_has_reason"),
            of_this_entry("void_weigh_in", "weigh_in_id", "events_weighin"),
            of_this_entry("void_ballast_check", "ballast_check_id", "events_ballastcheck"),
            of_this_entry("void_tech_reading", "tech_reading_id", "events_techreading"),
            *official_record("void"),
        ]

    def __str__(self) -> str:
        return self.reason
