"""What a plan says is templates and values: no English is left in a made-up language."""

import json
from typing import Any

import pytest
from pydantic import ValidationError

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Adjustment, LayerChange, Plan, bench_of
from gaiter.core.plan.changes import as_recorded, plan_change
from gaiter.core.words import Said
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.plan_file import as_written, plan_json
from gaiter.files.policy_file import shipped_policy
from tests.made_up_language import made_up, ordinary_letters
from tests.said import CASES, EXAMPLES, bench, said_in
from tests.strategies import case

RIGHT = "legs.right."


def no_english_in(document: Any, *names: str) -> None:
    """Typed names and keys of a case aside, which stand as they are in every language."""
    found = list(said_in(document))
    assert found
    for said in found:
        assert set(ordinary_letters(said.told(made_up))) <= set(names), said.text


@pytest.mark.long
@pytest.mark.parametrize("name", [*CASES, *EXAMPLES])
def test_no_english_is_left_in_a_plan(name: str) -> None:
    made = bench(name).plan
    no_english_in(made)
    for leg in made.legs.values():
        no_english_in(leg.headline_words)
        for system in leg.systems:
            no_english_in(system.spread_words)
            no_english_in(system.round_words)


def test_no_english_is_left_in_what_was_changed_by_hand() -> None:
    adjustment = Adjustment(
        "wool_short_stretch",
        {"short_stretch": LayerChange(0.6, 0.6, Pattern.HERRINGBONE)},
        start=Landmark.INSTEP,
        end=Landmark.CALF,
        pads_mm={"heel": 6, "instep": 0},
    )
    assert len(adjustment.in_words()) == 7
    no_english_in(adjustment.in_words())
    made = bench("ordinary").adjusted(Side.RIGHT, adjustment).leg
    assert made.systems[0].by_hand == adjustment.in_words()
    no_english_in(made)


@pytest.mark.parametrize(
    "changes",
    [{}, {f"{RIGHT}girth_cm.gaiter": 23.0}, {f"{RIGHT}arterial.dorsalis_pedis_mmhg": 92},
     {f"{RIGHT}purpose": "oedema"}, {f"{RIGHT}girth_cm.below_knee": 30.0}],
)  # fmt: skip
def test_no_english_is_left_in_what_a_later_day_changed(changes: dict[str, Any]) -> None:
    then = bench("ordinary").plan.legs[Side.RIGHT]
    system = then.systems[0]
    later = bench_of(
        case(**changes), shipped_policy(), shipped_catalogue(), samples=64,
        systems=frozenset({system.name}),
    )  # fmt: skip
    now = later.plan.legs[Side.RIGHT]
    if later.legs:
        now = later.adjusted(Side.RIGHT, as_recorded(system)).leg
    no_english_in(plan_change(then, now, 0.02))
    no_english_in(plan_change(then, None, 0.02))


def without_templates(document: Any) -> Any:
    """As plans were written before there were templates."""
    if isinstance(document, list):
        return [without_templates(one) for one in document]
    if not isinstance(document, dict):
        return document
    if document.keys() - {"values", "code"} == {"text", "template"}:
        return document["text"]
    kept = {key: part for key, part in document.items() if key not in ("template", "values")}
    return {key: without_templates(part) for key, part in kept.items()}


@pytest.mark.parametrize("name", ["ordinary", "nothing in stock", "inner-ankle-ulcer"])
def test_a_plan_comes_back_from_its_document_with_every_template(name: str) -> None:
    made = bench(name).plan
    assert as_written(Plan.model_validate_json(plan_json(made)), "plan.json") == made


@pytest.mark.parametrize("name", ["ordinary", "poor arteries, self-care", "nothing in stock"])
def test_a_plan_written_before_there_were_templates_reads_and_is_written_as_it_was(name) -> None:
    made = bench(name).plan
    old = without_templates(json.loads(plan_json(made)))
    read = Plan.model_validate(old)
    assert json.loads(read.model_dump_json(by_alias=True)) == old
    for then, now in zip(read.legs.values(), made.legs.values(), strict=True):
        assert then.headline_words.text == now.headline_words.text
        assert then.status_reason.text == now.status_reason.text
        for before, after in zip(then.systems, now.systems, strict=True):
            assert before.outcome_reason.text == after.outcome_reason.text
            assert list(map(str, before.reasons_for)) == list(map(str, after.reasons_for))
            assert [one.now.text for one in before.supplies] == [
                one.now.text for one in after.supplies
            ]


def test_a_text_that_is_not_its_template_is_refused() -> None:
    document = json.loads(plan_json(bench("ordinary").plan))
    system = document["legs"]["right"]["systems"][0]
    assert system["outcome_reason"]["template"] == "{first}; {second}"
    system["outcome_reason"]["text"] = "likely 20 mmHg at the gaiter, wanted 30–50"
    with pytest.raises(ValidationError, match="must say what its template and values say"):
        Plan.model_validate(document)


def test_what_fills_a_template_is_no_sentence_put_together() -> None:
    """A plain text among the values is a name, never words of ours."""
    for name in CASES:
        for said in said_in(bench(name).plan):
            texts = [value for value in said.values.values() if isinstance(value, str)]
            assert ordinary_letters(" ".join(texts)) == [], said


def test_a_reason_for_a_system_names_its_rule() -> None:
    leg = bench("poor arteries, self-care").plan.legs[Side.RIGHT]
    found = next(system for system in leg.systems if system.name == "wool_short_stretch")
    assert "arteries" in {why.code for why in found.reasons_for}
    assert {said.code for said in leg.excluded if "Mosti" in said} >= {"two_layer_stockings"}
    assert all(isinstance(said, Said) and said.code for said in leg.excluded)


@pytest.mark.parametrize(
    "changes",
    [{"pads_mm": {"heel": 21}}, {"layers": {"short_stretch": LayerChange(stretch=2.0)}},
     {"layers": {"short_stretch": LayerChange(overlap=0.9)}}],
)  # fmt: skip
def test_no_english_is_left_in_a_change_that_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refused:
        bench("ordinary").adjusted(Side.RIGHT, Adjustment("wool_short_stretch", **changes))
    assert refused.value.said.text == str(refused.value)
    assert ordinary_letters(refused.value.said.told(made_up)) == []
