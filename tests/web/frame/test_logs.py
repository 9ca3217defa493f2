"""What the logs may say."""

import json

from django.urls import reverse


def test_logs_name_no_patient(clinic, signed_in, caplog) -> None:
    import logging

    from gaiter.web.frame.logs import JsonFormatter

    records = []
    handler = logging.Handler()
    handler.emit = records.append
    logger = logging.getLogger("gaiter.requests")
    logger.addHandler(handler)
    try:
        client = signed_in("bandager")
        client.get(reverse("people"), {"find": "Ada Invented"})
        client.get(reverse("leg", args=[clinic.episode.pk]))
    finally:
        logger.removeHandler(handler)
    lines = [json.loads(JsonFormatter().format(record)) for record in records]
    assert [line["route"] for line in lines] == ["people/", "legs/<int:pk>/"]
    assert "Ada" not in json.dumps(lines)
