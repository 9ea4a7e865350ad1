"""What is known of a car before anybody official has looked at it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from cars.catalogue.keys import Key
from cars.figures.derived import Figure
from cars.models import BallastPiece, Car
from clubsetup.quantities.uncertainty import Estimate
from events.models import Entry
from events.precheck.queries.own_scales import OnScales
from events.queries.readings import spots_of_lengths
from events.rules import Facts, PieceSeen, Stage, Where
from teams.models import DriverBirth

SHARES = ("left-share", "rear-share", "cross")
NOT_BY_TOTAL = {"weight", *SHARES}


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece and where it is after a plan; no place where nobody noted it."""

    piece: BallastPiece
    place: str

    @property
    def seen(self) -> PieceSeen:
        """As an official would see it, but for what only a hand can tell."""
        return PieceSeen(
            label=self.piece.label,
            marked_mass=float(self.piece.marked_mass),
            place=self.place,
        )


def facts_of(scales: OnScales, entry: Entry | None) -> Facts:
    """The readings as if an official had taken them; nothing that only a look can tell."""
    on_sheet = scales.on_sheet
    car = on_sheet.sheet.car
    left, rear, cross = (_share(scales, measure) for measure in SHARES)
    return Facts(
        stage=Stage.ENTRY,
        driver_in=scales.driver_in,
        tank_empty=None if scales.fuel is None else scales.fuel == 0,
        weight=scales.weight,
        left=left,
        rear=rear,
        cross=cross,
        own_labels=own_labels(car, entry),
        pieces=pieces_of(car),
        spots=spots_of_lengths(),
        readings=estimates_of(
            {
                key: one
                for key, one in on_sheet.figures.items()
                if key not in on_sheet.stale and (scales.four or key.measure not in NOT_BY_TOTAL)
            }
        ),
    )


def own_labels(car: Car, entry: Entry | None) -> tuple[str, ...]:
    """What may stand on this car's ballast where it is entered; any will do where it is not."""
    return tuple(filter(None, (car.number, entry.display_name))) if entry else ()


def estimates_of(figures: Mapping[Key, Figure]) -> dict[Where, Estimate]:
    """A sheet's figures as rules read them."""
    return {
        Where(key.measure, key.spot): Estimate(float(one.value), float(one.u))
        for key, one in figures.items()
    }


def _share(scales: OnScales, measure: str) -> Estimate | None:
    figure = scales.on_sheet.figures.get(Key(measure, "car")) if scales.four else None
    return Estimate(float(figure.value), float(figure.u)) if figure else None


def pieces_of(car: Car) -> tuple[PieceSeen, ...]:
    """What the team has on the car, as an official would see it."""
    pieces_in_use = BallastPiece.objects.in_use().filter(car=car).select_related("mount")
    return tuple(PlacedPiece(piece, str(piece.mount or "")).seen for piece in pieces_in_use)


def birth_date(entry: Entry | None) -> date | None:
    """Of the driver who is entered, as the team holds it; None for whoever may not read it."""
    if entry is None or entry.driver_id is None:
        return None
    held = DriverBirth.objects.filter(driver_id=entry.driver_id)
    return held.values_list("birth_date", flat=True).first()
