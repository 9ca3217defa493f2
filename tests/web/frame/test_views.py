"""The pages of the frame itself."""

from dataclasses import replace

import pytest
from django.db import connection
from django.urls import reverse

from gaiter.files.systems_file import read_systems
from gaiter.records.visit.case import local_catalogue
from gaiter.web.frame import views

OWN = """
schema = "gaiter.systems/1"
name = "Heron Ford"
version = "1"
without = ["four_layer"]
"""


def test_systems_that_the_clinic_took_out_stand_on_the_policy_page(
    signed_in, monkeypatch, tmp_path
) -> None:
    address, title = reverse("policy"), "Bandage systems of this clinic"
    doctor = signed_in("prescriber")
    assert title not in doctor.get(address).content.decode()
    path = tmp_path / "systems.toml"
    path.write_text(OWN)
    own = read_systems(path, local_catalogue())
    monkeypatch.setattr(views, "local_catalogue", lambda: own)
    text = doctor.get(address).content.decode()
    assert title in text
    assert "bandage system taken out: Four layers (Heron Ford, version 1)" in text


@pytest.mark.parametrize(("room", "status"), [(True, 200), (False, 503)])
def test_health_says_that_the_disk_is_full(
    client, db, settings, monkeypatch, tmp_path, room, status
) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("the disk of PostgreSQL is another machine's")
    settings.GAITER = replace(settings.GAITER, folder=tmp_path)
    monkeypatch.setattr(views, "has_room", lambda folder: room)
    answer = client.get(reverse("health"))
    assert answer.status_code == status
    assert answer.json()["state"] == ("good" if room else "disk full")
