"""Everything on record of one athlete, for whoever asks what is kept about them."""

import orjson
from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.store import attention_answers, audit, periods, positions, sets
from stillset_service.views.answered import answer_row_json
from stillset_service.views.periods import period_json
from stillset_service.views.spelling import Json

__all__ = ["export_json"]


def export_json(connection: Connection, club_id: str, athlete_id: str) -> Json:
    """Give sets with all their versions, standard positions, periods, answers, and the changes about the athlete."""
    return {
        "exported_at": clock.spelled(clock.microseconds(clock.now())),
        "standard_positions": [
            orjson.loads(saved.document) for saved in positions.listed(connection, club_id, athlete_id)
        ],
        "periods": [period_json(period) for period in periods.listed(connection, club_id, athlete_id)],
        "attention_answers": [
            answer_row_json(answer) for answer in attention_answers.listed(connection, club_id, athlete_id)
        ],
        "sets": [_set_json(connection, club_id, stored) for stored in sets.of_athlete(connection, club_id, athlete_id)],
        "changes": [
            {"at": clock.spelled(entry.at_us), "key": entry.key_id, "action": entry.action}
            | {"detail": orjson.loads(entry.detail)}
            for entry in audit.of_athlete(connection, club_id, athlete_id)
        ],
    }


def _set_json(connection: Connection, club_id: str, stored: sets.StoredContent) -> Json:
    return {
        "id": stored.id,
        "status": stored.status,
        "received_at": clock.spelled(stored.received_us),
        "document": orjson.loads(stored.document),
        "versions": [
            {
                "kind": version.kind,
                "reason": version.reason,
                "key": version.key_id,
                "at": clock.spelled(version.at_us),
                "document_before": orjson.loads(version.document_before),
            }
            for version in sets.versions(connection, club_id, stored.id)
        ],
    }
