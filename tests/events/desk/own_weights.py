"""A family before it queues: what its scales say, and a car on which ballast can be planned."""

import html
import re
from datetime import date
from typing import Any

from django.test import Client

from cars.baselines.actions.chassis import edit_chassis
from cars.baselines.actions.mounts import add_mount
from cars.garage.actions.ballast import add_ballast_piece, retire_ballast_piece
from cars.models import BallastMount, BallastPiece, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import GEOMETRY, typed
from tests.events.meeting import Meeting, mass

POUND = 0.45359237


def weights(meeting: Meeting, *pounds: str, role: str = "set") -> Sheet:
    """The team weighs its car: LF RF LR RR."""
    by = meeting.people.chief
    with viewing_as(by.pk):
        sheet = open_sheet(
            by=by, car=meeting.car, role=role, made_on=date(2026, 6, 5), surface="paved"
        )
        named = zip(("LF", "RF", "LR", "RR"), pounds, strict=True)
        take_typed(by=by, sheet=sheet, typed={f"weight.{c}": text for c, text in named})
    return sheet


def on_pads(*pounds: str) -> dict[str, str]:
    """The same written on the page."""
    return dict(zip(("LF", "RF", "LR", "RR"), pounds, strict=True))


def page(client: Client, meeting: Meeting, **given: str) -> str:
    """What the pre-check says."""
    answer = client.get(f"/cars/{meeting.car.pk}/pre-check", given)
    assert answer.status_code == 200
    text = re.sub(r"\s+", " ", html.unescape(answer.content.decode()))
    return re.sub(r"</?b>", "", text)


def ready_for_ballast(meeting: Meeting, capacity: str = "25 lb") -> list[BallastMount]:
    """The steward says the chassis' geometry and two mounts; no piece is left."""
    steward, chief = meeting.people.steward, meeting.people.chief
    with viewing_as(chief.pk):
        retire_ballast_piece(by=chief, piece=meeting.piece)
    with viewing_as(steward.pk):
        meeting.car.chassis = edit_chassis(
            by=steward, chassis=meeting.car.chassis, geometry=GEOMETRY
        )
        return [
            add_mount(
                by=steward,
                chassis=meeting.car.chassis,
                name=name,
                x=typed("length", x),
                y=typed("length", y),
                capacity=mass(capacity),
            )
            for name, x, y in (("Left rail", "18 in", "9 in"), ("Rear bar", "4 in", "-2 in"))
        ]


def piece(meeting: Meeting, marked: str, label: str = "27", **where: Any) -> BallastPiece:
    """One more piece of the team's: on the shelf unless a car is given."""
    by = meeting.people.chief
    with viewing_as(by.pk):
        return add_ballast_piece(
            by=by, team=meeting.people.team, label=label, marked_mass=mass(marked), **where
        )
