"""What is erased and what stays, as it is read before."""

from clubsetup.site.counting import counted
from teams.models import Driver
from teams.queries.erasing import KeptOfDriver

ACCOUNT_GOES = (
    "Your name, your e-mail addresses and your password.",
    "Your passkeys, one-time codes and recovery codes, and every sign-in on every device.",
    "Your tokens for the API, and links with which you invited somebody and nobody came yet.",
    "Your places in clubs and teams, and what teams let you see as their coach.",
    "Your stored prints, and your own trail: when you signed in, and what you set.",
)
ACCOUNT_STAYS = (
    "What you did in a team or for a club: sheets, remarks, records, lines in their trails. They "
    "are the team's and the club's. 'Erased person' stands there in place of your name.",
    "What a team keeps, its drivers too: a chief erases a driver on the driver's page, before.",
    "What is on paper, and in files that somebody took away.",
)


def what_goes(driver: Driver, held: KeptOfDriver) -> list[str]:
    """In sentences: what is erased for good."""
    name = driver.display_name
    return [
        f"The driver {name} in your team"
        + (", with the birth date" if held.birth_dates else "")
        + (f" and {_count(held.weights, 'line')} of the weight log" if held.weights else "")
        + ".",
        f"What officials were told of the age: {_count(held.age_answers, 'answer')}.",
        f"Who drove, on {_count(held.sheets, 'sheet')} and in {_count(held.runs, 'run')}: the "
        "figures and laps stay, for the car.",
        f"The name {name} wherever your team wrote it in notes, remarks, reasons and names of "
        "cars: 'the driver' stands there instead, on closed sheets and in the trail too.",
        f"Stored prints that may show any of this: {_count(held.prints, 'print')}, whoever asked "
        "for them.",
    ]


def what_stays(driver: Driver, held: KeptOfDriver) -> list[str]:
    """In sentences: what stays, and why."""
    return [
        f"Official records: {_count(held.entries, 'entry', 'entries')} with number and the display "
        "name on them, and what officials weighed, looked at and found. They are the club's, and "
        "results rest on them.",
        "What is painted on ballast is its label here: change or retire a piece whose label says "
        f"{driver.display_name}.",
        "What is on paper, and in files that somebody took away.",
        "A line in your team's trail: that you erased a driver, and when; without the name.",
    ]


def _count(number: int, one: str, more: str = "") -> str:
    if number != 1 and more:
        return f"{number or 'no'} {more}"
    return counted(number, one) if number else f"no {one}s"
