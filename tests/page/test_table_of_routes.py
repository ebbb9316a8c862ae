"""The tables of what the page can ask for, put together."""

from rhythmtrain.page.routes.table import ROUTES, TABLES


def test_no_address_stands_in_two_tables() -> None:
    """One would answer in place of the other."""
    assert len(ROUTES) == sum(map(len, TABLES))
