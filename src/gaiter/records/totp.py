"""Six-digit codes of the half minute (RFC 6238: SHA-1, 30 s, 6 digits, counted from 1970).

References
----------
M'Raihi D et al. (2011). TOTP: Time-Based One-Time Password Algorithm. RFC 6238.
doi:10.17487/RFC6238
"""

import base64
import hashlib
import hmac
import secrets
from urllib.parse import quote, urlencode

STEP_SECONDS = 30
_DIGITS = 6
_SEED_BYTES = 20


def new_seed() -> str:
    """A random seed of 160 bits, in base 32 as authenticators take it."""
    return base64.b32encode(secrets.token_bytes(_SEED_BYTES)).decode()


def code_of(seed: str, step: int) -> str:
    """The code of one half minute.

    Parameters
    ----------
    seed : str
        Seed in base 32.
    step : int
        Half minutes since 1970.
    """
    digest = hmac.new(
        base64.b32decode(seed + "=" * (-len(seed) % 8)), step.to_bytes(8, "big"), hashlib.sha1
    ).digest()
    start = digest[-1] & 0xF
    number = int.from_bytes(digest[start : start + 4], "big") & 0x7FFFFFFF
    return f"{number % 10**_DIGITS:0{_DIGITS}d}"


def step_of(seed: str, code: str, at: float, after: int) -> int | None:
    """The half minute that a code is of; None where it is of none that counts.

    The half minute before and the one after count as well, for clocks that differ. No half minute
    up to ``after`` does: it was used.

    Parameters
    ----------
    seed : str
        Seed in base 32.
    code : str
        Six digits.
    at : float
        Seconds since 1970.
    after : int
        The last half minute whose code was used.
    """
    now, typed = int(at) // STEP_SECONDS, code.encode(errors="replace")
    for step in (now - 1, now, now + 1):
        if step > after and hmac.compare_digest(code_of(seed, step).encode(), typed):
            return step
    return None


def address_of(seed: str, username: str, issuer: str) -> str:
    """What an authenticator reads from the picture."""
    issuer = issuer.replace(":", "")
    said = urlencode({"secret": seed, "issuer": issuer}, quote_via=quote)
    return f"otpauth://totp/{quote(f'{issuer}:{username}')}?{said}"
