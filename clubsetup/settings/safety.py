"""What keeps strangers out: keys, cookies, headers."""

import os
import re
from typing import Any

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from clubsetup.runtime.folder import data_folder, secret_key
from clubsetup.settings.proxies import trusted_proxies

DEBUG = False
SECRET_KEY = secret_key()
# Keys of before, the latest first: what they sealed is still opened.
SECRET_KEY_FALLBACKS = [k for k in os.environ.get("SECRET_KEY_FALLBACKS", "").split(",") if k]

# `up` serves one machine or one paddock over plain HTTP; CLUBSETUP_HTTPS=1 says that TLS stands in
# front.
HTTPS = os.environ.get("CLUBSETUP_HTTPS", "") == "1"
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("CSRF_TRUSTED_ORIGINS", "").split(",") if o]

# Behind TLS a browser takes these cookies from this host alone, over TLS alone, for every path
# (RFC 6265bis, the prefix __Host-): no neighbour under the same domain can plant one.
_HOST = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME = f"{_HOST}sessionid"
CSRF_COOKIE_NAME = f"{_HOST}csrftoken"
DEVICE_COOKIE_NAME = f"{_HOST}device"
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
# No script reads it: pages carry the token.
CSRF_COOKIE_HTTPONLY = True
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
# A name on the browsers' preload list is there for years and for all its neighbours: only for a
# club that asks for it. security.W021 would have everybody ask.
SECURE_HSTS_PRELOAD = HTTPS and os.environ.get("CLUBSETUP_HSTS_PRELOAD", "") == "1"
SILENCED_SYSTEM_CHECKS = ["security.W021"]
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
CSRF_FAILURE_VIEW = "clubsetup.site.error_views.csrf_failed"
X_FRAME_OPTIONS = "DENY"
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = not HTTPS

# How many proxies stand in front and add to X-Forwarded-For: limits count the client's address and
# not the proxy's.
try:
    TRUSTED_PROXIES = trusted_proxies(os.environ.get("CLUBSETUP_TRUSTED_PROXIES", ""), https=HTTPS)
except ValueError as refused:
    raise ImproperlyConfigured(f"CLUBSETUP_TRUSTED_PROXIES: {refused}") from None
ALLAUTH_TRUSTED_PROXY_COUNT = TRUSTED_PROXIES

# Whom to tell of a weakness: an address with its scheme, as in mailto:... or https://... It stands
# in /.well-known/security.txt.
SECURITY_CONTACT = os.environ.get("CLUBSETUP_SECURITY_CONTACT", "")
if SECURITY_CONTACT and not re.fullmatch(r"(mailto:|https://|tel:)[\x21-\x7e]+", SECURITY_CONTACT):
    raise ImproperlyConfigured(
        "CLUBSETUP_SECURITY_CONTACT: begin with mailto:, https:// or tel:, without blanks."
    )

# What one person may do in a while: how many, and the seconds.
PERSON_LIMITS = {
    "prints": (600, 3600),
    "exports": (60, 3600),
    "archives": (30, 3600),
    "imports": (60, 3600),
    "invitations": (100, 3600),
    "codes": (20, 3600),
    "calls": (1200, 60),  # of the API
}

# Limits count across all web processes, so the cache is shared: a folder on one machine,
# Redis (CACHE_URL=redis://...) where several machines serve. In the folder are the sign-in's limits
# alone; the limits above are counted in the database (access/counts.py), or in Redis.
CACHE_URL = os.environ.get("CACHE_URL", "")
COUNTS_IN_CACHE = bool(CACHE_URL)
CACHES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CACHE_URL}
    if CACHE_URL
    else {
        "BACKEND": "clubsetup.access.swept_cache.SweptFileCache",
        "LOCATION": data_folder() / "cache",
    }
}

STORAGES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

CONTENT_SECURITY_POLICY: dict[str, Any] = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    }
}

# What our own pages may ask a device for; nothing else, and no page framed in ours, may.
PERMISSIONS_POLICY: dict[str, list[str]] = {
    "accelerometer": [],
    "autoplay": [],
    "camera": ["self"],  # photos of ballast
    "display-capture": [],
    "encrypted-media": [],
    "fullscreen": [],
    "geolocation": [],
    "gyroscope": [],
    "magnetometer": [],
    "microphone": [],
    "midi": [],
    "payment": [],
    "publickey-credentials-get": ["self"],  # passkeys
    "screen-wake-lock": ["self"],  # the bench and the desk keep the screen lit
    "usb": [],
}

# A form says what it takes; what is sent beyond this is not even kept until it can.
MOST_UPLOAD_BYTES = 24_000_000
DATA_UPLOAD_MAX_NUMBER_FILES = 4
FILE_UPLOAD_HANDLERS = [
    "clubsetup.site.uploads.CutOff",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
