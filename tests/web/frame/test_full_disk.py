"""A clinic whose disk is full still answers: pages read, and a sentence for what writes."""

import json

import pytest

from tests.folder_clinic import kept_clinic, real

pytestmark = pytest.mark.long

__all__ = ["kept_clinic", "real"]

# "limit": no file of the process may grow beyond a thousand bytes, so that no write at all gets
# through; "pages": the database may not grow by a page, so that small writes do, and large do not.
_FULL = """
import io, json, logging, resource, sys
import django
django.setup()
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection
from django.test import Client
from gaiter.records.actions.plans import propose_plan
from gaiter.records.ledger import Actor, broken_at
from gaiter.records.models import Account, AuditEntry, Episode, Note, PlanRecord, StoredFile, Visit
from gaiter.records.storage import is_full
from gaiter.records.visit.case import assembled, case_of
from gaiter.web.frame import access
from gaiter.web.plan.desk import computed_plan

way = sys.argv[1]
logged = io.StringIO()
logging.getLogger("gaiter").handlers[0].setStream(logged)
settings.ALLOWED_HOSTS.append("testserver")
access._RENEW_SECONDS = -1  # the clock of the session is due at every page
client = Client(raise_request_exception=False)
nurse = Account.objects.get(role="bandager")
client.force_login(nurse, backend="django.contrib.auth.backends.ModelBackend")
episode, visit = Episode.objects.get(), Visit.objects.get()
case = case_of(assembled(visit))
plan = computed_plan(case)
READ = ["/", "/people/", f"/people/{episode.person_id}/", f"/legs/{episode.pk}/",
        f"/visits/{visit.pk}/"]
told = {"quiet": [client.get(address).status_code for address in [*READ, "/health/"]]}

def kept():
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        whole = cursor.fetchone()[0]
    return [whole, broken_at(), *(m.objects.count() for m in (Note, StoredFile, PlanRecord))]

with connection.cursor() as cursor:
    cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    cursor.execute("PRAGMA page_count")
    pages = cursor.fetchone()[0]
    if way == "pages":
        cursor.execute(f"PRAGMA max_page_count = {pages}")
if way == "limit":
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))
before = kept()
entries = AuditEntry.objects.count()
told["read"] = [client.get(address).status_code for address in READ]
told["health"] = client.get("/health/").status_code
picture = SimpleUploadedFile("paper.pdf", b"%PDF-1.4 " + bytes(90_000), "application/pdf")
told["write"] = []
for address, form in (
    (f"/legs/{episode.pk}/note/", {"words": "x" * 9000, "once": "a"}),
    (f"/legs/{episode.pk}/files/", {"file": picture, "kind": "other", "once": "b"}),
):
    answer = client.post(address, form)
    said = "disk is full: nothing of this was recorded" in answer.content.decode()
    told["write"].append([answer.status_code, said])
try:
    propose_plan(Actor(nurse, "here"), visit, plan, case)
except OperationalError as error:
    told["plan"] = is_full(error)
told["lost"] = kept() != before
if way == "limit":
    told["entries"] = AuditEntry.objects.count() - entries
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
else:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA max_page_count = 1000000")
answer = client.post(f"/legs/{episode.pk}/note/", {"words": "room again", "once": "c"})
told["afterwards"] = [answer.status_code, Note.objects.count(), broken_at()]
told["log"] = logged.getvalue()
print(json.dumps(told))
"""


@pytest.mark.parametrize("way", ["limit", "pages"])
def test_a_full_disk_stops_what_writes_and_nothing_else(real, way) -> None:
    code, said = real.python(_FULL, way)
    assert code == 0, said
    told = json.loads(next(line for line in said.splitlines() if line.startswith("{")))
    assert told["quiet"] == [200] * 6
    assert told["read"] == [200] * 5
    assert told["write"] == [[503, True]] * 2
    assert told["plan"] is True
    assert told["lost"] is False
    assert told["afterwards"] == [302, 1, None]
    if way == "limit":
        assert told["health"] == 503
        assert told["entries"] == 0
        # Who opened what is not lost with the audit: the server's log has it, without a name.
        assert "not in the audit: open record person:" in told["log"]
        assert "Ada" not in told["log"]
