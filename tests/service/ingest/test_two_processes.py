"""Two processes over one store, writing at the same time: nothing lost, nothing doubled, nobody locked out."""

import asyncio
import random
import threading

from stillset_service.settings import Settings

ATHLETES = [f"A-{number}" for number in range(4)]


def test_two_processes_that_write_at_once_lose_and_double_nothing(new_store_address, service, make_set) -> None:
    address = new_store_address()
    services = [type(service)(Settings(database_url=address)) for _ in range(2)]
    clubs = [type(services[0].club())(each, "one-club", ("sets:write", "read", "manage")) for each in services]
    for ref in ATHLETES:
        clubs[0].athlete(ref)
    documents = [make_set(ATHLETES[number % 4], performed_at="2026-09-14T10:00:00Z") for number in range(120)]
    answers: list[list[int]] = [[], []]

    def post_all(which: int) -> None:
        """Post every document, singles and batches in an order of one's own, from several connections."""
        draw = random.Random(which)
        mixed = draw.sample(documents, len(documents))
        client = clubs[which].client

        async def post() -> list[int]:
            batches = [client.post("/v1/sets/batch", json=mixed[start : start + 15]) for start in range(0, 120, 15)]
            singles = [client.post("/v1/sets", json=document) for document in mixed[::3]]
            jobs = batches + singles
            draw.shuffle(jobs)
            return [answer.status_code for answer in await asyncio.gather(*jobs)]

        answers[which] = services[which].runner.run(post())

    threads = [threading.Thread(target=post_all, args=(which,)) for which in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {status for each in answers for status in each} <= {200, 201}
    for club in clubs:
        rows = [row["client_ref"] for ref in ATHLETES for row in club.items(f"/v1/athletes/{ref}/sets?limit=1000")]
        assert sorted(rows) == sorted(document["client_ref"] for document in documents)
        readings = [row for ref in ATHLETES for row in club.items(f"/v1/athletes/{ref}/readings?limit=1000")]
        assert len(readings) == len(documents)
        club.service.runner.run(club.client.aclose())
        club.service.close()
