"""Pointers as RFC 6901 writes them."""

import pytest

from stillset_core.pointers import pointer_to


@pytest.mark.parametrize(
    ("path", "pointer"),
    [
        # RFC 6901, section 5.
        ((), ""),
        (("foo",), "/foo"),
        (("foo", 0), "/foo/0"),
        (("",), "/"),
        (("a/b",), "/a~1b"),
        (("c%d",), "/c%d"),
        (("e^f",), "/e^f"),
        (("i\\j",), "/i\\j"),
        (('k"l',), '/k"l'),
        ((" ",), "/ "),
        (("m~n",), "/m~0n"),
        (("~1",), "/~01"),
    ],
)
def test_a_path_is_written_as_rfc_6901_shows(path, pointer):
    assert pointer_to(path) == pointer
