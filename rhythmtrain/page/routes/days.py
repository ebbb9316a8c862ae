"""The days: what to do today, how it goes, the takes that were kept."""

from rhythmtrain.page.answers import Routes, report
from rhythmtrain.rehearsal.desk.days import (
    days_drawn,
    days_told,
    take_deleted,
    take_shown,
    takes_listed,
)

DAYS: Routes = {
    ("GET", "/api/days"): lambda desk, _: days_told(desk.sitting),
    ("GET", "/api/days/page"): lambda desk, _: report(days_drawn(desk.sitting)),
    ("GET", "/api/takes"): lambda desk, _: takes_listed(desk.sitting),
    ("GET", "/api/kept/{number}"): lambda _, asked: take_shown(asked),
    ("POST", "/api/kept/{number}/delete"): lambda _, asked: take_deleted(asked),
}
