"""Which pages are timed, and of what in the demo they are."""

from dataclasses import dataclass
from uuid import UUID

from cars.models import Car, Run, Sheet
from cars.runs.queries.helped import MOST_COMPARED
from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in
from events.models import Entry, Event
from teams.models import Club

API = "/api/v1/"


@dataclass(frozen=True)
class Demo:
    """Whom and what the pages are of, in the demo's own club."""

    club: UUID
    car: Car
    open_sheet: UUID
    closed_sheet: UUID
    event: UUID
    entry: UUID
    people: dict[str, User]
    runs: list[UUID]  # with laps on one surface, the newest first


@dataclass(frozen=True)
class Page:
    """One row of the table; of one that saves, `sent` is what a browser sends."""

    name: str
    who: str
    path: str
    sent: dict[str, str] | None = None


def pages_of(demo: Demo) -> list[Page]:
    """The pages and the lists."""
    car, team, sheet = demo.car.pk, demo.car.team_id, demo.open_sheet
    crew = {
        "start": "/",
        "cars": "/cars/",
        "car": f"/cars/{car}/",
        "car's sheets": f"/cars/{car}/sheets/",
        "sheet": f"/sheets/{sheet}/",
        "sheet closed": f"/sheets/{demo.closed_sheet}/",
        "sheet's history": f"/sheets/{sheet}/history",
        "bench": f"/sheets/{sheet}/bench/",
        "open a sheet": f"/cars/{car}/sheets/new",
        "drift": f"/cars/{car}/drift",
        "at the track": f"/cars/{car}/track",
        "runs": f"/cars/{car}/runs",
        "did it help": f"/cars/{car}/did-it-help",
        "API runs": f"{API}runs",
        **of_runs(demo),
        "what to turn": f"/sheets/{sheet}/turn",
        "what if": f"/sheets/{sheet}/what-if",
        "what it taught": f"/cars/{car}/calibration",
        "team's trail": f"/teams/{team}/trail",
        "own trail": "/me/trail",
        "team's results": f"/teams/{team}/results",
        "events": "/events/",
        "event": f"/events/{demo.event}/",
        **{
            f"API {name}": f"{API}{name}"
            for name in ("readings", "sheets", "changes", "findings", "weigh-ins")
        },
        "API ballast-checks": f"{API}ballast-checks",
        "API plans": f"{API}plans",
        "API sheet's trail": f"{API}sheets/{sheet}/trail",
    }
    club = {
        "club's trail": ("maren", f"/clubs/{demo.club}/trail"),
        "event, official": ("ossian", f"/events/{demo.event}/"),
        "desk entry": ("ossian", f"/entries/{demo.entry}/"),
        "API weigh-ins, official": ("ossian", f"{API}weigh-ins"),
        "API findings, official": ("ossian", f"{API}findings"),
    }
    return [
        *(Page(name, "isa", path) for name, path in crew.items()),
        *(Page(name, who, path) for name, (who, path) in club.items()),
        Page("save a run", "isa", f"/cars/{car}/track", sent=demo_run(demo)),
    ]


def of_runs(demo: Demo) -> dict[str, str]:
    """The pages of runs, where there are some: one, and a season of them compared."""
    if not demo.runs:
        return {}
    season = demo.runs[: 2 * MOST_COMPARED]
    groups = [f"{('before', 'after')[n % 2]}={run}" for n, run in enumerate(season)]
    return {
        "run": f"/runs/{demo.runs[0]}/",
        "helped, a season": f"/cars/{demo.car.pk}/did-it-help?{'&'.join(groups)}",
    }


def demo_run(demo: Demo) -> dict[str, str]:
    """Six taps, and what is filled in beforehand."""
    sheet = Sheet.objects.using("owner").get(pk=demo.closed_sheet)
    taps = {"entry": "loose", "middle": "turns", "exit": "turns", "hands": "straight"}
    filled = {"kind": "practice", "driver": str(sheet.driver_id), "track": str(sheet.track_id)}
    return {**taps, "steering": "good", **filled}


def find_demo() -> Demo:
    """The demo's own, looked up as the owner."""
    emails = {who: f"{who}@alder-hollow.example" for who in ("isa", "maren", "ossian")}
    club = Club.objects.using("owner").get(short_name="alder-hollow")
    cars = Car.objects.using("owner").filter(team__club=club)
    car = cars.order_by("created_at")[0]
    sheets = Sheet.objects.using("owner").filter(car=car)
    event = Event.objects.using("owner").get(club=club, name="Lantern Night")
    people = {}
    for who, email in emails.items():
        key = User.objects.using("owner").get(email=email).pk
        with signing_in(person=key):
            people[who] = User.objects.get(pk=key)
    return Demo(
        club=club.pk,
        car=car,
        open_sheet=sheets.get(state="open").pk,
        closed_sheet=sheets.filter(state="closed").latest("made_on", "created_at").pk,
        event=event.pk,
        entry=Entry.objects.using("owner").filter(event=event, car=car).latest("created_at").pk,
        people=people,
        runs=_runs_of(car),
    )


def _runs_of(car: Car) -> list[UUID]:
    rows = Run.objects.using("owner").filter(
        car=car, details__surface="paved", laps__marks__contains=[""]
    )
    return list(rows.order_by("-ran_at").values_list("pk", flat=True)[: 2 * MOST_COMPARED])
