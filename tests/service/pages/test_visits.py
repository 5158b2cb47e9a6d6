"""What a visitor sees when the store does not answer."""

import sqlite3

from sqlalchemy.exc import OperationalError

from stillset_service.pages import board


def test_a_store_that_does_not_answer_is_said_in_words(visitor, new_key, monkeypatch):
    def unreachable(*_):
        raise OperationalError("SELECT 1", (), sqlite3.OperationalError("unable to open database file"))

    headers = {"Authorization": f"Bearer {new_key()}"}
    monkeypatch.setattr(board, "desk_of", unreachable)
    answer = visitor.get("/", headers=headers)
    assert answer.status_code == 503
    assert int(answer.headers["retry-after"]) > 0
    assert "Nothing is lost" in answer.text
    assert "not a medical device" in answer.text
    assert "unable to open" not in answer.text
