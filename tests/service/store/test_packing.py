"""Records and documents come out of the store as they went in."""

from datetime import UTC, date, datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    PainWhen,
    Position,
    Purpose,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    TraceFindings,
)
from stillset_service.store.packing import COMPRESSED_FROM, pack_document, pack_record, unpack_document, unpack_record

# Hypothesis wants bounds without an offset, and adds one.
FIRST, LAST = datetime(1990, 1, 2), datetime(2100, 1, 1)  # noqa: DTZ001
numbers = st.floats(allow_nan=False, allow_infinity=False)
maybe = st.none() | numbers
texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), min_size=1, max_size=20)
offsets = st.integers(-23 * 60, 23 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)) if minutes else UTC)
moments = st.datetimes(FIRST, LAST, timezones=offsets)
forces = st.builds(SideForce, numbers, maybe)
reps = st.builds(
    Rep,
    st.sampled_from(Direction),
    numbers,
    st.none() | forces,
    st.none() | forces,
    maybe,
    maybe,
    st.booleans(),
    st.booleans(),
)
records = st.builds(
    SetRecord,
    client_ref=texts,
    athlete=texts,
    performed_at=moments,
    position=st.builds(Position, texts, maybe, maybe, maybe, st.none() | texts, st.none() | texts),
    instrument=st.builds(
        Instrument,
        st.sampled_from(InstrumentKind),
        st.none() | texts,
        st.none() | st.booleans(),
        st.none() | st.dates(date(1900, 1, 1)),
    ),
    quantity=st.sampled_from(Quantity),
    reps=st.lists(reps, max_size=3).map(tuple),
    session_ref=st.none() | texts,
    purpose=st.sampled_from(Purpose),
    rpe=maybe,
    trace=st.none() | st.builds(TraceFindings, maybe, maybe),
    pain=st.none() | st.builds(Pain, maybe, st.none() | st.booleans(), st.none() | texts, st.sampled_from(PainWhen)),
    body_mass_kg=maybe,
    note=st.none() | texts,
)


@given(records)
def test_a_record_comes_back_equal_and_in_its_own_offset(record) -> None:
    back = unpack_record(pack_record(record))
    assert back == record
    assert back.performed_at.utcoffset() == record.performed_at.utcoffset()


@given(st.binary(max_size=50).map(lambda tail: b"{" + tail), st.booleans())
def test_a_document_comes_back_byte_by_byte(document, is_long) -> None:
    document = document.ljust(COMPRESSED_FROM if is_long else 0)
    packed = pack_document(document)
    assert unpack_document(packed) == document
    assert (len(packed) < len(document)) is is_long
