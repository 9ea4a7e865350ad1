"""Tech cards, labels, weigh-in list and record book: what stands on them, and who gets them."""

import io
import re

import pypdf
import pytest
from django.http import Http404
from django.test import Client

from cars.garage.actions.ballast import add_ballast_piece
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from clubsetup.runtime.public import public_address
from events.printing.presenters.label_sheets import PAPERS, SHEETS
from events.printing.presenters.labels import Label, sheets_of, weight
from events.records.queries.records import records_of
from tests.events.desk.conftest import EVERYBODY, STRANGERS, answers, expected
from tests.events.desk.test_records import kept  # noqa: F401 - a fixture
from tests.events.meeting import Meeting, mass

OF_EVENT = ("tech-cards", "weigh-in-list", "record-book")
TEAM = ("chief", "crew", "guest", "coach")


def html(meeting: Meeting, key: str, who: str = "official", subject: object = None) -> str:
    """What a person's print is made from."""
    viewer = getattr(meeting.people, who)
    subject = subject or (meeting.event if key in OF_EVENT else meeting.entry)
    with viewing_as(viewer.pk):
        document = document_for(key)
        return document.html(document.subject(subject.pk), viewer)  # type: ignore[attr-defined]


def pages(key: str, text: str) -> list[str]:
    """The text of each page of the PDF."""
    made = render(Source(text, document_for(key).styles))
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made.content)).pages]


@pytest.fixture
def address(monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("CLUBSETUP_ADDRESS", "https://club.example/")
    return "https://club.example"


# Tech card


def test_a_tech_card_says_who_and_what_to_check(meeting: Meeting, address: str) -> None:
    (page,) = pages("tech-card", html(meeting, "tech-card"))
    for words in ("27", "Robin", "Junior", "June Meeting", "At least 320 lb", "4 lb", "Scan"):
        assert words in page


def test_its_code_is_that_of_the_entry(meeting: Meeting, address: str) -> None:
    # The same code drawn once more from the address we expect; a scanner reads what segno writes.
    import segno  # noqa: PLC0415

    expected_code = segno.make(f"{address}/entries/{meeting.entry.pk}/", error="m", micro=False)
    assert expected_code.svg_inline(border=4, omitsize=True) in html(meeting, "tech-card")
    other = html(meeting, "tech-card", subject=meeting.rival_entry)
    assert expected_code.svg_inline(border=4, omitsize=True) not in other


def test_without_an_address_there_is_no_code_and_it_says_so(meeting: Meeting) -> None:
    assert public_address() == ""
    card = html(meeting, "tech-card")
    assert "does not know its address" in card
    assert "set CLUBSETUP_ADDRESS" in card


def test_the_address_is_that_of_the_running_service(
    settings: object, tmp_path: object, meeting: Meeting
) -> None:
    settings.DATA_DIR = tmp_path  # type: ignore[attr-defined]
    (tmp_path / "up.lock").write_text("http://127.0.0.1:8000/ http://10.0.0.7:8000/")  # type: ignore[operator]
    assert public_address() == "http://10.0.0.7:8000"


def test_every_card_of_an_event_is_a_page(meeting: Meeting, address: str) -> None:
    first, second = pages("tech-cards", html(meeting, "tech-cards"))
    assert "Robin" in first
    assert "Sky" in second


@pytest.mark.parametrize("who", ["official", "steward", *TEAM])
def test_who_sees_the_entry_prints_its_card(meeting: Meeting, who: str) -> None:
    assert "Robin" in html(meeting, "tech-card", who)


@pytest.mark.parametrize("who", ["rival", "unlinked_coach", *STRANGERS])
def test_nobody_else_does(meeting: Meeting, who: str) -> None:
    with pytest.raises(Http404):
        html(meeting, "tech-card", who)
    viewer = getattr(meeting.people, who)
    with viewing_as(viewer.pk), pytest.raises(Http404):
        ask_for_print(by=viewer, document="tech-card", subject_id=meeting.entry.pk)


# List and book


def test_the_weigh_in_list_holds_weights_and_room_for_more(meeting: Meeting) -> None:
    meeting.weigh("318.6")
    meeting.weigh("317", stage="after")
    (page,) = pages("weigh-in-list", html(meeting, "weigh-in-list"))
    assert re.search(r"27\s*Robin\s*Wrens\s*318\.6 lb\s*317 lb", page)
    assert "Fails" in page
    assert "Sky" in page


def test_what_is_void_is_not_in_the_list(kept: Meeting) -> None:  # noqa: F811
    text = html(kept, "weigh-in-list")
    assert "325" not in text
    assert "321.4 lb" in text


def test_the_record_book_holds_everything_and_the_last_hash(kept: Meeting) -> None:  # noqa: F811
    with viewing_as(kept.people.official.pk):
        last = records_of(kept.event).last_hash
    text = " ".join(pages("record-book", html(kept, "record-book")))
    assert last in re.sub(r"\s", "", text)
    for words in ("325 lb", "Void: Another", "321.4 lb", "rail", "passed", "Found before", "Wrens"):
        assert words in text, words


def test_a_record_more_is_another_hash_in_the_book(kept: Meeting) -> None:  # noqa: F811
    before = html(kept, "record-book")
    assert before == html(kept, "record-book")
    kept.weigh("322")
    assert before != html(kept, "record-book")


def test_a_name_cannot_write_markup(meeting: Meeting) -> None:
    with viewing_as(meeting.people.chief.pk):
        add_ballast_piece(
            by=meeting.people.chief,
            team=meeting.people.team,
            label="<b>x</b>",
            marked_mass=mass("1"),
            car=meeting.car,
        )
    assert "<b>x</b>" not in html(meeting, "tech-card")
    assert "<b>x</b>" not in html(meeting, "entry-labels-a4-8")
    assert "&lt;b&gt;x" in html(meeting, "entry-labels-a4-8")


@pytest.mark.parametrize("key", OF_EVENT)
@pytest.mark.parametrize("who", [n for n in EVERYBODY if n not in ("official", "steward")])
def test_prints_of_the_event_are_the_desks(meeting: Meeting, key: str, who: str) -> None:
    viewer = getattr(meeting.people, who)
    with viewing_as(viewer.pk), pytest.raises(Http404):
        ask_for_print(by=viewer, document=key, subject_id=meeting.event.pk)


# Labels


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_labels_stand_on_the_paper_and_beside_each_other(sheet: object) -> None:
    width, height = PAPERS[sheet.paper]  # type: ignore[attr-defined]
    places = sheet.places(sheet.each + 1)  # type: ignore[attr-defined]
    assert [len(page) for page in places] == [sheet.each, 1]  # type: ignore[attr-defined]
    for x, y in places[0]:
        assert 0 <= x <= width - sheet.width + 1e-6  # type: ignore[attr-defined]
        assert 0 <= y <= height - sheet.height + 1e-6  # type: ignore[attr-defined]
    for a, b in zip(places[0], places[0][1:], strict=False):
        apart = abs(a[0] - b[0]) >= sheet.width - 1e-6  # type: ignore[attr-defined]
        assert apart or abs(a[1] - b[1]) >= sheet.height - 1e-6  # type: ignore[attr-defined]


def test_the_margins_of_a_letter_sheet_of_thirty() -> None:
    # 3/16 in from the left, 1/2 in from the top, 2 3/4 in from column to column: from memory.
    sheet = SHEETS[0]
    assert sheet.left == pytest.approx(3 / 16 * 25.4)
    assert sheet.top == pytest.approx(0.5 * 25.4)
    (page,) = sheet.places(2)
    assert page[1][0] - page[0][0] == pytest.approx(2.75 * 25.4)


@pytest.mark.parametrize(
    ("typed", "unit", "said"),
    [("4 lb", "lb", "4 lb"), ("4 lb", "kg", "1.81 kg"), ("2.5 kg", "lb", "5.51 lb")],
)
def test_weights_in_both_units(typed: str, unit: str, said: str) -> None:
    assert weight(mass(typed).value, unit) == said


def test_a_long_name_is_shrunk_and_stands_on_two_lines() -> None:
    def sizes(name: str) -> list[float]:
        (svg,) = sheets_of([Label("27", name, "4 lb", "1.81 kg")], SHEETS[0])
        return [float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)]

    short, long = sizes("Robin"), sizes("W" * 40)
    assert len(long) == len(short) + 1
    assert long[2] == long[3] < short[2] / 2
    assert long[4:] == short[3:]  # the weight is as large as ever


@pytest.mark.parametrize("key", ["entry-labels-letter-30", "entry-labels-a4-8"])
def test_a_label_says_number_name_and_weight(meeting: Meeting, key: str) -> None:
    (page,) = pages(key, html(meeting, key))
    for words in ("27", "Robin", "4 lb", "1.81 kg"):
        assert words in page


def test_more_pieces_than_labels_take_another_sheet(meeting: Meeting) -> None:
    with viewing_as(meeting.people.chief.pk):
        for n in range(8):
            add_ballast_piece(
                by=meeting.people.chief,
                team=meeting.people.team,
                label=f"P{n}",
                marked_mass=mass("1"),
                car=meeting.car,
            )
    key = "car-labels-a4-8"
    assert len(pages(key, html(meeting, key, "chief", meeting.car))) == 2


def test_labels_of_a_car_are_the_teams(meeting: Meeting) -> None:
    for who in TEAM:
        assert "Wrens" in html(meeting, "car-labels-a4-8", who, meeting.car)
    for who in ("official", "steward", "rival", "unlinked_coach", *STRANGERS):
        with pytest.raises(Http404):
            html(meeting, "car-labels-a4-8", who, meeting.car)


# Where they are offered


def test_who_is_offered_them(meeting: Meeting) -> None:
    desk = expected(members=403, official=200, steward=200)
    assert answers(meeting, f"/events/{meeting.event.pk}/prints") == desk
    entry = expected(members=200, unlinked_coach=404, rival=404)
    assert answers(meeting, f"/entries/{meeting.entry.pk}/prints") == entry
    car = expected(members=200, unlinked_coach=404, rival=404, official=404, steward=404)
    assert answers(meeting, f"/cars/{meeting.car.pk}/labels") == car


def test_every_button_asks_for_a_document_there_is(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.official)
    found = []
    for path in (f"/events/{meeting.event.pk}/prints", f"/entries/{meeting.entry.pk}/prints"):
        text = client.get(path).content.decode()
        found += re.findall(r'name="document" value="([^"]+)"', text)
    assert len(found) == 3 + 1 + len(SHEETS)
    assert all(document_for(key) for key in found)


# The code leads where it should


def test_the_scanned_address_opens_the_desk_or_the_familys_own_page(meeting: Meeting) -> None:
    path = f"/entries/{meeting.entry.pk}/"
    allowed = expected(members=200, unlinked_coach=404, rival=404)
    assert answers(meeting, path) == allowed
    for who, sees in (("official", True), ("chief", False), ("coach", False)):
        client = Client()
        client.force_login(getattr(meeting.people, who))
        assert ("Weigh in" in client.get(path).content.decode()) is sees


def test_signed_out_it_leads_back_after_signing_in(client: Client, meeting: Meeting) -> None:
    path = f"/entries/{meeting.entry.pk}/"
    answer = client.get(path)
    assert answer.headers["Location"] == f"/accounts/login/?next={path}"
