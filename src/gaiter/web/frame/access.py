"""Who may open what: every view declares its roles and verbs, and nothing opens without."""

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import wraps
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ImproperlyConfigured
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import redirect, resolve_url
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode

from gaiter.core.errors import InputError
from gaiter.records.entrance.tries import TooManyTriesError
from gaiter.records.ledger import Actor, AlreadyDoneError, NotAllowedError
from gaiter.records.models import Role
from gaiter.records.read.visible import is_visible, teams_count
from gaiter.records.sealing import SealError
from gaiter.records.words import in_language
from gaiter.web.frame import errors
from gaiter.web.frame.address import address_of
from gaiter.web.frame.gate import ACCOUNT
from gaiter.web.frame.workload import BusyError

_LOG = logging.getLogger("gaiter.record")
View = Callable[..., HttpResponse]
EVERYBODY = frozenset(Role)
CLINICAL = frozenset({Role.PRESCRIBER, Role.BANDAGER})
# What a session says of the second factor. Setting one up or losing it ends every session of the
# account, so what is said stays true.
FACTOR_NONE, FACTOR_ASKED, FACTOR_GIVEN = "none", "asked", "given"
# The clock in the session is renewed at most this often, so that reading writes nothing.
_RENEW_SECONDS = 30


@dataclass(frozen=True)
class Access:
    """Roles and verbs of a view.

    ``anonymous`` opens it without signing in, ``when_locked`` while the screen is locked, and
    ``before_factor`` while the second factor was not given yet. ``of`` is the kind of record of a
    person that the address names; somebody who does not see that person is answered as if there
    were no such record.
    """

    roles: frozenset[Role]
    verbs: tuple[str, ...]
    anonymous: bool = False
    when_locked: bool = False
    before_factor: bool = False
    of: type[Model] | None = None


def allow(
    roles: frozenset[Role] | Role,
    *verbs: str,
    anonymous: bool = False,
    when_locked: bool = False,
    before_factor: bool = False,
    of: type[Model] | None = None,
) -> Callable[[View], View]:
    """Declares who may open a view, and with which verbs; HEAD goes with GET.

    Raises
    ------
    ImproperlyConfigured
        If no verb is named.
    """
    if not verbs:
        raise ImproperlyConfigured("a view declares by which verbs it is opened: name them")
    named = frozenset({roles}) if isinstance(roles, Role) else roles

    def declare(view: View) -> View:
        @wraps(view)
        def inner(*args: Any, **kwargs: Any) -> HttpResponse:
            return view(*args, **kwargs)

        access = Access(named, verbs, anonymous, when_locked, before_factor, of)
        inner.access = access  # type: ignore[attr-defined] # read by the middleware
        return inner

    return declare


class AccessMiddleware:
    """Signs out, locks, sends away or lets in, before any view runs."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Names the actor and keeps pages out of shared caches."""
        account = request.user if request.user.is_authenticated else None
        request.META[ACCOUNT] = account.pk if account else None
        request.actor = Actor(account, address_of(request))  # type: ignore[attr-defined] # the request's own
        response = self.get_response(request)
        response.setdefault("Cache-Control", "no-store")
        return response

    def process_view(
        self, request: HttpRequest, view: View, _args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """The answer that keeps somebody out; None lets in."""
        access: Access | None = getattr(view, "access", None)
        if access is None:
            if request.path.startswith(f"/{settings.STATIC_URL.strip('/')}/"):
                return None
            raise ImproperlyConfigured(f"{view} declares nobody who may open it")
        if access.anonymous:
            return None
        if not request.user.is_authenticated:
            return _away(request, "sign-in", 401)
        held = _locked(request)
        if held is not None and access.when_locked:
            # The audit says that whoever did this did not show who they are.
            actor: Actor = request.actor  # type: ignore[attr-defined] # the request's own
            request.actor = replace(actor, where=f"{actor.where}, locked screen".lstrip(", "))  # type: ignore[attr-defined] # as above
            held = None
        if held is None and not access.before_factor:
            held = _second_factor(request)
        if held is None and request.user.role not in access.roles:
            return errors.not_yours(request)
        if held is None and access.of is not None and teams_count():
            _require_visible(request, access.of, kwargs["pk"])
        return held

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """What a person can mend is said in words; everything else is a fault of the program."""
        if isinstance(error, AlreadyDoneError):
            messages.info(request, in_language(error.said))
            return redirect(safe_next(request, reverse("today")))
        if isinstance(error, BusyError):
            return errors.busy(request, error.words)
        if isinstance(error, SealError):
            _LOG.error("sealed value does not open", exc_info=error)
            return errors.changed_past_us(request)
        if isinstance(error, InputError):
            statuses = {NotAllowedError: 403, TooManyTriesError: 429}
            of_kind = (status for kind, status in statuses.items() if isinstance(error, kind))
            control = type(error).__name__.removesuffix("Error")
            return errors.refused(request, in_language(error.said), next(of_kind, 400), control)
        return None


def _require_visible(request: HttpRequest, of: type[Model], pk: int) -> None:
    actor: Actor = request.actor  # type: ignore[attr-defined] # the request's own
    if not is_visible(actor, of, pk):
        raise Http404


def _away(request: HttpRequest, name: str, status: int) -> HttpResponse:
    """To another page and back again; a script is told by the status alone."""
    if errors.by_script(request):
        return errors.noted(JsonResponse({"gone": reverse(name)}, status=status), name)
    here = request.get_full_path() if request.method == "GET" else _referring_page(request)
    return HttpResponseRedirect(f"{reverse(name)}?{urlencode({'next': here})}")


def _referring_page(request: HttpRequest) -> str:
    before = request.headers.get("Referer", "")
    allowed = url_has_allowed_host_and_scheme(before, {request.get_host()})
    return before if allowed else reverse("today")


def _locked(request: HttpRequest) -> HttpResponse | None:
    now, session = time.time(), request.session
    seen = session.get("seen", now)
    idle = now - seen
    # A clock that was put back is no touch.
    if (idle > 60 * settings.GAITER.idle_minutes or idle < -60) and not session.get("locked"):
        session["locked"] = True
    if session.get("locked"):
        return _away(request, "lock", 423)
    if now - seen > _RENEW_SECONDS or "seen" not in session:
        session["seen"] = now
    return None


def _second_factor(request: HttpRequest) -> HttpResponse | None:
    state = request.session.get("factor", FACTOR_NONE)
    if state == FACTOR_ASKED:
        return _away(request, "second-factor", 401)
    if state == FACTOR_NONE and settings.GAITER.second_factor:
        return _away(request, "second-factor-set-up", 401)
    return None


def safe_next(request: HttpRequest, usual: str) -> str:
    """Where to go next: the page that was asked for if it is ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    # A bare word is no address: a redirect would take it for the name of a view.
    address = wanted.startswith(("/", "http://", "https://"))
    if address and url_has_allowed_host_and_scheme(wanted, {request.get_host()}):
        return wanted
    return resolve_url(usual)
