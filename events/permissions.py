"""Who may do what around an event. Each raises NotAllowed; `is_allowed` asks as a bool."""

from clubsetup.access.errors import NotAllowed, is_allowed
from clubsetup.access.models import User
from events.models import Entry, Event, RuleSet, ScaleSet
from teams.models import Club, RaceClass, Team
from teams.permissions import check_can_crew, check_can_officiate, check_can_steward
from teams.queries.roles import roles_of


def check_can_keep_rules(user: User, of: RaceClass | RuleSet) -> None:
    """Draft, change, publish and retire a class's rules: stewards of its club."""
    check_can_steward(user, of.club)


def check_can_keep_scales(user: User, of: Club | ScaleSet) -> None:
    """Say which scales the club weighs with: its stewards."""
    check_can_steward(user, of.club if isinstance(of, ScaleSet) else of)


def check_can_run_event(user: User, event: Event) -> None:
    """Choose classes, start, end, publish: stewards of the club holding it."""
    check_can_steward(user, event.club)


def check_can_enter(user: User, event: Event, team: Team) -> None:
    """Enter a car of the team: its crew, if the team or they belong to the event's club."""
    check_can_crew(user, team)
    roles = roles_of(user)
    if team.club_id != event.club_id and event.club_id not in roles.clubs:
        raise NotAllowed(f"Only members of {event.club} enter its events.")


def check_can_enter_walk_in(user: User, event: Event) -> None:
    """Enter any car of the club's teams by its number: officials and stewards."""
    roles = roles_of(user)
    if not (roles.is_official(event.club_id) or roles.is_steward(event.club_id)):
        raise NotAllowed(f"Only an official or steward of {event.club} may do this.")


def check_can_confirm(user: User, entry: Entry) -> None:
    """Stand by an entry made by hand: the team's crew alone."""
    if not roles_of(user).is_crew(entry.team_id):
        raise NotAllowed("Only the team's crew confirm its entry.")


def check_can_change_entry(user: User, entry: Entry) -> None:
    """Withdraw or renumber: the team's crew, officials and stewards."""
    if not roles_of(user).is_crew(entry.team_id):
        check_can_enter_walk_in(user, entry.event)


def check_can_inspect(user: User, entry: Entry) -> None:
    """Weigh, check ballast, find and void: officials of the club holding the event."""
    check_can_officiate(user, entry.club)


def check_can_see_results(user: User, team: Team) -> None:
    """See what a team's entries came to: its members and coaches, the club's officials."""
    roles = roles_of(user)
    own = roles.is_member(team.pk) or team.pk in roles.coached
    if not (own or roles.is_official(team.club_id) or roles.is_steward(team.club_id)):
        raise NotAllowed(f"Only {team}, its coaches and the club's officials see its results.")


def may_see_desk(user: User, event: Event) -> bool:
    """Officials work at the desk; stewards look over it."""
    return is_allowed(check_can_enter_walk_in, user, event)
