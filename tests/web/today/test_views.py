"""The list of today, and the paper that it prints as."""

import re

import pytest
from django.urls import reverse

from gaiter.core.errors import InputError
from gaiter.records.models import AuditEntry
from gaiter.records.proof import against_anchor


def test_the_printed_list_anchors_the_audit_log(clinic, signed_in, tmp_path) -> None:
    page = signed_in("bandager").get(reverse("today")).content.decode()
    printed = re.search(r'<p class="print-only">.*?<code>(.*?)</code>', page, re.DOTALL)
    copied = tmp_path / "copied-from-paper"
    copied.write_text(printed[1])
    assert against_anchor(copied) == 1
    number = printed[1].split()[0]
    assert int(number) == AuditEntry.objects.count()  # the opening of this very list is part of it
    copied.write_text(f"{number} {'0' * 64}")
    with pytest.raises(InputError, match="not the one that was noted"):
        against_anchor(copied)
