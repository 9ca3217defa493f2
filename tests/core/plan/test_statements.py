"""Sentences of every plan: what it is not, what it leaves out, and where its numbers come from."""

import pytest

from gaiter.core.plan.statements import CAUTIONS, LIMITS, SOURCES
from gaiter.files.example_bench import example_bench


def test_every_plan_carries_all_of_them_in_order() -> None:
    plan = example_bench().plan
    assert (plan.cautions, plan.limits, plan.sources) == (CAUTIONS, LIMITS, SOURCES)


@pytest.mark.parametrize("said", [*CAUTIONS, *LIMITS, *SOURCES], ids=lambda said: said.text[:30])
def test_each_is_a_sentence_that_nothing_fills_in(said) -> None:
    assert not said.values
    assert said.text[0].isupper()
    assert said.text.endswith(".")


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (CAUTIONS, "never replaces assessment and local policy"),
        (CAUTIONS, "Not a certified medical device"),
        (CAUTIONS, "can cost the leg"),
        (CAUTIONS, "Anyone may always loosen a bandage or take it off"),
        (LIMITS, "Confirm at the gaiter with a sensor"),
        # EWMA Journal 2003; Phlebology 2011 and 2004; J Wound Care 2021; ANSUR II.
        (SOURCES, "Thomas 2003 (girth formula)"),
        (SOURCES, "Al Khaburi 2011 (layers)"),
        (SOURCES, "Dale 2004 (addition of layers)"),
        (SOURCES, "Garrigues-Ramón 2021 (over-prediction)"),
        (SOURCES, "Gordon et al. 2014, NATICK/TR-15/007"),
    ],
)
def test_what_must_be_said_is(where, words) -> None:
    assert sum(words in said for said in where) == 1
