"""Signing in with everything there is: password, one-time code, recovery code, passkey."""

import base64
import hashlib
import hmac
import re
import struct
import time
from collections.abc import Callable

from playwright.sync_api import CDPSession, Page, expect

from tests.browser.conftest import assert_accessible, assert_fits, assert_for_everybody

Visit = Callable[..., Page]
START = re.compile(r"://[^/]+/$")  # the start page, whatever stands at its head
PASSWORD = "lantern-paddock-4"
AUTHENTICATOR = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


def one_time_code(secret: str) -> str:
    """RFC 6238 with its defaults: HMAC-SHA-1, 30 seconds, six digits (RFC 4226, 5.3)."""
    time.sleep(max(0, 3 - (30 - time.time() % 30)))  # not in the last three seconds of a period
    counter = struct.pack(">Q", int(time.time()) // 30)
    digest = hmac.new(base64.b32decode(secret), counter, hashlib.sha1).digest()
    at = digest[-1] & 15
    return f"{(struct.unpack('>I', digest[at : at + 4])[0] & 0x7FFFFFFF) % 10**6:06}"


def test_the_one_time_code_of_the_tests_is_right() -> None:
    """RFC 4226, appendix D: the secret "12345678901234567890" and counter 1 give 287082."""
    digest = hmac.new(b"12345678901234567890", struct.pack(">Q", 1), hashlib.sha1).digest()
    at = digest[-1] & 15
    value = (struct.unpack(">I", digest[at : at + 4])[0] & 0x7FFFFFFF) % 10**6
    assert value == 287082


def invite(visit: Visit, role: str = "Guest") -> str:
    """A new invitation to Isa's team, made by her on the page; its link."""
    page = visit("isa", "/")
    page.locator("section[aria-labelledby=my-teams] a").first.click()
    page.get_by_role("link", name="Invite").click()
    page.get_by_role("radio", name=re.compile(role)).check()
    page.get_by_role("button", name="Make the link").click()
    return page.get_by_label("Link").input_value()


def join(visit: Visit, email: str) -> Page:
    """Somebody new follows a link, makes an account and joins."""
    page = visit(None, invite(visit))
    page.get_by_role("link", name="Make an account").click()
    page.get_by_label("Email").fill(email)
    page.get_by_label("Your name").fill("Wilma Fern")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("Password (again)").fill(PASSWORD)
    page.get_by_role("button", name="Make the account").click()
    page.get_by_role("button", name="Join").click()
    expect(page.get_by_text("You are guest here.")).to_be_visible()
    return page


def sign_out(page: Page) -> None:
    page.goto("/me/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/accounts/login/**")


def give_password(page: Page, email: str) -> None:
    page.goto("/accounts/login/")
    page.get_by_label("Email").fill(email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def confirm(page: Page) -> None:
    """Changing how one signs in asks for the password once more."""
    expect(page.get_by_role("heading", name="Is it still you?")).to_be_visible()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Confirm").click()


def test_from_an_invitation_to_the_team(visit: Visit) -> None:
    page = join(visit, "wilma.one@example.org")
    sign_out(page)
    give_password(page, "wilma.one@example.org")
    expect(page).to_have_url(START)


def test_a_passkey_signs_in_without_a_password(visit: Visit) -> None:
    page = join(visit, "wilma.two@example.org")
    devices = _authenticator(page)
    page.goto("/accounts/2fa/")
    page.get_by_role("link", name="Add one").click()
    confirm(page)
    page.get_by_label("What you call it").fill("My phone")
    assert page.get_by_role("checkbox", name="Sign in with it alone").is_checked()
    assert_accessible(page)
    page.get_by_role("button", name="Add it").click()
    page.wait_for_url(lambda url: "/webauthn/add" not in url)
    kept = devices.send("WebAuthn.getCredentials", _id(devices))["credentials"]
    assert len(kept) == 1
    sign_out(page)
    page.get_by_role("button", name="Sign in with a passkey").click()
    expect(page).to_have_url(START)
    page.goto("/accounts/2fa/webauthn/")
    expect(page.get_by_text("My phone")).to_be_visible()


def test_an_unknown_passkey_signs_nobody_in(visit: Visit) -> None:
    """A credential of a device that nobody added."""
    page = visit(None, "/accounts/login/")
    devices = _authenticator(page)
    key = (  # an EC P-256 private key in PKCS #8, made for this test alone
        "MIGHAgEAMBMGByqGSM49AgEGCCqGSM49AwEHBG0wawIBAQQg8_zMDQDYAxlU-Q"
        "hk1Dwkf0v18GZca1DMF3SaJ9HPdmShRANCAASNYX5lyVCOZLzFZzrIKmeZ2jwU"
        "RmgsJYxGP__fWN_S-j5sN4tT15XEpN_7QZnt14YvI6uvAgO0uJEboFaZlOEB"
    )
    raw = base64.urlsafe_b64decode(key + "=" * (-len(key) % 4))
    credential = {
        "credentialId": base64.b64encode(b"nobody's").decode(),
        "isResidentCredential": True,
        "rpId": "localhost",
        "privateKey": base64.b64encode(raw).decode(),
        "userHandle": base64.b64encode(b"nobody").decode(),
        "signCount": 1,
    }
    devices.send("WebAuthn.addCredential", {**_id(devices), "credential": credential})
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in with a passkey").click()
    page.goto("/me/")
    assert "/accounts/login/" in page.url


def test_a_one_time_code_is_asked_for_and_works_once(visit: Visit) -> None:
    email = "wilma.three@example.org"
    page = join(visit, email)
    page.goto("/accounts/2fa/")
    page.get_by_role("link", name="Turn on").click()
    confirm(page)
    expect(page.locator("img.qr")).to_be_visible()
    assert_accessible(page)
    assert_fits(page)
    secret = page.get_by_label("Secret").input_value()
    page.get_by_label("Authenticator code").fill(one_time_code(secret))
    page.get_by_role("button", name="Turn on").click()
    page.goto("/accounts/2fa/recovery-codes/")
    recovery = page.get_by_label("Unused codes").input_value().split()
    assert len(recovery) == 10

    sign_out(page)
    give_password(page, email)
    page.wait_for_url("**/2fa/authenticate/**")
    page.goto("/me/")
    assert "/2fa/authenticate/" in page.url  # the password alone opens nothing

    code = one_time_code(secret)
    page.get_by_label("Code").fill("000000" if code != "000000" else "000001")
    page.get_by_role("button", name="Sign in", exact=False).first.click()
    expect(page.get_by_text("Incorrect code.")).to_be_visible()
    code = one_time_code(secret)
    page.get_by_label("Code").fill(code)
    page.get_by_role("button", name="Sign In").first.click()
    expect(page).to_have_url(START)

    sign_out(page)
    give_password(page, email)
    if one_time_code(secret) == code:  # still the same half minute: a code is good once
        page.get_by_label("Code").fill(code)
        page.get_by_role("button", name="Sign In").first.click()
        expect(page.get_by_text("Incorrect code.")).to_be_visible()
    page.get_by_label("Code").fill(recovery[0])
    page.get_by_role("button", name="Sign In").first.click()
    expect(page).to_have_url(START)


def _authenticator(page: Page) -> CDPSession:
    devices = page.context.new_cdp_session(page)
    devices.send("WebAuthn.enable")
    made = devices.send("WebAuthn.addVirtualAuthenticator", {"options": AUTHENTICATOR})
    _ids[id(devices)] = made["authenticatorId"]
    return devices


_ids: dict[int, str] = {}


def _id(devices: CDPSession) -> dict[str, str]:
    return {"authenticatorId": _ids[id(devices)]}


def test_pages_of_sign_in_are_for_everybody(visit: Visit) -> None:
    for path in ("/accounts/login/", "/accounts/signup/", "/accounts/password/reset/"):
        assert_for_everybody(visit(None, path))
