"""Which of the first team's parts are on its car, weekend by weekend, and how long they may run."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from cars.garage.actions.parts import add_part
from cars.history.actions.parts_life import set_part_limit, set_part_start
from cars.models import Part, PartFitted, Sheet
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from clubsetup.access.models import User
from events.demo.track_days import Turned
from teams.models import Club, Team


class DemoParts:
    """Fits what the fixture says; a sheet takes over what was on the one before."""

    def __init__(self, by: User, team: Team, given: Mapping[str, Any]) -> None:
        for part in given["more"]:
            add_part(by=by, team=team, **part)
        rows = Part.objects.filter(team=team, code__isnull=False).select_related("code")
        self.parts = {part.code.code: part for part in rows}
        for start in given["came_with"]:
            set_part_start(by=by, part=self.parts[start["code"]], nights=start["nights"])
        self.fitted: dict[int, list[Any]] = defaultdict(list)
        for each in given["fitted"]:
            self.fitted[each["weekend"]].append(each)

    def carry(self, by: User, last: Sheet | None, to: Sheet, stands: Sequence[Turned] = ()) -> None:
        """What was on by the sheet before, but for what was swapped at the track since."""
        if last is None:
            return
        swapped = {turned.place for turned in stands}
        PartFitted.objects.bulk_create(
            PartFitted(
                sheet=to,
                team_id=to.team_id,
                part_id=row.part_id,
                sort=row.sort,
                spot=row.spot,
                by=by,
            )
            for row in PartFitted.objects.current().filter(sheet=last)
            if (Part.Sort(row.sort).adjuster, row.spot) not in swapped
        )

    def fit(self, by: User, sheet: Sheet, weekend: int) -> None:
        """What goes on while the car is set after this weekend."""
        for each in self.fitted[weekend]:
            fit_part(
                by=by,
                sheet=sheet,
                sort=each["sort"],
                spot=each["spot"],
                part=self.parts[each["code"]],
                seen=OVER_ANYTHING,
            )


def add_limits(by: User, given: Mapping[str, Any], whose: Club | Team) -> None:
    """Those of the club, or of the team."""
    of: dict[str, Any] = {"club" if isinstance(whose, Club) else "team": whose}
    for each in given["limits"]:
        if each["whose"] in of:
            most = Decimal(each["most"])
            set_part_limit(by=by, sort=each["sort"], per=each["per"], most=most, **of)
