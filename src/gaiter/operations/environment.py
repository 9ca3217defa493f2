"""Settings from the environment; what is malformed stops the start with one sentence."""

import json
import os
import re
import secrets
from base64 import b64decode, b64encode
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_network
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

from gaiter.core.errors import InputError
from gaiter.files.whole_file import write_new, write_whole
from gaiter.operations.database_address import AddressError, database_of

DEFAULT_FOLDER = "gaiter-data"
_KEY_BYTES = 32
_YES_OR_NO = {"yes": True, "no": False}


class SettingError(InputError):
    """A setting of the environment that cannot be used."""

    def __init__(self, name: str, allowed: str, received: str) -> None:
        self.name, self.received = name, received
        super().__init__(f"{name} must be {allowed}; received {received!r}: correct it")


@dataclass(frozen=True)
class Environment:
    """Everything that is set from outside.

    Attributes
    ----------
    folder : Path
        Where database, keys and secret lie (``GAITER_DATA``).
    database : Mapping
        Django's description of the database (``GAITER_DATABASE``, ``GAITER_DATABASE_CA``).
    hosts : tuple[str, ...]
        Names under which the clinic is reached (``GAITER_HOSTS``, separated by commas).
    https : bool
        Whether a TLS proxy stands in front (``GAITER_HTTPS``: yes or no).
    clinic, phone : str
        Name and telephone for papers (``GAITER_CLINIC``, ``GAITER_PHONE``).
    policy : Path or None
        The clinic's own policy (``GAITER_POLICY``).
    systems : Path or None
        The clinic's own bandage systems (``GAITER_SYSTEMS``).
    time_zone : str
        The clinic's clock (``GAITER_TIME_ZONE``, a name such as Europe/Berlin).
    idle_minutes : int
        Minutes without a touch until the screen locks (``GAITER_IDLE_MINUTES``).
    session_hours : int
        Hours after which one signs in anew, touched or not (``GAITER_SESSION_HOURS``).
    trusted_proxy : tuple[IPv4Network or IPv6Network, ...]
        Proxies that are believed from where a request comes (``GAITER_TRUSTED_PROXY``).
    second_factor : bool
        Whether everybody needs one (``GAITER_SECOND_FACTOR``: offered or required).
    teams : bool
        Whether people are seen by their own teams only (``GAITER_TEAMS``: yes or no).
    break_glass_hours : int
        Hours for which somebody of another team is opened (``GAITER_BREAK_GLASS_HOURS``).
    """

    folder: Path
    database: Mapping[str, Any]
    hosts: tuple[str, ...]
    https: bool
    clinic: str
    phone: str
    policy: Path | None
    systems: Path | None
    time_zone: str
    idle_minutes: int
    session_hours: int
    trusted_proxy: tuple[IPv4Network | IPv6Network, ...]
    second_factor: bool
    teams: bool
    break_glass_hours: int

    @property
    def secret_file(self) -> Path:
        """Secret that signs sessions."""
        return self.folder / "secret"

    @property
    def keys_file(self) -> Path:
        """Keys that seal identities and files."""
        return Path(os.environ.get("GAITER_KEYS") or self.folder / "keys.json")

    def secret(self) -> str:
        """The secret; before the folder is prepared, one for this process only."""
        given = os.environ.get("GAITER_SECRET")
        if given is not None and len(given) < _KEY_BYTES:
            raise SettingError("GAITER_SECRET", "32 characters or longer", "*" * len(given))
        if given:
            return given
        if self.secret_file.exists():
            return self.secret_file.read_text().strip()
        return secrets.token_urlsafe(_KEY_BYTES)

    def key_ring(self) -> Mapping[str, Any] | None:
        """Sealing keys by name, the current one's name, the index key; None before they exist.

        Raises
        ------
        SettingError
            If the file is there and is no key file.
        """
        return _read_keys(self.keys_file) if self.keys_file.exists() else None

    def prepare(self) -> None:
        """Makes folder and secret where they do not exist, readable by this user only."""
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not os.environ.get("GAITER_SECRET") and not self.secret_file.exists():
            with suppress(FileExistsError):
                write_new(self.secret_file, secrets.token_urlsafe(48).encode())

    def make_keys(self) -> None:
        """The keys of a new clinic; where there are keys they stay.

        Whether the clinic is new only its database knows: see ``records/keys.py``.
        """
        name = _new_name()
        keys = {"current": name, "keys": {name: _new_key()}, "index": _new_key()}
        with suppress(FileExistsError):
            write_new(self.keys_file, _key_text(keys))

    def add_key(self) -> str:
        """Adds a sealing key and makes it the current one; returns its name."""
        stored, name = json.loads(self.keys_file.read_text()), _new_name()
        stored["keys"][name], stored["current"] = _new_key(), name
        write_whole(self.keys_file, _key_text(stored), private=True)
        return name

    def merge_keys(self, other: Path) -> tuple[str, ...]:
        """Adds the sealing keys of another key file; the current key and the index key stay.

        A name that stands for another key here is kept beside it as ``NAME~...``.

        Returns
        -------
        tuple[str, ...]
            Names of the keys that were not held before.

        Raises
        ------
        SettingError
            If one of the two is no key file.
        """
        held, given = _read_keys(self.keys_file)["keys"], _read_keys(other)["keys"]
        fresh = {
            name if name not in held else f"{name.partition('~')[0]}~{_new_name()}": key
            for name, key in given.items()
            if key not in held.values()
        }
        if fresh:
            stored = json.loads(self.keys_file.read_text())
            stored["keys"] |= {name: b64encode(key).decode() for name, key in fresh.items()}
            write_whole(self.keys_file, _key_text(stored), private=True)
        return tuple(fresh)


def _read_keys(path: Path) -> Mapping[str, Any]:
    try:
        stored = json.loads(path.read_text())
        ring = {name: b64decode(text, validate=True) for name, text in stored["keys"].items()}
        index, current = b64decode(stored["index"], validate=True), stored["current"]
        whole = current in ring and all(len(k) == _KEY_BYTES for k in (index, *ring.values()))
        # What is sealed begins with the name and a dot.
        whole = whole and all(re.fullmatch(r"[A-Za-z0-9~]{1,40}", name) for name in ring)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        whole = False
    if not whole:
        raise SettingError("GAITER_KEYS", "a key file as Gaiter writes it", str(path))
    return {"keys": ring, "current": current, "index": index}


def _new_key() -> str:
    return b64encode(secrets.token_bytes(_KEY_BYTES)).decode()


def _new_name() -> str:
    """Random, so that keys of two clinics, or of one that lost its own, never share a name."""
    return secrets.token_hex(4)


def _key_text(keys: Mapping[str, Any]) -> bytes:
    return json.dumps(keys, indent=1).encode()


def read_environment(given: Mapping[str, str] = os.environ) -> Environment:
    """The settings of a process.

    Raises
    ------
    SettingError
        Naming the variable, what it may be and what it was.
    """
    folder = Path(given.get("GAITER_DATA") or DEFAULT_FOLDER).absolute()
    hosts = tuple(h.strip() for h in given.get("GAITER_HOSTS", "").split(",") if h.strip())
    for host in hosts:
        if not re.fullmatch(r"[A-Za-z0-9.\-]+", host):
            raise SettingError("GAITER_HOSTS", "host names separated by commas", host)
    return Environment(
        folder=folder,
        database=_database(given, folder),
        hosts=(*hosts, "127.0.0.1", "localhost"),
        https=_choice(given, "GAITER_HTTPS", _YES_OR_NO, "no"),
        clinic=given.get("GAITER_CLINIC", "Wound clinic"),
        phone=given.get("GAITER_PHONE", ""),
        policy=_file(given, "GAITER_POLICY", "a policy file"),
        systems=_file(given, "GAITER_SYSTEMS", "a file of bandage systems"),
        time_zone=_time_zone(given.get("GAITER_TIME_ZONE") or "UTC"),
        idle_minutes=_whole(given, "GAITER_IDLE_MINUTES", (1, 240), 10, "minutes"),
        session_hours=_whole(given, "GAITER_SESSION_HOURS", (1, 24), 12, "hours"),
        trusted_proxy=_networks(given.get("GAITER_TRUSTED_PROXY", "")),
        second_factor=_choice(
            given, "GAITER_SECOND_FACTOR", {"required": True, "offered": False}, "offered"
        ),
        teams=_choice(given, "GAITER_TEAMS", _YES_OR_NO, "no"),
        break_glass_hours=_whole(given, "GAITER_BREAK_GLASS_HOURS", (1, 24), 4, "hours"),
    )


def _file(given: Mapping[str, str], name: str, what: str) -> Path | None:
    path = given.get(name)
    if path and not Path(path).is_file():
        raise SettingError(name, f"{what} that can be read", path)
    return Path(path) if path else None


def _choice(given: Mapping[str, str], name: str, choices: Mapping[str, bool], usual: str) -> bool:
    value = given.get(name) or usual
    if value not in choices:
        raise SettingError(name, " or ".join(choices), value)
    return choices[value]


def _whole(
    given: Mapping[str, str], name: str, span: tuple[int, int], usual: int, unit: str
) -> int:
    value, (low, high) = given.get(name) or str(usual), span
    if not re.fullmatch(r"[0-9]{1,6}", value) or not low <= int(value) <= high:
        raise SettingError(name, f"a whole number, {low} to {high} {unit}", value)
    return int(value)


def _networks(text: str) -> tuple[IPv4Network | IPv6Network, ...]:
    found = []
    for part in filter(None, (part.strip() for part in text.split(","))):
        try:
            found.append(ip_network(part))
        except ValueError:
            allowed = "addresses or networks of proxies, such as 127.0.0.1 or 10.0.0.0/24"
            raise SettingError("GAITER_TRUSTED_PROXY", allowed, part) from None
    return tuple(found)


def _time_zone(name: str) -> str:
    if name not in available_timezones():
        raise SettingError("GAITER_TIME_ZONE", "a time zone such as Europe/Berlin", name)
    return name


def _database(given: Mapping[str, str], folder: Path) -> Mapping[str, Any]:
    """SQLite in the folder, or the PostgreSQL that an address names."""
    address = given.get("GAITER_DATABASE", "")
    certificate = _file(given, "GAITER_DATABASE_CA", "a certificate file")
    if not address:
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": folder / "clinic.sqlite3",
            "OPTIONS": {
                # Writers queue instead of failing when they turn from reading to writing.
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
            },
        }
    try:
        return database_of(address, certificate, given)
    except AddressError as error:
        raise SettingError(error.name, error.allowed, error.received) from None
