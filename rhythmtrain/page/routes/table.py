"""All that the page can ask for, in one table."""

from rhythmtrain.page.answers import Routes
from rhythmtrain.page.routes.classes import CLASSES
from rhythmtrain.page.routes.days import DAYS
from rhythmtrain.page.routes.passages import PASSAGES
from rhythmtrain.page.routes.playing import PLAYING
from rhythmtrain.page.routes.practising import PRACTISING
from rhythmtrain.page.routes.recordings import RECORDINGS
from rhythmtrain.page.routes.settings import SETTINGS

TABLES = (PASSAGES, PLAYING, PRACTISING, RECORDINGS, DAYS, CLASSES, SETTINGS)
ROUTES: Routes = {address: route for table in TABLES for address, route in table.items()}
