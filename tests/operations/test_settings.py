"""The framework's settings: strict by themselves, stricter behind TLS."""

import runpy
from pathlib import Path

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from gaiter.operations import settings as module


@pytest.fixture
def with_environment(monkeypatch, tmp_path):
    """The settings of a process that starts with these variables."""
    monkeypatch.setenv("GAITER_DATA", str(tmp_path))

    def start(**variables):
        for name, value in variables.items():
            monkeypatch.setenv(name, value)
        return runpy.run_path(module.__file__)

    return start


def test_faults_are_never_shown_to_a_visitor(with_environment) -> None:
    assert with_environment()["DEBUG"] is False


def test_nothing_inline_and_nothing_from_elsewhere_runs_in_a_page() -> None:
    rules = module.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    assert rules["default-src"] == ["'none'"]
    assert rules["script-src"] == ["'self'"]
    for name in ("frame-ancestors", "base-uri", "object-src"):
        assert rules[name] == ["'none'"]
    said = [value for values in rules.values() for value in values]
    assert {value for value in said if "unsafe" in value or ":/" in value or "*" in value} == set()


@pytest.mark.parametrize(("https", "secure"), [("yes", True), ("no", False)])
def test_cookies_and_transport_follow_the_proxy(with_environment, https, secure) -> None:
    made = with_environment(GAITER_HTTPS=https, GAITER_HOSTS="clinic.example")
    assert made["SESSION_COOKIE_SECURE"] is made["CSRF_COOKIE_SECURE"] is secure
    assert made["SESSION_COOKIE_HTTPONLY"] is True
    assert made.get("SECURE_HSTS_SECONDS", 0) == (365 * 24 * 3600 if secure else 0)
    assert made.get("SECURE_HSTS_INCLUDE_SUBDOMAINS", False) is secure
    origins = made.get("CSRF_TRUSTED_ORIGINS", [])
    assert ("https://clinic.example" in origins) is secure
    assert made["ALLOWED_HOSTS"] == ["clinic.example", "127.0.0.1", "localhost"]


def test_the_environment_reaches_the_framework(with_environment, tmp_path) -> None:
    made = with_environment(GAITER_TIME_ZONE="Europe/Berlin", GAITER_CLINIC="Heron Ford")
    assert made["TIME_ZONE"] == "Europe/Berlin"
    assert made["GAITER"].clinic == "Heron Ford"
    assert made["DATABASES"]["default"]["NAME"] == tmp_path / "clinic.sqlite3"


def test_passwords_are_hashed_slowly_and_short_ones_refused() -> None:
    assert module.PASSWORD_HASHERS[0].endswith("Argon2PasswordHasher")
    for password in ("short-0ne-x", "123456789012", "password1234"):
        with pytest.raises(ValidationError):
            validate_password(password)
    validate_password("thimble orchard gravel")


@pytest.mark.parametrize(("https", "prefix"), [("yes", "__Host-"), ("no", "")])
def test_cookies_are_of_this_host_alone_where_there_is_tls(with_environment, https, prefix) -> None:
    """A browser takes ``__Host-`` only when it is secure, for all paths and names no domain."""
    made = with_environment(GAITER_HTTPS=https, GAITER_HOSTS="clinic.example")
    names = [made[f"{name}_COOKIE_NAME"] for name in ("SESSION", "CSRF")]
    for name in (*names, made["GAITER_BROWSER_COOKIE"]):
        assert name.startswith(prefix + "gaiter")
    assert made.get("SESSION_COOKIE_PATH", "/") == made.get("CSRF_COOKIE_PATH", "/") == "/"
    assert "SESSION_COOKIE_DOMAIN" not in made
    assert "CSRF_COOKIE_DOMAIN" not in made
    assert made["CSRF_COOKIE_HTTPONLY"] is True
    assert made["MESSAGE_STORAGE"].endswith("SessionStorage")


@pytest.mark.parametrize(("hours", "seconds"), [("", 12 * 3600), ("1", 3600), ("24", 24 * 3600)])
def test_a_session_lasts_its_hours(with_environment, hours, seconds) -> None:
    assert with_environment(GAITER_SESSION_HOURS=hours)["SESSION_COOKIE_AGE"] == seconds


def test_every_folder_of_templates_and_static_files_is_known() -> None:
    web = Path(module.__file__).parents[1] / "web"
    for name, known in (
        ("templates", module.TEMPLATES[0]["DIRS"]), ("static", module.STATICFILES_DIRS),
    ):  # fmt: skip
        assert [path for path in known if isinstance(path, Path)] == sorted(web.glob(f"*/{name}"))
        assert sorted(web.glob(f"*/{name}"))
