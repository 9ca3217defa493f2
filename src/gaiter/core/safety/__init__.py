"""May this leg be compressed, and up to what pressure: rules with their sources."""

from gaiter.core.safety.aim import Aim, aim_under
from gaiter.core.safety.carry import carry_of, none_present, one_press_paths, screen_paths
from gaiter.core.safety.decision import LegDecision, Outcome, SafetyDecision, SoftStop, decide
from gaiter.core.safety.questions import label_of
from gaiter.core.safety.reason import Reason, RuleKind
from gaiter.core.safety.rule import Carry, Effect, Refer, Rule, Subject
from gaiter.core.safety.rules import RULES

__all__ = [
    "RULES",
    "Aim",
    "Carry",
    "Effect",
    "LegDecision",
    "Outcome",
    "Reason",
    "Refer",
    "Rule",
    "RuleKind",
    "SafetyDecision",
    "SoftStop",
    "Subject",
    "aim_under",
    "carry_of",
    "decide",
    "label_of",
    "none_present",
    "one_press_paths",
    "screen_paths",
]
