"""What applied bandages teach, written for a case file."""

from collections.abc import Mapping

from gaiter.core.case import Calibration, Habit, Remainder, SiteOffset


def habits_entry(habits: Mapping[str, Habit]) -> str:
    """TOML for the case's bandager."""
    blocks = []
    for material, habit in habits.items():
        heights = ", ".join(
            f"{height} = {{ tension_percent = {at.tension_percent:.1f}, "
            f"sure_percent = {at.sure_percent:.1f} }}"
            for height, at in habit.heights.items()
        )
        blocks.append(
            f"[bandager.habits.{material}]\n"
            f"readings = {habit.readings}\n"
            f"spread_percent = {habit.spread_percent:.1f}\n"
            f"heights = {{ {heights} }}"
        )
    return "\n\n".join(blocks)


def calibration_entry(calibration: Calibration) -> str:
    """TOML for the case's calibration."""
    parts = [("calibration.clinic", calibration.clinic)]
    parts += [(f"calibration.systems.{name}", one) for name, one in calibration.systems.items()]
    entries = [f"[{name}]\n{_remainder(one)}" for name, one in parts]
    entries += [
        f"[calibration.sites.{site}]\n{_offset(one)}" for site, one in calibration.sites.items()
    ]
    return "\n\n".join(entries)


def _remainder(one: Remainder) -> str:
    return (
        f"bandages = {one.bandages}\nvalues = {one.values}\n"
        f"median = {one.median:.4f}\nrange95 = {one.range95:.4f}"
    )


def _offset(one: SiteOffset) -> str:
    return (
        f"bandages = {one.bandages}\nlegs = {one.legs}\n"
        f"median = {one.median:.4f}\nrange95 = {one.range95:.4f}"
    )
