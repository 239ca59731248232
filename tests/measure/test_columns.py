"""Versions of the settings as columns: a change stands where it was made and nowhere else."""

import numpy as np
import pytest

from rungwright.domain.lever import setting_key
from rungwright.measure.columns import Columns, columns, minutes_of
from tests.measure.refuge import challenge, levers

PRESET = challenge().presets["3-5"]
CHANGES = [{}, {"rigid_pieces": 7, "load_place": "tester"}, {"repair_kit": not PRESET["repair_kit"]}, {}]


def test_a_change_stands_in_its_own_row_only() -> None:
    cols = Columns(levers(), PRESET, CHANGES)
    here = PRESET["rigid_pieces"]
    assert cols["rigid_pieces"].tolist() == [here, 7, here, here]
    assert cols.is_one_of("load_place", "tester").tolist() == [False, True, False, False]
    assert [cols.row(i) for i in range(4)] == [{**PRESET, **change} for change in CHANGES]


def test_rows_and_changes_give_equal_columns() -> None:
    cols, whole = Columns(levers(), PRESET, CHANGES), columns(levers(), [{**PRESET, **c} for c in CHANGES])
    assert all(np.array_equal(cols[name], whole[name]) for name in levers())


@pytest.mark.parametrize("table", ["lesson_minutes", "preparation_minutes"])
def test_minutes_are_those_of_the_tables(table: str) -> None:
    priced = [lever for lever in levers().values() if getattr(lever, table)]
    changes = [{lever.id: setting} for lever in priced for setting in lever.settings]
    assert changes
    found = minutes_of(Columns(levers(), PRESET, changes), table)
    for change, minutes in zip(changes, found, strict=True):
        row = {**PRESET, **change}
        assert minutes == pytest.approx(sum(getattr(lever, table)[setting_key(row[lever.id])] for lever in priced))


def test_a_table_is_read_between_two_settings() -> None:
    lever = levers()["rigid_pieces"]
    low, high = lever.settings[0], lever.settings[1]
    table = list(range(10, 10 + len(lever.settings)))
    assert lever.between(table, (low + high) / 2) == 10.5
    with pytest.raises(ValueError, match="rigid_pieces"):
        lever.between(table, max(lever.settings) + 1)


def test_distinct_versions_stand_for_all_that_are_alike() -> None:
    draw = np.random.default_rng(3)
    settings = {name: levers()[name].settings for name in ("rigid_pieces", "load_place", "repair_kit", "figure_count")}
    changes = [{n: s[int(draw.integers(min(len(s), 3)))] for n, s in settings.items()} for _ in range(300)]
    cols = Columns(levers(), PRESET, changes)
    first, which = cols.distinct(["rigid_pieces", "load_place", "figure_count"])
    assert len(first) == 27 < cols.n
    for name in ("rigid_pieces", "load_place", "figure_count"):
        assert (cols.only(first)[name][which] == cols[name]).all()
    assert [which[i] for i in first] == list(range(27))
