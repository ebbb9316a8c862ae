"""The tables of what the page can ask for, put together."""

from rhythmtrain.page.routes.days import DAYS
from rhythmtrain.page.routes.passages import PASSAGES
from rhythmtrain.page.routes.playing import PLAYING
from rhythmtrain.page.routes.practising import PRACTISING
from rhythmtrain.page.routes.recordings import RECORDINGS
from rhythmtrain.page.routes.settings import SETTINGS
from rhythmtrain.page.routes.table import ROUTES


def test_no_address_stands_in_two_tables() -> None:
    """One would answer in place of the other."""
    tables = (DAYS, PASSAGES, PLAYING, PRACTISING, RECORDINGS, SETTINGS)
    assert len(ROUTES) == sum(map(len, tables))
