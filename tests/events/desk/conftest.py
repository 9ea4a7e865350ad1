"""What the tests around the desk share: the meeting, and everybody's way in."""

from django.test import Client

from tests.events.meeting import Meeting

# Who is of the club holding the event, and who cannot see that it exists.
MEMBERS = ("official", "steward", "chief", "crew", "guest", "coach", "unlinked_coach", "rival")
STRANGERS = ("other_official", "other_steward", "stranger")
EVERYBODY = (*MEMBERS, *STRANGERS)


def answers(meeting: Meeting, path: str, data: dict[str, str] | None = None) -> dict[str, int]:
    """What a page answers to each person, by name; 'nobody' is not signed in."""
    found = {}
    for name in (*EVERYBODY, "nobody"):
        client = Client()
        if name != "nobody":
            client.force_login(getattr(meeting.people, name))
        answer = client.get(path) if data is None else client.post(path, data)
        found[name] = answer.status_code
    return found


def expected(**codes: int) -> dict[str, int]:
    """Everybody's answer: `members`, `strangers` and `nobody`, then exceptions by name."""
    members, strangers = codes.pop("members"), codes.pop("strangers", 404)
    found = dict.fromkeys(MEMBERS, members) | dict.fromkeys(STRANGERS, strangers)
    return {**found, "nobody": 302, **codes}
