import io
import re
import subprocess
from pathlib import Path

import numpy as np
import pypdf
import pytest

from gaiter.core.check import words
from gaiter.core.landmark import Side
from gaiter.core.plan import LegPlan, Plan, plan
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.plan_file import plan_json, read_plan
from gaiter.files.policy_file import shipped_policy
from gaiter.sheets import bench_sheet_pdf, legs_svg, sheet_pdf
from gaiter.sheets.content import sheet_content
from tests.strategies import case, case_mapping, with_pressures


def made(**changes) -> Plan:
    return plan(case(**changes), shipped_policy(), shipped_catalogue(), samples=256)


def text_of(pdf: bytes, tmp_path: Path) -> list[str]:
    """Text of every page, read back by poppler."""
    path = tmp_path / "sheet.pdf"
    path.write_bytes(pdf)
    out = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True
    )
    return [" ".join(page.split()) for page in out.stdout.split("\f") if page.strip()]


def test_page_one_tells_the_bandager_one_spacing_and_no_probability(tmp_path: Path) -> None:
    whole = made(reference="Heron Ford (invented)")
    first, second = text_of(sheet_pdf(whole), tmp_path)[:2]
    for layer in whole.legs[Side.RIGHT].systems[0].layers:
        if layer.mark_spacing_cm is not None:
            assert f"{layer.mark_spacing_cm:.1f} cm" in first
    assert "Right leg" in first
    assert "never above 60 mmHg" in first
    assert "Do not bandage" in first
    assert "TAKE IT OFF NOW if" in first
    assert sheet_content(whole, whole.legs[Side.RIGHT])["off_now"] == [*words.STAFF_TAKES_IT_OFF_IF]
    assert "toes white, blue or grey" in first
    assert "vascular emergency" in first
    assert "patient label" in first
    assert "invented demo data" in first
    assert "Supports and never replaces assessment" in first
    assert "chance" not in first.lower()
    assert "Chance that every judged site is in its range" in second


EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.long
@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_every_example_has_a_page_for_each_reader(path: Path, tmp_path: Path) -> None:
    """Bandager, prescriber, patient and gauge strip, one page each; one page if not bandaged."""
    whole = plan(read_case(path), shipped_policy(), shipped_catalogue(), samples=256)
    pages = text_of(sheet_pdf(whole), tmp_path)
    planned = [leg for leg in whole.legs.values() if leg.systems]
    assert len(pages) == sum(4 if leg.systems else 1 for leg in whole.legs.values())
    if not planned:
        return
    first, second, third, fourth = pages
    _has_what_a_bandager_needs(planned[0], first)
    assert "for the prescriber" in second
    assert "Other systems" in second
    assert "Limits and sources" in second
    assert "Your bandage" in third
    assert "gauge strip" in fourth


def _has_what_a_bandager_needs(leg: LegPlan, first: str) -> None:
    system = leg.systems[0]
    assert "TAKE IT OFF NOW" in first
    # Words of a narrow column may be broken by the column beside it.
    for layer in system.layers:
        assert layer.title.split(" (")[0] in first
    for head in ("Layers, from the skin outwards", "Check", "Take from stock", "Off by"):
        assert head in first
    assert "Toes warm" in first
    assert "All again after 10 to 15 minutes" in first
    assert "For trained, licensed staff" in first


def test_page_one_holds_everything_that_has_to_be_minded(tmp_path: Path) -> None:
    """Wool to a cone, latex, six cautions: smaller print, still one page, nothing left out."""
    whole = made(
        **{
            "person.allergies": ["latex"],
            "person.mobility": "chair",
            "legs.right.findings.skin_fragile": True,
            "legs.right.findings.skin_weeping": True,
            "legs.right.findings.skin_eczema": True,
            "legs.right.findings.ankle_stiff": True,
            "legs.right.findings.shape": "column",
            "legs.right.findings.pitting_grade": 3,
        }
    )
    pages = text_of(sheet_pdf(whole), tmp_path)
    assert len(pages) == 4
    for words_of in ("LATEX ALLERGY", "Fragile skin", "Weeping skin", "Eczema", "Stiff ankle"):
        assert words_of in pages[0]
    assert "do not wind it back down" in pages[0]
    assert "Tape" in pages[0]


def test_nothing_is_said_twice_on_a_page(tmp_path: Path) -> None:
    """Pads once under Protect; no reason of another system that the chosen one shares."""
    whole = made()
    system = whole.legs[Side.RIGHT].systems[0]
    first, second = text_of(sheet_pdf(whole), tmp_path)[:2]
    for place in system.pads_mm:
        assert first.count(place) == 1
    assert "never replaces assessment" not in second
    content = sheet_content(whole, whole.legs[Side.RIGHT])
    shared = {reason.text.rsplit(" (", 1)[0] for reason in system.reasons_for}
    assert shared
    assert not [line for line in content["others"] for reason in shared if reason in line]
    tails = [line.partition("): ")[2] for line in content["others"]]
    assert len({tail for tail in tails if tail}) == len([tail for tail in tails if tail])


def test_a_stopped_leg_gets_the_reason_and_no_instructions(tmp_path: Path) -> None:
    pages = text_of(sheet_pdf(made(**{"legs.right.findings.rest_pain": True})), tmp_path)
    assert len(pages) == 1
    assert "Stop and refer: no compression" in pages[0]
    assert pages[0].count("Pain at rest in the foot") == 1
    assert "Layers" not in pages[0]


def test_page_one_names_side_and_wound_beside_the_drawing(tmp_path: Path) -> None:
    wound = {"place": "outer ankle", "length_cm": 3, "width_cm": 2}
    first = text_of(sheet_pdf(made(**{"legs.right.wound": wound})), tmp_path)[0]
    assert "Right leg" in first
    assert "Wound: outer ankle · venous ulcer" in first


def test_an_allergy_to_latex_stands_on_page_one(tmp_path: Path) -> None:
    first = text_of(sheet_pdf(made(**{"person.allergies": ["latex"]})), tmp_path)[0]
    assert "LATEX ALLERGY" in first
    assert "LATEX" not in text_of(sheet_pdf(made()), tmp_path)[0]


def test_the_patient_page_follows_arteries_and_mobility(tmp_path: Path) -> None:
    poor = made(**{"legs.right.purpose": "mixed disease", "person.mobility": "bed"})
    page = next(p for p in text_of(sheet_pdf(poor), tmp_path) if "Your bandage" in p)
    assert "do not put it up high" in page
    assert "heel must not lie on the bed" in page
    assert "Walk" not in page
    assert "Put your leg up" not in page


def test_two_legs_two_sheets_each_page_names_its_side(tmp_path: Path) -> None:
    pages = text_of(sheet_pdf(made(**{"legs.left": case_mapping()["legs"]["right"]})), tmp_path)
    half = len(pages) // 2
    assert all("right leg" in page for page in pages[:half])
    assert all("left leg" in page for page in pages[half:])


def test_same_plan_same_bytes() -> None:
    assert sheet_pdf(made()) == sheet_pdf(made())


def test_only_the_vendored_fonts_are_embedded_and_the_file_is_tagged() -> None:
    reader = pypdf.PdfReader(io.BytesIO(sheet_pdf(made())))
    fonts = {
        font.get_object()["/BaseFont"].split("+")[-1]
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert fonts
    assert all(name.startswith("SourceSans3") for name in fonts)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"] == True  # noqa: E712 - a PDF boolean
    assert reader.metadata is not None
    assert reader.metadata.title == "Bandaging sheet"


@pytest.mark.parametrize(
    "label",
    ["#panic() [*bold*] $x$ @ref <b>", "רגל ימין 🦵", "x" * 80, '"; rm -rf', "\\u{202e}abc"],
)
def test_a_hostile_label_is_printed_not_run(label: str, tmp_path: Path) -> None:
    pages = text_of(sheet_pdf(made(reference=label)), tmp_path)
    assert len(pages) == 4
    if label.isascii():
        assert label in " ".join(pages)


def test_many_reasons_flow_on_without_losing_any(tmp_path: Path) -> None:
    whole = plan(
        with_pressures(
            130,
            92,
            **{
                "legs.right.findings.skin_fragile": True,
                "legs.right.findings.skin_weeping": True,
                "legs.right.findings.skin_eczema": True,
                "legs.right.findings.ankle_stiff": True,
                "legs.right.findings.shape": "inverted bottle",
                "person.mobility": "chair",
                "person.can_report_pain": False,
                "person.rheumatoid_arthritis": True,
            },
        ),
        shipped_policy(),
        shipped_catalogue(),
        samples=256,
    )
    text = " ".join(text_of(sheet_pdf(whole), tmp_path))
    for reason in whole.legs[Side.RIGHT].decision.reasons:
        assert reason.text[:30] in text


def test_the_patient_page_says_when_to_take_it_off_and_when_to_come_back(tmp_path: Path) -> None:
    whole = made()
    page = text_of(sheet_pdf(whole), tmp_path)[2]
    assert "Take it off at once and call if" in page
    assert all(text in page for text in (*words.TAKE_IT_OFF_IF, *words.EMERGENCY_IF))
    assert "patient label" in page
    assert "How to cut it off safely" in page
    assert "Whom to call" in page
    # A new bandage is looked at within two days of 25 November.
    assert "27 November 2026" in page


def bars_mm(pdf: bytes, page: int, tmp_path: Path) -> list[float]:
    """Lengths of the long dark horizontal lines of a page, as poppler draws them [mm]."""
    path, dots_per_mm = tmp_path / "gauge.pdf", 400 / 25.4
    path.write_bytes(pdf)
    out = subprocess.run(
        ["pdftoppm", "-r", "400", "-gray", "-f", str(page), "-l", str(page), str(path)],
        check=True,
        capture_output=True,
    ).stdout
    header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+\d+\s", out)
    assert header
    width, height = (int(number) for number in header.groups())
    image = np.frombuffer(out[header.end() :], np.uint8).reshape(height, width) < 128
    lengths: list[float] = []
    last_row = -100
    for row in np.flatnonzero(image.sum(axis=1) > 30 * dots_per_mm):
        columns = np.flatnonzero(image[row])
        runs = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
        longest = max(len(run) for run in runs)
        if longest > 30 * dots_per_mm and row - last_row > 2 * dots_per_mm:
            lengths.append(longest / dots_per_mm)
            last_row = row
    return lengths


def test_the_gauge_strip_is_true_to_scale(tmp_path: Path) -> None:
    """Calibration bar, target spacing and half width, within 0.3 mm."""
    whole = made(stock={"orthopaedic_wool": {"rolls": 3}, "long_stretch_elastic": {"rolls": 3}})
    layers = [
        layer
        for layer in whole.legs[Side.RIGHT].systems[0].layers
        if layer.mark_spacing_cm is not None
    ]
    expected = [100.0]
    for layer in layers:
        if layer.foot_mark_spacing_cm is not None:
            expected.append(10 * layer.foot_mark_spacing_cm)
        expected += [10 * layer.mark_spacing_cm, 10 * layer.width_cm * (1 - layer.overlap)]
    found = bars_mm(sheet_pdf(whole), 4, tmp_path)
    assert len(found) == len(expected)
    for length, wanted in zip(found, expected, strict=True):
        assert length == pytest.approx(wanted, abs=0.3)


def test_a_sheet_printed_again_has_the_same_bytes(tmp_path: Path) -> None:
    whole = made()
    path = tmp_path / "plan.json"
    path.write_text(plan_json(whole))
    assert sheet_pdf(read_plan(path)) == sheet_pdf(whole)


def test_the_bench_sheet_is_one_page(tmp_path: Path) -> None:
    pages = text_of(bench_sheet_pdf(), tmp_path)
    assert len(pages) == 1
    assert "luggage scale" in pages[0]
    assert "gaiter.bench/1" in pages[0]


def test_hands_that_cannot_reach_it_are_told_on_page_one(tmp_path: Path) -> None:
    stock = {"orthopaedic_wool": {"rolls": 3}, "short_stretch": {"rolls": 3}}
    page = text_of(sheet_pdf(made(**{"bandager.training": "untrained", "stock": stock})), tmp_path)
    assert "Not in these hands" in page[0]
    assert "Ask the prescriber" in page[0]


def test_the_drawing_of_a_stopped_leg_says_so() -> None:
    svg = legs_svg(made(**{"legs.right.findings.rest_pain": True}))
    assert "Stop and refer" in svg
