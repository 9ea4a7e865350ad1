"""Which templates are pages: they extend a base and have a title."""

from pathlib import Path

HOUSE = Path(__file__).resolve().parent.parent.parent
APPS = ("clubsetup", "teams", "cars", "events")


# Pages that no picture is of: what it would take to come there.
NOT_SHOWN = {
    **dict.fromkeys(("400.html", "405.html", "429.html", "403_csrf.html"), "a broken request"),
    **dict.fromkeys(
        (
            "account/account_inactive.html",
            "account/email_confirm.html",
            "account/password_reset_from_key.html",
            "account/password_reset_from_key_done.html",
            "account/password_set.html",
            "account/signup_closed.html",
            "account/verification_sent.html",
        ),
        "a link of a letter, or an account without a password",
    ),
    **dict.fromkeys(
        (
            "mfa/authenticate.html",
            "mfa/reauthenticate.html",
            "mfa/recovery_codes/generate.html",
            "mfa/recovery_codes/index.html",
            "mfa/totp/deactivate_form.html",
            "mfa/webauthn/authenticator_confirm_delete.html",
            "mfa/webauthn/edit_form.html",
            "mfa/webauthn/reauthenticate.html",
        ),
        "a second factor that was set up",
    ),
    **dict.fromkeys(
        ("cars/runs/driver_page.html", "cars/runs/give_back.html", "cars/runs/handed_over.html"),
        "a browser that was handed over, which shows no other page afterwards",
    ),
    "teams/join.html": "an invitation's link, followed by somebody who is signed in",
    "teams/join_closed.html": "an invitation that was used",
}


def page_templates() -> set[str]:
    """Their names, as a view asks for them."""
    return {
        str(file).partition("/templates/")[2]
        for app in APPS
        for file in sorted((HOUSE / app).rglob("templates/**/*.html"))
        if "{% extends" in file.read_text()
    }
