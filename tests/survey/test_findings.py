"""The room's tables name their sources, and say what their sources say."""

from __future__ import annotations

from slabwright.sources import all_sources
from slabwright.survey.instruments import instruments
from slabwright.survey.misreads import habits


def test_tables_name_their_sources():
    for row in (*instruments().values(), *habits().values()):
        assert row.source in all_sources()
    assert all(tool.sd(10.0) > 0.0 for tool in instruments().values())


def test_fibreglass_is_less_sure_than_steel():
    """At 50 ft between 0.02 and 0.05 ft, the range that the table's source gives."""
    at = instruments()["fibreglass tape"].sd(15.24) / 0.3048
    assert 0.02 <= at <= 0.05
    assert instruments()["steel tape"].sd(15.24) < instruments()["fibreglass tape"].sd(15.24) / 2
