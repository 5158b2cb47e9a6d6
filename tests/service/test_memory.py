"""A bounded memory forgets the least recently used first."""

from stillset_service.memory import Memory


def test_the_least_recently_used_goes_first() -> None:
    memory: Memory[str, int] = Memory(capacity=3)
    for number, key in enumerate("abc"):
        memory.put(key, number)
    assert memory.get("a") == 0
    memory.put("d", 3)
    assert [memory.get(key) for key in "abcd"] == [0, None, 2, 3]


def test_weights_are_counted_and_replaced() -> None:
    memory: Memory[str, int] = Memory(capacity=10)
    memory.put("a", 1, weight=6)
    memory.put("a", 2, weight=4)
    memory.put("b", 3, weight=6)
    assert (memory.get("a"), memory.get("b")) == (2, 3)
    memory.put("c", 4, weight=1)
    assert memory.get("a") is None
    memory.forget("b")
    memory.forget("b")
    memory.put("d", 5, weight=9)
    assert (memory.get("c"), memory.get("d")) == (4, 5)


def test_one_value_may_outweigh_the_whole() -> None:
    memory: Memory[str, int] = Memory(capacity=3)
    memory.put("a", 1)
    memory.put("b", 2, weight=100)
    assert (memory.get("a"), memory.get("b")) == (None, 2)
