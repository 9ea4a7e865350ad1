"""The phone in the driver's hands: what it is handed over for, and what the driver says there."""

from collections.abc import Mapping

from cars.models import Feel, Run
from cars.permissions import check_can_note_run
from cars.runs.actions.runs import FeelSaid, held_run, note_feel
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.actions import action, record
from clubsetup.access.errors import WrongState
from clubsetup.access.handed_over import hand_over
from clubsetup.access.models import User

STRUCK = "This run is struck: nothing more is said of it."


@action
def hand_to_driver(*, by: User, run: Run, browser: str, code: str) -> None:
    """From now on this browser gets the page about how the run felt, until the code.

    Raises Invalid for a code that is none.
    """
    check_can_note_run(by, run)
    if run.struck_at is not None:
        raise WrongState(STRUCK)
    hand_over(by=by, browser=browser, about=run.pk, code=code)
    record(by=by, did="handed_over", on=run, team_id=run.team_id)


@action
def note_driver_alone(*, by: User, run: Run, answers: Mapping[str, str]) -> Feel | None:
    """What the driver answered alone, '' for what they do not know.

    What they left out stays as the handler noted it for them.
    """
    check_can_note_run(by, run)
    run = held_run(run)  # before it is read what stands
    standing = Feel.objects.current().filter(run=run, said_by=Feel.SaidBy.DRIVER).first()
    noted = {name: getattr(standing, name) if standing else "" for name in FeelSaid._fields}
    return note_feel(
        by=by,
        run=run,
        said_by=Feel.SaidBy.DRIVER,
        feel=FeelSaid(**{**noted, **answers}),
        expected=OVER_ANYTHING,
        handed_over=True,
    )
