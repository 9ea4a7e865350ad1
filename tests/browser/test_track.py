"""Between two runs, on a phone: five taps and a save, laps by the stopwatch, a change in two."""

from collections.abc import Callable

from playwright.sync_api import Page, ViewportSize, expect

from tests.browser.conftest import assert_fits, assert_for_everybody

Visit = Callable[..., Page]
PHONE: ViewportSize = {"width": 390, "height": 844}
TAPS = (("entry", "loose"), ("middle", "turns"), ("exit", "pushes"), ("hands", "bit-left"))
WIDTHS = (320, 390, 820, 1280)


def at_the_track(visit: Visit, **options: bool) -> Page:
    page = visit("isa", "/", **options)
    page.set_viewport_size(PHONE)
    page.locator(".car-block h3 a").first.click()
    page.get_by_role("link", name="At the track").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run")
    return page


def answer(page: Page, question: str, value: str) -> None:
    page.locator(f"label:has([name={question}][value={value}])").click()


def note_run(page: Page) -> None:
    for question, value in (*TAPS, ("steering", "good")):
        answer(page, question, value)
    page.get_by_role("button", name="Save run").click()
    page.wait_for_url("**/runs/*/")


def test_a_run_takes_six_taps_and_no_scrolling(visit: Visit) -> None:
    page = at_the_track(visit)
    for question, value in (*TAPS, ("steering", "good")):
        box = page.locator(f"label:has([name={question}][value={value}])").bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE["height"]
        assert min(box["width"], box["height"]) >= 44
    note_run(page)
    assert page.evaluate("scrollY") == 0
    said = "loose, turns, pushes; hands a bit left; good"
    expect(page.locator("table.runs tr", has_text=said).first).to_be_visible()


def test_it_goes_without_a_script(visit: Visit) -> None:
    page = at_the_track(visit, java_script_enabled=False)
    note_run(page)
    page.get_by_role("link", name="Laps: type, paste or time them").click()
    expect(page.get_by_role("heading", name="Stopwatch")).to_be_hidden()
    page.locator("[name=laps]").fill("8.02 7.52 7,47 0:07.44 7.49")
    page.get_by_role("button", name="Save the laps").click()
    expect(page.get_by_role("heading", name="5 laps, 4 counted")).to_be_visible()


def test_the_stopwatch_keeps_its_presses_through_a_reload(visit: Visit) -> None:
    page = at_the_track(visit)
    note_run(page)
    page.get_by_role("link", name="Laps: type, paste or time them").click()
    press = page.locator("[data-press]")
    laps = page.locator("[data-laps] li")
    for _ in range(3):
        press.click()
    expect(laps).to_have_count(2)
    page.get_by_role("button", name="Take the last press back").click()
    expect(laps).to_have_count(1)
    page.reload()
    expect(laps).to_have_count(1)
    press.click()
    expect(laps).to_have_count(2)
    expect(laps.nth(1)).to_contain_text("across a reload")
    press.focus()
    page.keyboard.press("Enter")
    expect(laps).to_have_count(3)
    page.get_by_role("button", name="Put these laps in the box").click()
    box = page.locator("[name=laps]")
    assert len(box.input_value().split()) == 3
    expect(page.get_by_label("Timed by")).to_have_value("hand")
    box.fill("7.41 7.52 7.48")
    page.get_by_role("button", name="Save the laps").click()
    expect(page.get_by_role("heading", name="3 laps, 3 counted")).to_be_visible()


def test_a_change_in_two_taps_and_back_in_one(visit: Visit) -> None:
    page = at_the_track(visit)
    page.get_by_role("link", name="Change", exact=True).click()
    page.locator("a[href='?what=spring-seat.RF']").click()
    page.locator("button[name=amount][value='1/2']").click()
    stands = page.locator(".stands")
    expect(stands).to_contain_text("spring seat RF")
    expect(page.get_by_role("heading", name="The car as it stands now")).to_be_visible()
    assert_for_everybody(page)
    page.set_viewport_size(PHONE)
    stands.get_by_role("button", name="Put back").click()
    expect(stands).to_contain_text("nothing changed since")


def test_what_to_try_stands_on_the_first_screen_and_is_noted_in_one_tap(visit: Visit) -> None:
    page = at_the_track(visit)
    page.set_viewport_size({"width": 390, "height": 664})
    page.goto(f"{page.url.removesuffix('track')}what-to-try?exit=loose&surface=paved")
    first = page.locator("ol.try > li").first
    button = first.get_by_role("button", name="I did this")
    box = button.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 664
    assert box["height"] >= 44
    button.click()
    page.wait_for_url("**/track")
    expect(page.locator(".stands b")).to_contain_text(" ")


def test_the_pages_are_for_everybody(visit: Visit) -> None:
    page = at_the_track(visit)
    track = page.url
    assert_for_everybody(page)
    page.set_viewport_size(PHONE)
    note_run(page)
    run = page.url
    car = track.removesuffix("track")
    page.goto(f"{run}laps")
    page.locator("[name=laps]").fill("8.02 7.52 7.47 7.44 7.49")
    page.get_by_role("button", name="Save the laps").click()
    page.get_by_text("Which laps count").click()
    for path in (run, f"{run}laps", f"{run}strike", f"{track}/change", f"{car}runs"):
        page.goto(path)
        assert_for_everybody(page)
    for path in ("did-it-help", "what-to-try"):
        page.goto(f"{car}{path}")
        assert_for_everybody(page)
    for path in (track, run, f"{car}did-it-help", f"{car}what-to-try"):
        page.goto(path)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 664})
            assert_fits(page)


def test_a_phone_that_is_handed_over_shows_nothing_else(visit: Visit) -> None:
    page = at_the_track(visit)
    other = page.context.new_page()
    other.goto(page.url)
    expect(other.get_by_role("heading", level=1)).to_contain_text("Run")
    answer(page, "entry", "loose")
    page.get_by_role("button", name="Save and hand the phone to the driver").click()
    page.get_by_label("Code").fill("2749")
    page.get_by_role("button", name="Hand it over").click()
    page.wait_for_url("**/handed-over")
    expect(page.get_by_role("heading", name="How was it?")).to_be_visible()
    # What another tab shows makes way by itself; the back button brings nothing back.
    other.wait_for_url("**/handed-over")
    page.go_back()
    page.wait_for_url("**/handed-over")
    assert_for_everybody(page)
    page.set_viewport_size(PHONE)
    for question, value in (("entry", "turns"), ("hands", "straight"), ("steering", "heavy")):
        answer(page, question, value)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 664})
        assert_fits(page)
    page.get_by_role("button", name="Done").click()
    expect(page.get_by_role("heading", name="Thank you. Give the phone back.")).to_be_visible()
    assert_for_everybody(page)
    page.get_by_label("Code").fill("2740")
    page.get_by_role("button", name="Open").click()
    expect(page.get_by_text("This is not the code.")).to_be_visible()
    page.get_by_label("Code").fill("2749")
    page.get_by_role("button", name="Open").click()
    page.wait_for_url("**/runs/*/")
    expect(page.get_by_text("turns, not said, not said; hands straight; heavy")).to_be_visible()
    other.goto("/cars/")
    expect(other.get_by_role("heading", level=1)).to_be_visible()
    other.bring_to_front()
    assert other.url.endswith("/cars/")


def test_without_a_connection_what_was_typed_stays(visit: Visit) -> None:
    page = at_the_track(visit)
    note_run(page)
    page.locator("a[href$='/after']").first.click()
    box = page.get_by_role("textbox").first
    box.fill("12.5")
    page.context.set_offline(True)
    save = page.get_by_role("button", name="Save what was read")
    save.click()
    expect(page.get_by_role("alert")).to_contain_text("Not sent: no connection")
    expect(box).to_have_value("12.5")
    page.context.set_offline(False)
    save.click()
    page.wait_for_url("**/runs/*/")
    expect(page.get_by_text("12.5").first).to_be_visible()


def test_a_server_on_this_machine_answers_without_a_network(visit: Visit) -> None:
    page = at_the_track(visit)
    note_run(page)
    page.locator("a[href$='/after']").first.click()
    page.evaluate("Object.defineProperty(navigator, 'onLine', { get: () => false })")
    page.get_by_role("textbox").first.fill("12.5")
    page.get_by_role("button", name="Save what was read").click()
    page.wait_for_url("**/runs/*/")
