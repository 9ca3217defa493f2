"""The shelf and its bench-tested curves."""

from django.urls import reverse

from gaiter.records.models import StockItem
from gaiter.records.visit.case import assembled, case_of, stock_mapping
from tests.web.as_shown import as_shown

CURVE = "curve = { usual_stretch = 0.5, usual_tension_n_per_cm = 1.02, locking_stretch = 3.3 }"


def test_a_bench_tested_curve_is_kept_and_used_in_plans(clinic, signed_in) -> None:
    client = signed_in("manager")
    item = {"material": "long_stretch_elastic", "width_cm": "10", "rolls": "9", "low_at": "2"}
    for wrong, words in (
        ("hello", "copy it whole"),
        ("curve = { usual_stretch = 9 }", "0.01 to 3"),
    ):
        answer = client.post(reverse("stock"), {**item, "curve": wrong})
        assert words in answer.content.decode()
        assert wrong in answer.content.decode()
    assert client.post(reverse("stock"), {**item, "curve": CURVE}).status_code == 302
    assert b"own bench test" in client.get(reverse("stock")).content
    stock = case_of(assembled(clinic.visit)).stock
    assert stock["long_stretch_elastic"].curve.usual_tension_n_per_cm == 1.02
    kept = stock_mapping()["long_stretch_elastic"]["curve"]
    page = client.get(reverse("stock-item", args=[StockItem.objects.get().pk])).content.decode()
    assert f"usual_stretch = {kept['usual_stretch']:g}" in page


def test_a_shelf_is_changed_and_counted(clinic, signed_in) -> None:
    client = signed_in("manager")
    client.post(
        reverse("stock"), {"material": "zinc_paste", "width_cm": "8", "rolls": "4", "low_at": "2"}
    )
    item = StockItem.objects.get()
    again = client.post(
        reverse("stock"), {"material": "zinc_paste", "width_cm": "8", "rolls": "4", "low_at": "2"}
    )
    assert b"on the shelf in that width already" in again.content
    changed = {"width_cm": "7.5", "relaxed_length_cm": "", "thickness_mm": "", "low_at": "9"}
    address = reverse("stock-item", args=[item.pk])
    assert client.post(address, {**as_shown(client, address), **changed}).status_code == 302
    for change, status in (("-1", 302), ("lots", 400), ("-99", 400)):
        answer = client.post(reverse("count-stock", args=[item.pk]), {"change": change})
        assert answer.status_code == status, change
    item.refresh_from_db()
    assert (item.width_cm, item.low_at, item.rolls) == (7.5, 9, 3)
