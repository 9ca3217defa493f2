"""Pressure along the leg, to scale, beside its range and maximum."""

import pytest

from gaiter.core.draw.profile import applied_profile, pressure_profile
from gaiter.core.landmark import Landmark, Side
from tests.core.draw.drawn import SVG, both_legs, parsed, texts


def test_profile_says_in_words_what_it_shows() -> None:
    leg = both_legs().legs[Side.RIGHT]
    root = parsed(pressure_profile(leg, leg.systems[0]))
    words = root.find(f"{SVG}desc")
    assert words is not None
    for site in leg.systems[0].sites:
        assert f"{site.landmark.label}: likely {site.median_mmhg:.0f} mmHg" in (words.text or "")
    assert "Maximum at the gaiter 60 mmHg" in (words.text or "")
    labels = [e.text for e in root.iter(f"{SVG}text")]
    assert "pressure, mmHg" in labels
    assert "maximum 60, full" in labels


def test_profile_places_pressure_to_scale() -> None:
    """The gaiter's disc stands at its median between the axis ticks."""
    leg = both_legs().legs[Side.RIGHT]
    root = parsed(pressure_profile(leg, leg.systems[0]))
    texts = {e.text: float(e.get("x", "0")) for e in root.iter(f"{SVG}text")}
    per_mmhg = (texts["60"] - texts["0"]) / 60
    gaiter = next(s for s in leg.systems[0].sites if s.landmark is Landmark.GAITER)
    expected = texts["0"] + gaiter.median_mmhg * per_mmhg
    circles = [float(c.get("cx", "0")) for c in root.iter(f"{SVG}circle")]
    assert min(abs(x - expected) for x in circles) < 0.02


def test_the_applied_profile_tells_plan_and_bandage_apart_without_colour() -> None:
    from gaiter.core.applied.judge import applied_pressure
    from tests.core.applied.applied_plan import marks_cm, plan, readings

    made = applied_pressure(plan(), readings([marks_cm(), marks_cm() - 1, marks_cm() - 1]))
    text = applied_profile(next(iter(plan().legs.values())), made).to_text()
    # Squares for the bandage and rings for the plan, one of each a site and one in the key.
    assert text.count('height="8"') == len(made.sites) + 1
    assert text.count("<circle") == len(made.sites) + 1
    for site in made.sites:
        assert f"{site.landmark.label}: likely {site.median_mmhg:.0f} mmHg" in text
        assert f"planned {site.planned_mmhg:.0f}" in text


def drawn_with(**site):
    """The gaiter's row of the first system with other numbers, in a drawing 380 px high."""
    leg = both_legs().legs[Side.RIGHT]
    system = leg.systems[0]
    sites = tuple(
        one.model_copy(update=site) if one.landmark is Landmark.GAITER else one
        for one in system.sites
    )
    return leg, system, pressure_profile(leg, system.model_copy(update={"sites": sites}))


def scale(drawing):
    """Pressure to px across, from the ticks at 0 and 60 mmHg, which is no site's number."""
    found = texts(drawing)
    zero, sixty = (float(found[tick].get("x", "nan")) for tick in ("0", "60"))
    return lambda mmhg: zero + mmhg * (sixty - zero) / 60


def test_range_band_and_maximum_stand_at_their_pressures() -> None:
    _, _, drawing = drawn_with(median_mmhg=40.0, low_mmhg=31.0, high_mmhg=52.0)
    x, root = scale(drawing), parsed(drawing)
    aims = [
        (float(one.get("x")), float(one.get("width")))
        for one in root.iter(f"{SVG}rect")
        if one.get("stroke-dasharray") == "1 2"
    ]
    # 30 to 50 at the gaiter.
    assert any(at == pytest.approx((x(30), x(50) - x(30)), abs=0.02) for at in aims)
    lines = [tuple(float(one.get(n)) for n in ("x1", "x2")) for one in root.iter(f"{SVG}line")]
    assert any(ends == pytest.approx((x(31), x(52)), abs=0.02) for ends in lines)
    assert float(texts(drawing)["maximum 60, full"].get("x")) == pytest.approx(x(60), abs=0.02)


def test_a_site_with_a_maximum_of_its_own_shows_it_at_its_height() -> None:
    """Round the ankle 1.3 times the leg's 60; a site with the leg's 60 has the line alone."""
    leg, system, drawing = drawn_with()
    x, root, found = scale(drawing), parsed(drawing), texts(drawing)
    lines = [tuple(float(one.get(n)) for n in ("x1", "x2")) for one in root.iter(f"{SVG}line")]
    assert any(ends == pytest.approx((x(78), x(78)), abs=0.02) for ends in lines)
    assert float(found["78"].get("y")) == pytest.approx(float(found["ankle"].get("y")))
    assert "Maximum at the ankle 78 mmHg." in drawing.to_text()
    alike = [one.model_copy(update={"maximum_mmhg": 60.0}) for one in system.sites]
    plain = pressure_profile(leg, system.model_copy(update={"sites": tuple(alike)}))
    assert "78" not in texts(plain)


@pytest.mark.parametrize(("high", "last"), [(79.9, "80"), (80.0, "100"), (139.0, "140")])
def test_the_axis_ends_at_the_tick_over_the_highest_band(high: float, last: str) -> None:
    leg, system, _ = drawn_with()
    low = {"low_mmhg": 1.0, "median_mmhg": 2.0, "high_mmhg": 3.0}
    sites = [one.model_copy(update=low) for one in system.sites]
    sites[0] = sites[0].model_copy(update={"high_mmhg": high})
    flat = system.profile.model_copy(
        update={name: (value,) * len(system.profile.s_cm) for name, value in low.items()}
    )
    changed = system.model_copy(update={"sites": tuple(sites), "profile": flat})
    found = texts(pressure_profile(leg, changed))
    ticks = [int(words) for words in found if words.isdigit() and int(words) % 20 == 0]
    assert max(ticks) == int(last)
    assert leg.decision.maximum_mmhg == 60


def test_places_stand_up_the_leg_to_scale_and_at_an_end_beyond_it() -> None:
    leg, system, drawing = drawn_with()
    rows = {
        landmark: float(texts(drawing)[landmark.label].get("y")) - 4
        for landmark in (one.landmark for one in system.sites)
    }
    s = leg.surface.s_cm
    first, last = system.profile.s_cm[0], system.profile.s_cm[-1]
    # 40 px under the lowest, 34 over the highest.
    for landmark, row in rows.items():
        share = min(max((s[landmark] - first) / (last - first), 0), 1)
        assert row == pytest.approx(380 - 40 - share * (380 - 34 - 40), abs=0.02)


def test_a_site_without_a_range_has_none_in_words() -> None:
    leg, system, _ = drawn_with()
    words = parsed(pressure_profile(leg, system)).findtext(f"{SVG}desc")
    (gaiter,) = [part for part in words.split("; ") if part.startswith("gaiter:")]
    (instep,) = [part for part in words.split("; ") if part.startswith("instep:")]
    assert gaiter.endswith(", aim 30 to 50")
    assert "aim" not in instep
