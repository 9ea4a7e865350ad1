"""Who may do what to cars, sheets and baselines. Each raises NotAllowed; `may` asks as a bool."""

from cars.models import (
    Advice,
    Baseline,
    Car,
    Chassis,
    Import,
    Run,
    SchoolDay,
    Sheet,
    SuggestionTable,
)
from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import User
from teams.models import Club, Driver, Team
from teams.permissions import (
    check_can_comment,
    check_can_crew,
    check_can_steward,
    check_can_write_sheets,
)
from teams.queries.roles import roles_of


def check_can_keep_chassis(user: User, chassis: Chassis) -> None:
    """Change a chassis, its mounts and its baselines: stewards of its club."""
    check_can_steward(user, chassis.club)


def check_can_keep_baseline(user: User, baseline: Baseline) -> None:
    """Draft, publish and copy a baseline: stewards of its club."""
    check_can_steward(user, baseline.club)


def check_can_keep_suggestions(user: User, table: SuggestionTable) -> None:
    """Draft, fill, publish and retire a table of suggestions: the club's its stewards, a team's
    own its crew, a coach's the coach, while they are one of that club.
    """
    if table.team is not None:
        check_can_crew(user, table.team)
    elif table.coach_id is None:
        check_can_steward(user, table.club)
    elif table.coach_id != user.pk:
        raise NotAllowed("Only the coach whose suggestions these are may do this.")
    else:
        check_can_coach(user, table.club)


def check_can_coach(user: User, club: Club) -> None:
    """Keep suggestions of one's own for the teams that link to one: coaches of the club."""
    if not roles_of(user).is_coach(club.pk):
        raise NotAllowed(f"Only a coach of {club} may do this.")


def _check_reads(user: User, car: Car) -> None:
    """Of a car that went to another team the row is read still, and that team is not."""
    known = Car._meta.get_field("team").is_cached(car)
    if not known and car.team_id not in roles_of(user).readable_teams:
        raise NotAllowed("This car is not with a team of yours.")


def check_can_keep_car(user: User, car: Car) -> None:
    """Edit a car and what is fixed to it: the crew of the team that has it."""
    _check_reads(user, car)
    check_can_crew(user, car.team)


def check_can_open_sheet(user: User, car: Car) -> None:
    """Open a sheet of a car: its crew, or a coach the team lets write."""
    _check_reads(user, car)
    check_can_write_sheets(user, car.team)


def check_can_note_run(user: User, run: Run) -> None:
    """Correct a run, note how it felt and its laps, strike it: whoever writes the team's sheets."""
    check_can_write_sheets(user, run.team)


def check_can_note_run_parts(user: User, run: Run) -> None:
    """Say which parts were on in a run: whoever notes it and may see the codes."""
    check_can_note_run(user, run)
    check_can_see_parts(user, run.team)


def check_can_write_sheet(user: User, sheet: Sheet) -> None:
    """Take readings on a sheet, note changes, close and correct it."""
    check_can_write_sheets(user, sheet.team)


def check_can_comment_on(user: User, sheet: Sheet) -> None:
    """Leave a comment on a sheet: the crew and linked coaches."""
    check_can_comment(user, sheet.team)


def check_can_see_parts(user: User, team: Team) -> None:
    """Read a team's parts and their marks: its members, or a coach it lets."""
    if not roles_of(user).may_see_codes(team.pk):
        raise NotAllowed(f"The codes of {team} are its own.")


def check_can_fit_part(user: User, sheet: Sheet) -> None:
    """Say which part is on a corner: whoever writes the sheet and may see the marks."""
    check_can_write_sheet(user, sheet)
    check_can_see_parts(user, sheet.team)


def check_can_advise(user: User, car: Car) -> None:
    """Leave advice on a car: the coaches whom the team that has it lets in."""
    if car.team_id not in roles_of(user).coached:
        raise NotAllowed(f"Only a coach whom {car.team} lets in may leave advice.")


def check_can_reply(user: User, advice: Advice) -> None:
    """Answer advice: the crew and linked coaches."""
    check_can_comment(user, advice.team)


def check_can_tick_off(user: User, advice: Advice) -> None:
    """Take advice off the pages it stands on: the crew, and the coach who left it."""
    if not (advice.by_id == user.pk and advice.team_id in roles_of(user).coached):
        check_can_crew(user, advice.team)


def check_can_see_progress(user: User, driver: Driver) -> None:
    """Read how a driver gets on: the crew and linked coaches; not guests."""
    if not roles_of(user).may_comment(driver.team_id):
        raise NotAllowed(f"Only the crew of {driver.team} or its coach may see progress.")


def check_can_export(user: User, team: Team) -> None:
    """Take everything a team owns away in an archive: its crew, not its guests."""
    check_can_crew(user, team)


def check_can_export_as_coach(user: User, team: Team) -> None:
    """Take away what a team lets its coach see: the coaches it lets in."""
    if team.pk not in roles_of(user).coached:
        raise NotAllowed(f"Only a coach whom {team} lets in may do this.")


def check_can_import_archive(user: User, team: Team) -> None:
    """Bring an archive into a team: its crew."""
    check_can_crew(user, team)


def check_can_import(user: User, row: Import) -> None:
    """Bring a file of runs or sheets in, and withdraw it: the crew of the team."""
    check_can_crew(user, row.team)


def check_can_plan_day(user: User, school_day: SchoolDay) -> None:
    """Write a plan for a school day and show it: the coach whose plan it is."""
    if school_day.by_id != user.pk:
        raise NotAllowed("Only the coach who planned this day may change it.")
    check_can_coach(user, school_day.club)


def check_can_send_out(user: User, car: Car) -> None:
    """Put a car into a plan for a school day: a coach its team lets in, or its own crew."""
    if not roles_of(user).may_comment(car.team_id):
        raise NotAllowed(f"Only the crew of {car.team} or a coach it lets in may send it out.")
