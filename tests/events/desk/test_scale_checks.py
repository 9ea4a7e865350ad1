"""Checks of the scales: what passes, what a weigh-in rests on, who may."""

from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test import Client

from clubsetup.access.errors import Invalid, NotAllowed
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from events.actions.scale_checks import LoadRead, check_scales, set_corrections
from events.models import ScaleCheck, ScaleSet, WeighIn
from events.queries.scales import HOLDS, Standing, scale_states, standing_check
from tests.events.desk.conftest import EVERYBODY, STRANGERS, answers, expected
from tests.events.meeting import Meeting, mass, pads

FOUR = ("LF", "RF", "LR", "RR")
POUND = 0.45359237


def loads(shown: dict[str, str] | None = None, added: str | None = None) -> list[LoadRead]:
    """80 lb on every pad, which shows 80 unless said otherwise."""
    shown = {**dict.fromkeys(FOUR, "80.0"), **(shown or {})}
    extra = mass(added) if added else None
    return [LoadRead(pad, mass("80"), mass(text), extra) for pad, text in shown.items()]


def check(meeting: Meeting, shown: dict[str, str] | None = None, **more: Any) -> ScaleCheck:
    by = more.pop("by", meeting.people.official)
    given = {"scale_set": meeting.scales, "pads_level": True, "loads": loads(shown), **more}
    with viewing_as(by.pk):
        return check_scales(by=by, **given)


def form(**changed: str) -> dict[str, str]:
    """What the official's browser sends."""
    given = {"row_id": str(uuid4()), "pads_level": "yes", "level_note": "water level"}
    for pad in FOUR:
        given |= {f"{pad}_reference": "80 lb", f"{pad}_indicated": "80.2", f"{pad}_added": ""}
    return {**given, **changed}


# What passes


def test_every_pad_right_passes_and_keeps_what_was_typed(meeting: Meeting) -> None:
    made = check(meeting)
    assert made.passed
    assert [one["pad"] for one in made.loads] == list(FOUR)
    assert made.loads[0]["typed"] == {"reference": "80", "indicated": "80.0"}
    assert Decimal(made.loads[0]["reference"]) == mass("80").value


def test_the_limit_is_that_of_class_iii_in_service(meeting: Meeting) -> None:
    # 80 lb is 400 e of 0.2 lb: +-0.5 e, twice that in service = 0.2 lb (OIML R 76-1:2006, table 6).
    made = check(meeting, {"RF": "80.2"})
    assert float(made.loads[1]["allowed"]) == pytest.approx(0.2 * POUND)
    assert made.passed
    assert not check(meeting, {"RF": "80.4"}).passed


def test_one_bad_pad_fails_the_set_and_says_which(meeting: Meeting) -> None:
    made = check(meeting, {"LR": "79.4"})
    assert [one["pad"] for one in made.loads if not one["within"]] == ["LR"]
    assert not made.passed


def test_pads_that_are_not_level_fail_the_set(meeting: Meeting) -> None:
    assert not check(meeting, pads_level=False).passed


def test_the_extra_mass_counts(meeting: Meeting) -> None:
    made = check(meeting, loads=loads(added="0.1"))
    # E = I + e/2 - dL - L = 80 + 0.1 - 0.1 - 80 (A.4.4.3).
    assert float(made.loads[0]["error"]) == pytest.approx(0.0, abs=1e-9)
    assert float(made.loads[0]["u"]) == pytest.approx(0.02 * POUND / 12**0.5)


def test_a_platform_is_checked_as_one(meeting: Meeting) -> None:
    whole = [LoadRead("car", mass("150 kg"), mass("150.1 kg"))]
    assert check(meeting, scale_set=meeting.platform, loads=whole).passed


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"loads": loads()[:3]}, "RR_indicated"),
        ({"loads": [*loads(), LoadRead("car", mass("80"), mass("80"))]}, "loads"),
        ({"loads": [*loads()[1:], LoadRead("LF", mass("0"), mass("0"))]}, "LF_reference"),
        ({"loads": [*loads()[1:], LoadRead("LF", mass("80"), mass("80"), mass("3"))]}, "LF_added"),
    ],
)
def test_what_is_no_check_is_refused(meeting: Meeting, given: dict[str, Any], field: str) -> None:
    with pytest.raises(Invalid) as refusal:
        check(meeting, **given)
    assert refusal.value.field == field


# What stands


def test_the_newest_check_stands(meeting: Meeting) -> None:
    failed = check(meeting, {"LF": "81"})
    with viewing_as(meeting.people.official.pk):
        assert standing_check(meeting.scales) == failed
    passed = check(meeting)
    with viewing_as(meeting.people.official.pk):
        assert standing_check(meeting.scales) == passed
        assert ScaleCheck.objects.count() == 2


def test_a_check_stands_for_its_day_and_no_longer(meeting: Meeting) -> None:
    made = check(meeting)
    with viewing_as(meeting.people.official.pk):
        last = made.created_at + HOLDS - timedelta(seconds=1)
        assert standing_check(meeting.scales, at=last) == made
        assert standing_check(meeting.scales, at=last + timedelta(seconds=2)) is None
        assert standing_check(meeting.scales, at=made.created_at - timedelta(seconds=1)) is None


def test_every_set_says_where_it_stands(meeting: Meeting) -> None:
    check(meeting, {"LF": "81"})
    with viewing_as(meeting.people.official.pk):
        states = {s.scale_set.name: s.standing for s in scale_states(meeting.people.club.pk)}
    assert states == {"Four pads": Standing.FAILED, "Platform": Standing.UNCHECKED}


# What a weigh-in rests on


def test_a_weigh_in_rests_on_the_check(meeting: Meeting) -> None:
    assert meeting.weigh("321").scale_check is None
    made = check(meeting, {"LF": "80.2", "RR": "80.2"})
    weigh_in = meeting.weigh("321")
    assert weigh_in.scale_check == made
    assert weigh_in.correction is not None
    assert float(weigh_in.correction) == pytest.approx(-0.4 * POUND, abs=2e-6)
    assert float(weigh_in.u_correction or 0) == pytest.approx(2 * 0.2 * POUND / 12**0.5, abs=1e-6)


def test_the_correction_is_stated_and_not_counted_unless_the_club_says_so(meeting: Meeting) -> None:
    check(meeting, {"LF": "80.2", "RR": "80.2"})
    assert not meeting.weigh("320").corrected
    assert meeting.outcomes()["minimum_weight"] == "meets"
    with viewing_as(meeting.people.steward.pk):
        set_corrections(by=meeting.people.steward, scale_set=meeting.scales, applied=True)
    weigh_in = meeting.weigh("320")
    finding = meeting.standing()["minimum_weight"]
    assert finding.outcome == "fails"
    assert finding.evidence["value"] == pytest.approx(319.6 * POUND, abs=1e-5)
    both = (float(weigh_in.u_total) ** 2 + float(weigh_in.u_correction or 0) ** 2) ** 0.5
    assert finding.evidence["u"] == pytest.approx(both)
    # The reading itself stays as it was typed.
    assert weigh_in.total == mass("320").value


def test_each_pad_is_corrected_for_the_shares(meeting: Meeting) -> None:
    check(meeting, {"LF": "80.2", "LR": "80.2"})
    with viewing_as(meeting.people.steward.pk):
        set_corrections(by=meeting.people.steward, scale_set=meeting.scales, applied=True)
    meeting.weigh(pads=pads("95.2", "72", "96.4", "70"))
    value = meeting.standing()["left_limit"].evidence["value"]
    assert value == pytest.approx(100 * (95.0 + 96.2) / 333.2, abs=1e-4)


def test_a_failed_check_corrects_nothing(meeting: Meeting) -> None:
    failed = check(meeting, {"LF": "81"})
    weigh_in = meeting.weigh("321")
    assert weigh_in.scale_check == failed
    assert weigh_in.correction is None
    assert not weigh_in.corrected


def test_another_sets_check_is_refused_by_the_database(meeting: Meeting) -> None:
    wrong = check(meeting, scale_set=meeting.platform, loads=[LoadRead("car", *[mass("80")] * 2)])
    by = meeting.people.official
    given = {
        "entry": meeting.entry,
        "club_id": meeting.entry.club_id,
        "team_id": meeting.entry.team_id,
        "by": by,
        "stage": "entry",
        "scale_set": meeting.scales,
        "driver_in": True,
        "total": mass("321").value,
        "u_total": Decimal("0.05"),
    }

    def keep(made: ScaleCheck) -> None:
        WeighIn.objects.create(**given, scale_check=made)
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")

    with viewing_as(by.pk):
        with pytest.raises(IntegrityError), transaction.atomic():
            keep(wrong)
        right = check(meeting)
        with pytest.raises(IntegrityError, match="without its line"), transaction.atomic():
            keep(right)


# Who


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "official"])
def test_only_an_official_of_the_club_checks(meeting: Meeting, name: str) -> None:
    with pytest.raises(NotAllowed):
        check(meeting, by=getattr(meeting.people, name))
    with viewing_as(meeting.people.steward.pk):
        assert not ScaleCheck.objects.exists()


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "steward"])
def test_only_a_steward_turns_corrections_on(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        set_corrections(by=who, scale_set=meeting.scales, applied=True)


@pytest.mark.parametrize("name", ["official", "steward", "chief"])
def test_nobody_changes_or_removes_a_check(meeting: Meeting, name: str) -> None:
    made = check(meeting, {"LF": "81"})
    with viewing_as(getattr(meeting.people, name).pk):
        for write in (
            lambda: ScaleCheck.objects.filter(pk=made.pk).update(passed=True),
            lambda: ScaleCheck.objects.filter(pk=made.pk).delete(),
        ):
            with pytest.raises(DatabaseError), transaction.atomic():
                write()


def test_a_check_in_anothers_name_is_refused(meeting: Meeting) -> None:
    official, steward = meeting.people.official, meeting.people.steward
    with viewing_as(official.pk), pytest.raises(DatabaseError), transaction.atomic():
        ScaleCheck.objects.create(
            scale_set=meeting.scales,
            club=meeting.people.club,
            by=steward,
            division=meeting.scales.division,
            pads_level=True,
            loads=[],
            passed=True,
        )


@pytest.mark.parametrize("name", STRANGERS)
def test_another_club_sees_no_check(meeting: Meeting, name: str) -> None:
    check(meeting)
    with viewing_as(getattr(meeting.people, name).pk):
        assert not ScaleCheck.objects.exists()


def test_who_is_let_in(meeting: Meeting) -> None:
    made = check(meeting)
    assert answers(meeting, f"/scale-checks/{made.pk}/") == expected(members=200)
    assert answers(meeting, f"/scale-sets/{meeting.scales.pk}/") == expected(members=200)
    to_check = f"/scale-sets/{meeting.scales.pk}/check"
    assert answers(meeting, to_check) == expected(members=403, official=200)
    sent = answers(meeting, to_check, form())
    assert sent == expected(members=403, official=302)


def test_the_trail_says_who_checked(meeting: Meeting) -> None:
    made = check(meeting)
    with viewing_as(meeting.people.steward.pk):
        line = TrailLine.objects.get(on_id=made.pk)
    assert (line.did, line.by_id, line.detail) == (
        "checked",
        meeting.people.official.pk,
        {"passed": True},
    )


# The pages


@pytest.fixture
def desk(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.official)
    return client


def test_the_desk_says_in_red_words_what_was_not_checked(desk: Client, meeting: Meeting) -> None:
    url = f"/events/{meeting.event.pk}/desk"
    text = desk.get(url).content.decode()
    assert "Four pads: not checked today." in text
    assert text.index("not checked today") < text.index("Robin")
    check(meeting, {"LF": "81"})
    assert "Four pads: failed the check of" in desk.get(url).content.decode()
    check(meeting)
    whole = [LoadRead("car", mass("150 kg"), mass("150 kg"))]
    check(meeting, scale_set=meeting.platform, loads=whole)
    assert "scale-warning" not in desk.get(url).content.decode()


def test_the_car_at_the_scales_says_it_too(desk: Client, meeting: Meeting) -> None:
    url = f"/entries/{meeting.entry.pk}/"
    assert "Platform: not checked today." in desk.get(url).content.decode()
    meeting.weigh("321")
    assert "scales not checked that day" in desk.get(url).content.decode()
    check(meeting, {"LF": "80.2"})
    meeting.weigh("321")
    assert "correction −0.200 lb ± 0.231 lb not counted in" in desk.get(url).content.decode()


def test_checking_on_the_page(desk: Client, meeting: Meeting) -> None:
    url = f"/scale-sets/{meeting.scales.pk}/check"
    sent = form()
    page = desk.post(url, sent, follow=True)
    assert "checked, passed" in page.content.decode()
    assert "+0.200 lb" in page.content.decode()
    # A double tap keeps one.
    again = desk.post(url, sent, follow=True)
    assert again.status_code == 200
    with viewing_as(meeting.people.official.pk):
        assert ScaleCheck.objects.count() == 1
    # The next check offers the same masses.
    assert 'value="80 lb"' in desk.get(url).content.decode()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"RF_indicated": ""}, "Fill in “Display shows on RF”: it is needed."),
        ({"RF_indicated": "heavy"}, "heavy"),
        ({"pads_level": ""}, "Choose one for “The pads stand level"),
        ({"LF_reference": "0"}, "cannot be right: a reference mass is between"),
    ],
)
def test_what_cannot_be_kept_is_said_beside_the_box(
    desk: Client, meeting: Meeting, changed: dict[str, str], said: str
) -> None:
    page = desk.post(f"/scale-sets/{meeting.scales.pk}/check", form(**changed))
    assert page.status_code == 200
    assert said in page.content.decode()
    with viewing_as(meeting.people.official.pk):
        assert not ScaleCheck.objects.exists()


def test_a_steward_turns_the_corrections_on_and_off(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.steward)
    url = f"/scale-sets/{meeting.scales.pk}/corrections"
    for word, now in (("yes", True), ("yes", True), ("no", False)):
        client.post(url, {"applied": word})
        with viewing_as(meeting.people.steward.pk):
            assert ScaleSet.objects.get(pk=meeting.scales.pk).apply_corrections is now
