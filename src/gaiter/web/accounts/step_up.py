"""The password again, of whoever is signed in: to approve, to change the account, to unlock.

Wrong ones are counted for this sign-in alone: nobody elsewhere can stop somebody from approving,
and whoever is stopped can still record what was loosened or taken off.
"""

from typing import Any

from gaiter.records.actions.factors import factor_of, give_code
from gaiter.records.entrance.sessions import hashed
from gaiter.records.entrance.tries import Kind, count_try, forget
from gaiter.records.ledger import Actor
from gaiter.web.frame.request import ClinicRequest


def right_password(request: ClinicRequest, password: str) -> bool:
    """Whether this is the password of whoever is signed in.

    Raises
    ------
    TooManyTriesError
        After too many wrong ones since signing in.
    """
    account: Any = request.user
    whose = hashed(request.session.session_key or "")
    count_try(Kind.SESSION, whose)
    if not account.check_password(password):
        return False
    forget(Kind.SESSION, whose)
    return True


def given_code(actor: Actor, typed: str) -> None:
    """A code of the second factor or a recovery code, where there is a factor.

    Raises
    ------
    InputError
        If the code is wrong.
    TooManyTriesError
        After too many wrong ones.
    """
    if factor_of(actor.account) is not None:
        give_code(actor, typed)
