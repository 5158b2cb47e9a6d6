"""The tables, as models: what migrations are compared with. The hot paths use plain SQL on the same names.

Instants are whole microseconds since the epoch, dates are ISO text, documents are bytes.
"""

from stillset_service.store.tables.clubs import ApiKey, Audit, Club
from stillset_service.store.tables.people import Athlete, AttentionAnswerRow, Period, Squad, StandardPositionRow
from stillset_service.store.tables.protocols import ProtocolVersion
from stillset_service.store.tables.sets import SetVersion, StoredSetRow

__all__ = [
    "ApiKey",
    "Athlete",
    "AttentionAnswerRow",
    "Audit",
    "Club",
    "Period",
    "ProtocolVersion",
    "SetVersion",
    "Squad",
    "StandardPositionRow",
    "StoredSetRow",
]
