"""Parting a file of sets into its items, each as it was written."""

import gzip
import io
import json
from pathlib import Path

import pytest

from stillset_service.commands.console import CommandError
from stillset_service.commands.set_files import BATCH_SETS, Item, batches, items_of, read_items

ODD = b'{"client_ref": "a", "note": "a [b], {c}\\n\\u00e9", "rpe": 1.50}'


def test_ndjson_keeps_each_line_and_its_number_and_skips_blank_ones() -> None:
    assert items_of(b'{"a": 1}\r\n\n  \n' + ODD + b"\n") == [Item(1, b'{"a": 1}'), Item(4, ODD)]


def test_a_json_array_is_parted_without_changing_a_character_of_its_items() -> None:
    content = b' [ {"a": 1.50,\n "a": 2} , ' + ODD + b"\n]\n"
    assert items_of(content) == [Item(1, b'{"a": 1.50,  "a": 2}'.replace(b"  ", b"  ")), Item(2, ODD)]


def test_one_object_over_several_lines_is_one_item() -> None:
    document = {"client_ref": "a", "reps": [1, 2]}
    (item,) = items_of(json.dumps(document, indent=1).encode())
    assert b"\n" not in item.text
    assert json.loads(item.text) == document


def test_a_broken_line_is_an_item_for_the_service_to_name() -> None:
    assert [item.text for item in items_of(b'{"a": 1}\n{"a":\n\xff\xfe')] == [b'{"a": 1}', b'{"a":', b"\xff\xfe"]


@pytest.mark.parametrize(
    "content", [b"[", b"[{}", b"[{},", b"[{} {}]", b'[{"a"]', b"[{}] x", b"[\xff]", b"[" * 100_000]
)
def test_a_broken_array_is_refused_in_one_line(content: bytes) -> None:
    with pytest.raises(CommandError) as refused:
        items_of(content)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("content", [b"[]", b"", b"\n\n"])
def test_a_file_without_sets_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "sets.json").write_bytes(content)
    with pytest.raises(CommandError, match="no sets"):
        read_items(tmp_path / "sets.json", io.BytesIO())


def test_gzip_a_byte_order_mark_and_the_standard_input_are_read(tmp_path: Path) -> None:
    (tmp_path / "sets.gz").write_bytes(gzip.compress(b"\xef\xbb\xbf" + ODD))
    assert read_items(tmp_path / "sets.gz", io.BytesIO()) == [Item(1, ODD)]
    assert read_items(Path("-"), io.BytesIO(ODD)) == [Item(1, ODD)]


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    (tmp_path / "cut.gz").write_bytes(gzip.compress(ODD)[:-9])
    for name in ("cut.gz", "none.json"):
        with pytest.raises(CommandError, match=name):
            read_items(tmp_path / name, io.BytesIO())


def test_batches_are_bounded_by_number_and_by_bytes_and_keep_the_order() -> None:
    many = [Item(place, b"{}") for place in range(1, 2 * BATCH_SETS + 2)]
    parted = list(batches(many))
    assert [len(batch) for batch in parted] == [BATCH_SETS, BATCH_SETS, 1]
    assert [item for batch in parted for item in batch] == many
    large = [Item(place, b" " * 3_000_000) for place in range(3)]
    assert [len(batch) for batch in batches(large)] == [1, 1, 1]
