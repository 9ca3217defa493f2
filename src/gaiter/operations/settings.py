"""Django's settings, all from the environment."""

from importlib import resources
from pathlib import Path

from csp.constants import NONE, SELF

from gaiter.operations.environment import read_environment
from gaiter.operations.fingerprint import fingerprint

# Each feature of the web keeps its templates and static files beside its views.
_FEATURES = Path(__file__).resolve().parent.parent / "web"

GAITER = read_environment()
GAITER_KEY_RING = GAITER.key_ring()

SECRET_KEY = GAITER.secret()
DEBUG = False
ALLOWED_HOSTS = list(GAITER.hosts)
DATABASES = {"default": dict(GAITER.database)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
ROOT_URLCONF = "gaiter.web.urls"
WSGI_APPLICATION = "gaiter.operations.server.application"
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "csp",
    "gaiter.records",
    "gaiter.records.entrance",
    "gaiter.web.frame",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "gaiter.web.frame.logs.RequestLogMiddleware",
    # Before the styles and scripts, which are answered by the next one, so that it is on them too.
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "gaiter.web.frame.full_disk.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "gaiter.web.frame.verbs.VerbMiddleware",
    "gaiter.web.frame.bodies.BodyMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "gaiter.web.frame.full_disk.FullDiskMiddleware",
    "gaiter.web.frame.access.AccessMiddleware",
]
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": sorted(_FEATURES.glob("*/templates")),
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "gaiter.web.frame.context.site",
            ],
            "builtins": [
                "gaiter.web.frame.templatetags.gaiter_table",
                "gaiter.web.frame.templatetags.gaiter_words",
            ],
        },
    }
]

AUTH_USER_MODEL = "records.Account"
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "gaiter.records.passwords.RefusedPasswords"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"

SESSION_ENGINE = "gaiter.records.entrance.sessions"
# An end that nothing puts off: the store counts it from the sign-in.
SESSION_COOKIE_AGE = 3600 * GAITER.session_hours
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = GAITER.https
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
# A browser takes a name that starts so only over TLS, from this very host, for all its paths.
_HOST = "__Host-" if GAITER.https else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"{_HOST}gaiter", f"{_HOST}gaiter-form"
GAITER_BROWSER_COOKIE = f"{_HOST}gaiter-browser"
# No cookie of its own for what is said once: it goes with the sealed session.
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
CSRF_FAILURE_VIEW = "gaiter.web.frame.errors.stale_form"
if GAITER.https:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in GAITER.hosts]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        # Drawings carry their strokes as attributes, not as style; no inline style is needed.
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "object-src": [NONE],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

USE_TZ = True
TIME_ZONE = GAITER.time_zone
LANGUAGE_CODE = "en-gb"
USE_I18N = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
_FONTS = Path(str(resources.files("gaiter.data").joinpath("fonts")))
STATICFILES_DIRS = [*sorted(_FEATURES.glob("*/static")), ("gaiter/fonts", str(_FONTS))]
# Whatever changes has another address, so that a browser asks for each file once.
STATIC_URL = f"static/{fingerprint([*sorted(_FEATURES.glob('*/static')), _FONTS])}/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_IMMUTABLE_FILE_TEST = "^/static/"
WHITENOISE_AUTOREFRESH = False
WHITENOISE_ALLOW_ALL_ORIGINS = False

# A photo of a tablet's camera fits; more is refused with a sentence.
GAITER_LARGEST_FILE = 12 * 2**20
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 2**20
FILE_UPLOAD_MAX_MEMORY_SIZE = GAITER_LARGEST_FILE
DATA_UPLOAD_MAX_NUMBER_FIELDS = 500

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"json": {"()": "gaiter.web.frame.logs.JsonFormatter"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "json"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "gaiter": {"handlers": ["console"], "level": "INFO", "propagate": False},
        "django": {"handlers": ["console"], "level": "WARNING", "propagate": False},
        # Faults only: what a visitor asked wrongly is no fault, and stands in the line of requests.
        "django.request": {"handlers": ["console"], "level": "ERROR", "propagate": False},
    },
}
