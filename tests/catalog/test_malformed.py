"""Whatever a file holds, it is read or refused with sentences; the program does not stumble over it."""

import copy
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import exchange, models, store
from catalog.records import Unusable, record_of

SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["\x00", "\ud800", "half \udfff", "1e999", "NaN", 10**400, "x" * 5000, -0.0, "canoe", "12.00"])
)
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner))
RECORDS = {
    model: json.loads((exchange.CATALOGUE / f"{name}.json").read_text())[0] for name, model in exchange.FILES.items()
} | {models.ShopRates: exchange.first_rates()}


def paths(value, path=()):
    """Every place of a JSON value."""
    yield path
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, entry in entries:
        yield from paths(entry, (*path, key))


def put(value, path, new):
    if not path:
        return new
    changed = copy.copy(value)
    changed[path[0]] = put(changed[path[0]], path[1:], new)
    return changed


@pytest.mark.parametrize("model", RECORDS)
@given(data=st.data())
@settings(max_examples=150, deadline=None)
def test_a_record_with_anything_anywhere_is_read_or_refused(model, data):
    record = RECORDS[model]
    path = data.draw(st.sampled_from(list(paths(record))))
    record = put(record, path, data.draw(VALUES))
    try:
        [draft] = store.read_all(model, [record], "file")
    except Unusable as refused:
        assert all(problem.path.startswith("file[0]") and problem.message for problem in refused.problems)
    else:
        # What was read can be written as text, and reads the same again.
        text = json.dumps(record_of(draft.row, ledger=True, parts=draft.parts), ensure_ascii=False).encode()
        [again] = store.read_all(model, [json.loads(text)], "file")
        assert record_of(again.row, ledger=True, parts=again.parts) == json.loads(text)
