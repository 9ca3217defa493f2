"""Writes docs/safety.md from the rules: ``python scripts/safety_page.py``."""

from pathlib import Path

from gaiter.core.safety import RULES, Rule, RuleKind, label_of, screen_paths
from gaiter.core.safety.rule import Subject

PAGE = Path(__file__).resolve().parent.parent / "docs/safety.md"

HEAD = """# Safety rules

What `gaiter safety`, `gaiter plan` and every page of the clinic ask before a leg is bandaged. This
page is written from the rules themselves (`python scripts/safety_page.py`): each rule is one record
in [`core/safety/rules`](../src/gaiter/core/safety/rules), its thresholds stand in
[`data/policy.toml`](../src/gaiter/data/policy.toml), each with its source. A clinic's own file
changes thresholds (`--policy`); every output then says what was changed, loudly where it guards
less, target ranges and spreads of the hands included.

## How a decision comes about

A decision is made from **whatever is known**; it needs no girth, height, bandager or stock.

1. The **person** first, then **each leg**.
2. Any **hard stop** or **soft stop**: *stop and refer* (exit code 3). A soft stop may be set aside
   by a prescriber, one by one, in writing, with an aim and a maximum of its own; some ask for
   something first (a named vascular decision, arteries measured today). A hard stop never.
3. Otherwise anything to **ask or measure first**: *not yet* (exit code 4). Nothing is bandaged,
   unless a prescriber, or whoever acts on the clinic's standing order, chooses local policy's
   provisional level (at most 20 mmHg), which is open only with the red-flag screen complete and no
   wound on the foot.
4. Otherwise the lowest **cap**: *reduced*, else *full*. Two numbers, never one: what is aimed at,
   and what is never exceeded.
5. **Cautions** and **flags** change no pressure and are printed.

What was not asked is never taken for no. Leaving an answer out never allows more, and a worse
finding never allows more; what is left of that:

- Only capping when not said, so that a clinic with a hand-held probe is not blocked: {caps}. The
  same holds for one of the two ankle arteries, and for the ankle beside a measured toe.
- Further tests that an ordinary leg does not need: toe pressure and oxygen at the skin. Rules ask
  for the toe pressure where the ankle's may mislead.
- An index above 1.30 says that the arteries are stiff, not that they are good: with a lower ankle
  pressure the index can be read again, and may allow more. So it is with a toe index above what
  healthy adults have, and with a toe above its ankle: one of the numbers is wrong.
- The purpose is chosen, not found: a sprain's maximum is lower than an ulcer's.

At a limit the raw and the rounded index are both judged and the worse class holds: 0.595 is below
0.60, and 0.904 is not above 0.90.

## What is asked

At every visit, before anything is measured with a tape. *One press* ("asked all of these, none
present") answers those so marked, if they were not present last time.

"""


def _questions() -> list[str]:
    lines = ["| Question | For | Carries over | One press |", "|---|---|---|---|"]
    for path in screen_paths():
        rules = [rule for rule in RULES.values() if path in rule.needs]
        codes = ", ".join(f"`{rule.code}`" for rule in rules)
        press = "yes" if all(rule.one_press for rule in rules) else "no"
        lines.append(f"| {label_of(path)} | {codes} | {rules[0].carry} | {press} |")
    return lines


def _row(rule: Rule) -> str:
    does = rule.kind.value
    if rule.refer is not None:
        does += f"; ask: {rule.refer}"
    for effect in sorted(rule.effects):
        does += f"; {effect}"
    if rule.kind is RuleKind.FIRST and rule.provisional:
        does += "; leaves the provisional level"
    text = rule.text.replace("|", "/")
    source = f"{rule.source} ({rule.strength})"
    return f"| `{rule.code}` | {does} | {text} | {source} | {rule.disagreement or ''} |"


def page() -> str:
    """The whole page."""
    caps = "; ".join(
        label_of(path)
        for rule in RULES.values()
        if rule.only_caps
        for path in rule.needs
        if rule.code in ("stent", "waveform_absent")
    )
    lines = [HEAD.format(caps=caps).rstrip("\n"), "", *_questions(), "", "## Every rule"]
    for subject in Subject:
        rules = [rule for rule in RULES.values() if rule.subject is subject]
        lines += ["", f"### {subject}", ""]
        lines += ["| Rule | Does | Says | Source (strength) | Guidelines disagree |"]
        lines += ["|---|---|---|---|---|", *map(_row, rules)]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page())
