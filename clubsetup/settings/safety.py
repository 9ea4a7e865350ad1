"""What keeps strangers out: keys, cookies, headers."""

import os
from typing import Any

from csp.constants import NONE, SELF

from clubsetup.runtime.folder import data_folder, secret_key

DEBUG = False
SECRET_KEY = secret_key()

# `up` serves one machine or one paddock over plain HTTP; CLUBSETUP_HTTPS=1 says that TLS stands in
# front.
HTTPS = os.environ.get("CLUBSETUP_HTTPS", "") == "1"
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("CSRF_TRUSTED_ORIGINS", "").split(",") if o]

SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
CSRF_FAILURE_VIEW = "clubsetup.site.signed_out.csrf_failed"
X_FRAME_OPTIONS = "DENY"
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = not HTTPS

# Rate limits count across all web processes, so the cache is shared: a folder on one machine,
# Redis (CACHE_URL=redis://...) where several machines serve.
CACHE_URL = os.environ.get("CACHE_URL", "")
CACHES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CACHE_URL}
    if CACHE_URL
    else {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": data_folder() / "cache",
        "OPTIONS": {"MAX_ENTRIES": 20_000},
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

# A form says what it takes; what is sent beyond this is not even kept until it can.
MOST_UPLOAD_BYTES = 24_000_000
DATA_UPLOAD_MAX_NUMBER_FILES = 4
FILE_UPLOAD_HANDLERS = [
    "clubsetup.site.uploads.CutOff",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
