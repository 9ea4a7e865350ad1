"""How much is taken on each sheet of a list, which a sub-select counts."""

from django.db.models import Count, Q

from cars.models import Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet
from cars.sheets.queries.sheets import sheets_of
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.people import People

READ = {"ride-height.LF": "2 1/4", "wheelbase.left": "46 1/4", "wheelbase.right": "46 3/4"}


def test_what_stands_and_was_read_there_is_counted(garage: Garage, people: People) -> None:
    by = people.crew
    with viewing_as(by.pk):
        found = garage.sheet(by)
        take_typed(by=by, sheet=found, typed=READ)
        take_typed(by=by, sheet=found, typed={"ride-height.LF": "2 3/8"})
        as_set = open_set_sheet(by=by, sheet=close_sheet(by=by, sheet=found))
        take_typed(by=by, sheet=as_set, typed={"ride-height.LF": "2 5/16"})
        empty = garage.sheet(by)
        taken = {sheet.pk: sheet.taken for sheet in sheets_of([garage.car])}  # type: ignore[attr-defined]
        assert taken == {found.pk: 3, as_set.pk: 1, empty.pk: 0}
        read = Q(readings__replaced_at__isnull=True, readings__carried_from__isnull=True)
        joined = Sheet.objects.annotate(joined=Count("readings", filter=read))
        assert taken == dict(joined.values_list("pk", "joined"))
        assert [sheet.pk for sheet in sheets_of([garage.car])[:1]] == [next(iter(taken))]
