"""The practice record prints each attempt's places off the plan, with their signs."""

import io
from datetime import date

import pypdf

from gaiter.sheets import Practised, practice_record_pdf
from tests.records.actions.test_practice import applied
from tests.sheets.test_sheet import text_of


def one(day: date, mean: float) -> Practised:
    return Practised(day, "Ordinary leg", "a training limb", mean, applied())


def test_places_off_the_plan_and_their_mean_are_printed(tmp_path) -> None:
    """+4 at the ankle, -2 at the gaiter, +6 at the calf, nothing below the knee; mean 4."""
    attempts = [one(date(2026, 11, 9), 4.0), one(date(2026, 11, 20), 3.4)]
    pdf = practice_record_pdf(
        "Jon Wicket", attempts, ["a course reached 5 mmHg"], date(2026, 12, 1)
    )
    (page,) = text_of(pdf, tmp_path)
    assert "Jon Wicket, printed 1 Dec 2026" in page
    assert "1 9 Nov 2026 Ordinary leg a training limb +4 -2 +6 – 4" in page
    assert "2 20 Nov 2026 Ordinary leg a training limb +4 -2 +6 – 3" in page
    assert "a course reached 5 mmHg" in page


def test_the_record_is_of_its_day_and_the_same_again() -> None:
    made = [practice_record_pdf("J", [one(date(2026, 11, 9), 4.0)], [], date(2026, 12, 1))
            for _ in range(2)]  # fmt: skip
    assert made[0] == made[1]
    metadata = pypdf.PdfReader(io.BytesIO(made[0])).metadata
    assert metadata.title == "Practice record"
    assert metadata.creation_date.date() == date(2026, 12, 1)
