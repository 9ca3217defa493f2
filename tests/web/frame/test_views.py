"""The pages of the frame itself."""

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
