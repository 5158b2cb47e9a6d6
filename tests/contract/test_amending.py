"""Amending a set: what may be posted may also be put right."""

from outsider import Club, a_set


def test_a_trace_as_large_as_one_may_be_posted_can_be_amended(club: Club) -> None:
    athlete = club.athlete()
    samples = [0.0] * 1000 + [300.123456789] * 150_000 + [0.0] * 1000
    trace = {"rate_hz": 5000, "left": samples, "right": samples}
    first = club.post(a_set(athlete, reps=..., trace=trace))
    changes = {"trace": {"left": [force * 0.9 for force in samples]}}
    answer = club.api.post(f"/v1/sets/{first['id']}/amend", json={"reason": "wrong gain", "changes": changes})
    assert answer.status_code == 200, answer.text[:500]
    assert len(answer.request.content) > 2**20
    assert club.api.get(f"/v1/sets/{first['id']}").json()["trace"]["left"] == changes["trace"]["left"]
    body = b'{"reason": "too long", "changes": {}}' + b" " * 2**23
    headers = {"Content-Type": "application/json"}
    assert club.api.post(f"/v1/sets/{first['id']}/amend", content=body, headers=headers).status_code == 413
