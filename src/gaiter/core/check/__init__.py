"""The check of a bandage that lies: its boxes, its verdict, and the words that go with it."""

from gaiter.core.check.boxes import CHECK_BOXES, PAIN_MOST, CheckBox, Seen
from gaiter.core.check.verdict import HEADLINES, CheckVerdict, Failed, Verdict, judge_check

__all__ = [
    "CHECK_BOXES",
    "HEADLINES",
    "PAIN_MOST",
    "CheckBox",
    "CheckVerdict",
    "Failed",
    "Seen",
    "Verdict",
    "judge_check",
]
