"""Practice: the task, what was read on it, how it came out; and the technique record."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from gaiter.core.applied.document import Applied
from gaiter.records.models import Attempt, Role
from tests.clinic import attempt_of

pytestmark = pytest.mark.long

LEG = "ordinary-leg"


LIMB = {
    "limb.girth_cm.metatarsal_heads": "22", "limb.girth_cm.ankle": "21.5",
    "limb.girth_cm.calf": "36", "limb.girth_cm.below_knee": "32",
    "limb.position_cm.ankle": "11", "limb.position_cm.calf": "29",
    "limb.position_cm.below_knee": "37",
}  # fmt: skip


@pytest.fixture
def learner(clinic, signed_in):
    return signed_in("learner")


def boxes(client, **query) -> list[str]:
    page = client.get(reverse("practice-leg", args=[LEG]), query).content.decode()
    return [part.split('"')[0] for part in page.split('name="spacing-')[1:]]


def tried(client, **form):
    return client.post(reverse("practice-try", args=[LEG]), {"limb": "limb", **form})


def test_an_attempt_is_kept_and_shows_its_error_in_mmhg(clinic, learner) -> None:
    names = boxes(learner)
    assert len(names) % 3 == 0
    assert names
    answer = tried(learner, **{f"spacing-{name}": "14.5" for name in names}, once="1")
    assert answer.status_code == 302
    one = Attempt.objects.get()
    assert one.by == clinic.accounts[Role.LEARNER]
    page = learner.get(reverse("attempt", args=[one.pk])).content.decode()
    applied = Applied.model_validate_json(one.document)
    assert f"Off the plan by {one.mean_off_mmhg:.0f} mmHg" in page
    for site in applied.sites:
        assert f"<b>{site.median_mmhg:.0f}</b>" in page
    assert "85.7 %" in page


def test_the_limb_at_hand_replaces_the_invented_leg(learner) -> None:
    given = learner.get(reverse("practice-leg", args=[LEG]), LIMB).content.decode()
    assert 'value="21.5"' in given
    wrong = learner.get(reverse("practice-leg", args=[LEG]), {**LIMB, "limb.girth_cm.ankle": "215"})
    assert wrong.status_code == 400
    assert "this looks like millimetres" in wrong.content.decode()


def test_what_cannot_be_is_said_and_loses_nothing(learner) -> None:
    name = boxes(learner)[0]
    for form, words in (
        ({f"spacing-{name}": "5.9"}, "this looks like inches, give 15.0 cm"),
        ({f"spacing-{name}": "lots"}, "A reading must be a number"),
        ({}, "Read at least one mark spacing"),
        (
            {f"spacing-{name}": "14.5", "limb": "nobody"},
            "a colleague&#x27;s leg or a training limb",
        ),
    ):
        answer = tried(learner, **form)
        assert answer.status_code == 400
        page = answer.content.decode()
        assert words in page
        for value in (v for k, v in form.items() if k.startswith("spacing")):
            assert f'value="{value}"' in page
    assert not Attempt.objects.exists()


COLUMNS = {
    "log-time": "t", "log-time-unit": "s", "log-unit": "mmHg", "log-site-gaiter": "p",
    "log-rest-from": "10", "log-rest-to": "300",
}  # fmt: skip


LOG = "t,p\n" + "".join(f"{n},{38 + (n % 3) / 10}\n" for n in range(600))


def test_a_sensors_log_stands_for_its_resting_pressure(learner) -> None:
    log = SimpleUploadedFile("log.csv", LOG.encode(), "text/csv")
    assert tried(learner, log=log, **COLUMNS).status_code == 302
    applied = Applied.model_validate_json(Attempt.objects.get().document)
    read = {site.landmark.value: site.read_mmhg for site in applied.sites if site.read_mmhg}
    assert read == {"gaiter": pytest.approx(38.1, abs=0.05)}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"log-unit": ""}, "unit"),
        ({"log-site-gaiter": "nothing"}, "nothing"),
        ({"log-site-gaiter": ""}, "at least one site must have a column"),
        ({"log-rest-from": "", "log-rest-to": ""}, "only one quiet level"),
        ({"log-rest-to": ""}, "Give both ends of the rest"),
        ({"log-rest-from": "x"}, "Give both ends of the rest"),
        ({"log-rest-from": "500"}, "a span must end after its start"),
    ],
)
def test_a_log_that_cannot_be_read_is_refused_in_words(learner, change, words) -> None:
    log = SimpleUploadedFile("log.csv", LOG.encode(), "text/csv")
    answer = tried(learner, log=log, **{**COLUMNS, **change})
    assert answer.status_code == 400
    page = answer.content.decode()
    assert words in page[page.index('role="alert"') :][:400]
    assert not Attempt.objects.exists()


def test_the_record_is_printed_for_its_owner_and_a_teacher_only(clinic, signed_in) -> None:
    one = attempt_of(clinic.actor(Role.LEARNER))
    owner = clinic.accounts[Role.LEARNER].pk
    for role, status in (("learner", 200), ("prescriber", 200), ("bandager", 404)):
        client = signed_in(role)
        assert client.get(reverse("attempt", args=[one.pk])).status_code == status
        answer = client.get(reverse("practice-record", args=[owner]))
        assert answer.status_code == status
    text = PdfReader(
        io.BytesIO(signed_in("learner").get(reverse("practice-record", args=[owner])).content)
    ).pages[0].extract_text()  # fmt: skip
    assert "Invented learner" in text
    assert "Ordinary leg" in text


def test_no_attempt_no_record(clinic, learner) -> None:
    answer = learner.get(reverse("practice-record", args=[clinic.accounts[Role.LEARNER].pk]))
    assert answer.status_code == 400
    assert b"practise first" in answer.content


def test_a_leg_that_must_not_be_bandaged_takes_no_reading(learner) -> None:
    answer = learner.post(reverse("practice-try", args=["do-not-bandage"]), {"limb": "limb"})
    assert answer.status_code == 400
    assert b"not to be bandaged" in answer.content
