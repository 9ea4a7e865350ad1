"""Which pages are shown, to whom: all that the table of addresses in tests/guards has, and more."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from django.urls import reverse

from tests.guards.test_urls import ANSWERS, FOUND
from tests.pictures.rows import STEPS, Rows, State

# Who sees most of a page comes first.
ROLES = ("chief", "steward", "official", "coach", "crew", "guest", "rival", "nobody")
# Addresses that answer with no page of their own.
NO_PAGES = {
    "security-txt": "a file",
    "records-file": "a file",
    "print-file": "a file",
    "compare-file": "a file",
    "export-schema": "a file",
    "archive-attached": "a file",
    "ballast-photo-file": "a picture",
    "ballast-photo-small": "a picture",
    "print-state": "a part of the page of prints",
    "bench-now": "figures for a script",
    "bench": "leads to a step",
    "handed-over": "leads home; a browser that is handed over shows nothing else afterwards",
    "handed-over-back": "leads home, as the one before",
    "old-part-code": "leads on",
    "old-sheet-ballast": "leads on",
    "old-sheet-rods": "leads on",
    "old-calibration": "leads on",
    "old-own-targets": "leads on",
    "old-walk-in": "leads on",
    "car-imports": "leads on",
    "import-state": "an empty answer while it is worked on",
}
# Pages that differ from one reader to the next: each role has a picture of its own.
SEEN_BY = {
    "start": ("chief", "guest", "coach", "official", "steward"),
    "me": ("chief", "steward"),
    "club": ("steward", "chief"),
    "team": ("chief", "guest", "coach", "steward"),
    "cars": ("chief", "coach", "steward"),
    "car": ("chief", "coach"),
    "sheet": ("chief", "coach"),
    "events": ("chief", "official", "steward"),
    "event": ("chief", "official", "steward"),
    "entry": ("official", "chief"),
    "rule-set": ("steward", "chief"),
    "baseline": ("steward", "chief"),
    "suggestion-table": ("steward", "chief"),
    "club-suggestions": ("steward", "coach"),
    "chassis": ("steward", "chief"),
    "chassis-list": ("steward",),
    "rules": ("steward",),
    "scales": ("steward",),
    "scale-set": ("steward",),
    "draws": ("official",),
    "join": ("nobody",),
    "look": ("nobody",),
    "privacy": ("nobody",),
    "password-by-code": ("nobody",),
}
# The same address with another row is another picture.
MORE = {
    "sheet, closed": "chief",
    "sheet, target": "chief",
    "event, planned": "steward",
    "rule-set, draft": "steward",
    "baseline, draft": "steward",
    "suggestion-table, draft": "steward",
    "entry, voided": "official",
    **{f"bench-step, {step}": "chief" for step in STEPS},
}
# What look.md calls a layout: these are shown in the dark, and on two more widths.
LAYOUTS = (
    *("start, chief", "start, coach", "bench-step, ride-heights", "bench-step, scales"),
    *("sheet, closed", "car, chief", "sheet-turn", "drift", "entry, official", "desk", "look"),
    "event, official",
)
# allauth's, and the API's reference.
BEFORE_SIGNING_IN = {
    "account_login": "nobody",
    "account_reset_password": "nobody",
    "account_reset_password_done": "nobody",
    "account_signup": "nobody",
    "api-reference": "nobody",
}
SIGNED_IN = (
    *("account_logout", "account_email", "account_change_password", "account_reauthenticate"),
    *("mfa_index", "mfa_activate_totp", "mfa_add_webauthn", "mfa_list_webauthn"),
)


# Pages that come of a form: (the picture, the form's address, what is written, the button).
MADE: dict[str, tuple[str, str, dict[str, str], str]] = {
    "token made": ("token-new", "chief", {"What is it for?": "The trailer's display"}, "Make it"),
    "invitation made": ("club-invite", "steward", {}, "Make the link"),
    "code made": ("person-code", "steward", {}, "Make the code"),
    "compare, side by side": ("car-compare", "chief", {}, "Compare"),
    "form refused": ("track-new", "steward", {"Corner radius": "wide"}, "Add the track"),
}
# Pages of refusals: the address, and what it answers.
REFUSED = {"club-people, refused": ("club-people", "chief", 403)}


@dataclass(frozen=True)
class Page:
    """One sheet of pictures: an address as one person sees it."""

    name: str
    address: str
    role: str
    paths: dict[State, tuple[str, str]] = field(default_factory=dict)
    """For each state who visits (a key of `Rows.people`) and the path."""
    written: dict[str, str] = field(default_factory=dict)
    pressed: str = ""
    """What is written into a form by its labels, and the button that is pressed then."""
    status: int = 200

    @property
    def waits_for(self) -> str:
        """What a script puts on the page before there is anything to see."""
        return ".opblock" if self.address == "api-reference" else ""

    @property
    def is_layout(self) -> bool:
        return self.name in LAYOUTS


def pages_of(rows: dict[State, Rows]) -> list[Page]:
    """All, in the order of the table."""
    pages = [
        Page(name, address, role, _paths(name, address, role, rows))
        for name, address, role in wanted()
    ]
    for name, (address, role, written, pressed) in MADE.items():
        paths = _in_full(_paths(name, address, role, rows))
        pages.append(Page(name, address, role, paths, written, pressed))
    for name, (address, role, status) in REFUSED.items():
        paths = _in_full(_paths(name, address, role, rows))
        pages.append(Page(name, address, role, paths, status=status))
    return [*pages, Page("nowhere", "", "chief", {"full": ("chief", "/nowhere")}, status=404)]


def _in_full(paths: dict[State, tuple[str, str]]) -> dict[State, tuple[str, str]]:
    return {state: path for state, path in paths.items() if state == "full"}


def wanted() -> Iterator[tuple[str, str, str]]:
    """(name of the picture, name of the address, role)."""
    for address, (method, answers) in ANSWERS.items():
        if method == "post" or address in NO_PAGES or address == "bench-step":
            continue
        seen_by = SEEN_BY.get(address) or (_first_role(method, answers),)
        for role in seen_by:
            yield f"{address}, {role}" if len(seen_by) > 1 else address, address, role
    for name, role in MORE.items():
        yield name, name.partition(",")[0], role
    for address, role in BEFORE_SIGNING_IN.items():
        yield address, address, role
    for address in SIGNED_IN:
        yield address, address, "chief"


def _first_role(method: str, answers: dict[str, int]) -> str:
    shown = {200, 302} if method == "ask" else {200}
    return next(role for role in ROLES if answers.get(role) in shown)


def _paths(
    name: str, address: str, role: str, rows: dict[State, Rows]
) -> dict[State, tuple[str, str]]:
    found: dict[State, tuple[str, str]] = {}
    for state, of in rows.items():
        key = name if name in of.by_name else address
        arguments = of.arguments(key, FOUND.get(address, ""))
        if arguments is None or (state == "empty" and _is_same_empty(name)):
            continue
        found[state] = (_visitor(state, role, address, of), reverse(address, args=arguments))
    return found


def _is_same_empty(name: str) -> bool:
    """Whether a new club sees what every other sees, or nothing yet: what is no draft any more."""
    same = {"look", "privacy", "password-by-code", *BEFORE_SIGNING_IN, *SIGNED_IN}
    of_drafts = {"baseline, chief", "suggestion-table, chief"}
    of_closed = {"rule-set-retire", "suggestions-retire", "way-back"}
    return name in {*same, *of_drafts, *of_closed}


def _visitor(state: State, role: str, address: str, rows: Rows) -> str:
    if role == "nobody" or state == "full":
        return role
    role = {"crew": "chief", "rival": "chief"}.get(role, role)
    of_club = "<" not in FOUND.get(address, "") or FOUND[address].startswith(("clubs/", "teams/"))
    return f"new {role}" if of_club else f"bare {role}"
