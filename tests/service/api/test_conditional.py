"""Entity tags and If-None-Match."""

import pytest

from stillset_service.api.conditional import entity_tag, is_current

TAG = entity_tag(["club", 7])


def test_a_tag_depends_on_every_part_and_on_where_parts_end() -> None:
    assert entity_tag(["club", 7]) == TAG
    assert (
        len({entity_tag(parts) for parts in (["club", 7], ["club", 8], ["club7"], ["clu", "b7"], ["7", "club"])}) == 5
    )


@pytest.mark.parametrize(
    "header", [TAG, f"W/{TAG}", f'"other", {TAG}', f'W/"a",W/{TAG} , "b"', "*", " * ", f'"a,b",{TAG}']
)
def test_a_copy_that_is_still_good_is_known(header: str) -> None:
    assert is_current(header, TAG)


@pytest.mark.parametrize("header", [None, "", '"other"', TAG.strip('"'), f'"{TAG[1:-1]}x"', "W/", '"*"'])
def test_any_other_copy_is_not(header: str | None) -> None:
    assert not is_current(header, TAG)
