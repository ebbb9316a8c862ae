"""The days: what to do today, how it goes, the takes that were kept."""

from rhythmtrain.page.answers import Answer, Routes, Sent, report
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.days import (
    days_drawn,
    days_told,
    take_again,
    take_deleted,
    take_shown,
    takes_again,
    takes_brought_back,
    takes_listed,
    takes_saved,
)


def _saved(desk: Desk, _asked: Asked) -> Answer:
    return Sent("application/json", path=str(takes_saved(desk.sitting)), called="takes.jsonl")


DAYS: Routes = {
    ("GET", "/api/days"): lambda desk, _: days_told(desk.sitting),
    ("GET", "/api/days/page"): lambda desk, _: report(days_drawn(desk.sitting)),
    ("GET", "/api/takes"): lambda desk, _: takes_listed(desk.sitting),
    ("GET", "/api/takes/file"): _saved,
    ("POST", "/api/takes/file"): lambda desk, asked: takes_brought_back(desk.sitting, asked),
    ("POST", "/api/takes/again"): lambda _desk, _asked: takes_again(),
    ("GET", "/api/kept/{number}"): lambda _, asked: take_shown(asked),
    ("POST", "/api/kept/{number}/again"): lambda _, asked: take_again(asked),
    ("POST", "/api/kept/{number}/delete"): lambda _, asked: take_deleted(asked),
}
