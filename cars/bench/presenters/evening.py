"""How far an evening at the bench has come: what is left to take, and what may be done next."""

from dataclasses import dataclass

from cars.bench.presenters.bench_view import whole_view
from cars.bench.queries.versions import version_of
from cars.models import Sheet, Step
from cars.permissions import check_can_write_sheet
from cars.sheets.presenters.sheet_view import SheetView
from cars.sheets.queries.sheets import set_sheet_of
from cars.sheets.queries.targets import TargetSource, target_source_of
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User


@dataclass(frozen=True, slots=True)
class Evening:
    """A sheet on the bench as a whole, as somebody may go on with it."""

    sheet: Sheet
    view: SheetView
    target_source: TargetSource
    version: str
    may_write: bool
    set_sheet: Sheet | None  # the sheet as set that follows a found one
    newer: Sheet | None  # the version that corrects it

    @property
    def is_open(self) -> bool:
        """Readings can be taken."""
        return self.sheet.state == Sheet.State.OPEN

    @property
    def go_on(self) -> Step:
        """The first step with something not taken or to be taken again; or the last."""
        return self.view.open_step

    @property
    def may_close(self) -> bool:
        """Whoever looks may close it now."""
        return self.may_write and self.is_open

    @property
    def may_follow(self) -> bool:
        """Whoever looks may open the sheet as set after it now."""
        is_last_found = (
            self.sheet.role == Sheet.Role.FOUND and not self.set_sheet and not self.newer
        )
        return self.may_write and not self.is_open and is_last_found


def evening_of(sheet: Sheet, viewer: User) -> Evening:
    """The whole bench, judged by its targets."""
    return Evening(
        sheet=sheet,
        view=whole_view(sheet, viewer),
        target_source=target_source_of(sheet),
        version=version_of(sheet.pk) or "",
        may_write=is_allowed(check_can_write_sheet, viewer, sheet),
        set_sheet=set_sheet_of(sheet),
        newer=getattr(sheet, "corrected_by", None),
    )
