"""Everything the clinic keeps."""

from gaiter.records.models.account import Account, Role, StandingOrder
from gaiter.records.models.audit import AuditEntry
from gaiter.records.models.bandage import (
    AppliedRecord,
    BandageEvent,
    Bandaging,
    Check,
    Deed,
    Reading,
)
from gaiter.records.models.grant import Grant, RecoveryCode, SecondFactor
from gaiter.records.models.mark import Mark
from gaiter.records.models.person import CallBack, Episode, Note, Person, StoredFile
from gaiter.records.models.plan import PlanRecord
from gaiter.records.models.practice import Attempt
from gaiter.records.models.stock import StockItem, StockMove
from gaiter.records.models.team import OutsideOpening, Team, TeamMember, TeamPerson
from gaiter.records.models.visit import (
    Entry,
    OverrideRecord,
    ProvisionalRecord,
    StopAction,
    StopCleared,
    Visit,
)

__all__ = [
    "Account",
    "AppliedRecord",
    "Attempt",
    "AuditEntry",
    "BandageEvent",
    "Bandaging",
    "CallBack",
    "Check",
    "Deed",
    "Entry",
    "Episode",
    "Grant",
    "Mark",
    "Note",
    "OutsideOpening",
    "OverrideRecord",
    "Person",
    "PlanRecord",
    "ProvisionalRecord",
    "Reading",
    "RecoveryCode",
    "Role",
    "SecondFactor",
    "StandingOrder",
    "StockItem",
    "StockMove",
    "StopAction",
    "StopCleared",
    "StoredFile",
    "Team",
    "TeamMember",
    "TeamPerson",
    "Visit",
]
