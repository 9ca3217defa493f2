"""May this leg be compressed, and up to what pressure: rules with their sources."""

from gaiter.core.safety.decision import LegDecision, Outcome, SafetyDecision, decide
from gaiter.core.safety.reason import Kind, Reason

__all__ = ["Kind", "LegDecision", "Outcome", "Reason", "SafetyDecision", "decide"]
