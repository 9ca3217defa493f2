"""Keys of sessions: nobody guesses one, and an invented one is told without the database.

Behind what is random stands a keyed fingerprint of it. It proves only that the clinic once gave
the key: whether its session still opens anything is for the database to say.
"""

import hmac

from django.contrib.sessions.backends.base import VALID_KEY_CHARS
from django.utils.crypto import get_random_string

from gaiter.records.sealing import keyed

# Of thirty-six letters and digits: 165 bits.
RANDOM_LENGTH = 32
# Of sixteen digits and letters: 64 bits. Whoever guesses them has no session, only a place in the
# queue of those who have one.
_PROOF_LENGTH = 16


def new_key() -> str:
    """Another one each time."""
    random = get_random_string(RANDOM_LENGTH, VALID_KEY_CHARS)
    return random + _proof(random)


def is_given(key: str) -> bool:
    """Whether the clinic gave this key."""
    if len(key) != RANDOM_LENGTH + _PROOF_LENGTH:
        return False
    random, proof = key[:RANDOM_LENGTH], key[RANDOM_LENGTH:]
    # What a browser sends may be half a character.
    return hmac.compare_digest(proof.encode(errors="replace"), _proof(random).encode())


def _proof(random: str) -> str:
    return keyed(random, "session key")[:_PROOF_LENGTH]
