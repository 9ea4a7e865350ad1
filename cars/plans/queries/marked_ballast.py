"""Ballast pieces whose mark names another car than the one they are to go on."""

import re
from collections.abc import Iterable

from cars.models import BallastPiece, Car

_NUMBER = re.compile(r"\d{1,3}[a-z]?")


def marked_for_another(piece: BallastPiece, car: Car, others: Iterable[Car] = ()) -> bool:
    """Whether what is written on the piece names another car: a number, or a team's car by name.

    A piece with this car's number or name on it is its own, whatever else stands there; one with
    the driver's or the team's name may go on any car of theirs.
    """
    words = piece.label.casefold().replace("#", " ").split()
    own = {car.number.casefold(), car.name.casefold()}
    if own & {*words, " ".join(words)}:
        return False
    if any(_NUMBER.fullmatch(word) for word in words):
        return True
    return any(other.name and other.name.casefold() == " ".join(words) for other in others)


def marked_elsewhere(pieces: Iterable[BallastPiece], car: Car) -> list[BallastPiece]:
    """The pieces that are not on this car yet and are marked for another."""
    others = list(Car.objects.filter(team_id=car.team_id).exclude(pk=car.pk))
    return [
        piece
        for piece in pieces
        if piece.car_id != car.pk and marked_for_another(piece, car, others)
    ]


def marked_elsewhere_message(piece: BallastPiece, car: Car) -> str:
    """'the 12 lb piece is marked 9, and this is car 7'."""
    return f"the {piece.marked_mass_typed} piece is marked {piece.label}, and this is car {car}"
