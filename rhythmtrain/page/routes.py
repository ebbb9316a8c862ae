"""What the page can ask for: one table of addresses, each with the rehearsal that answers it."""

from rhythmtrain.errors import TakeError
from rhythmtrain.page.answers import Answer, Route, Sent, report
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.arriving import sound_came, take_begun, take_went_on
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.bringing import brought
from rhythmtrain.rehearsal.desk.clapping_in import clapped_in, recording_written_down
from rhythmtrain.rehearsal.desk.days import (
    days_drawn,
    days_told,
    take_deleted,
    take_shown,
    takes_listed,
)
from rhythmtrain.rehearsal.desk.drawing import passage_shown, text_drawn
from rhythmtrain.rehearsal.desk.entering import course_begun, try_ended, try_made
from rhythmtrain.rehearsal.desk.fetching import fetched
from rhythmtrain.rehearsal.desk.mapping import beats_kept, beats_mapped, map_used, nearest_stroke
from rhythmtrain.rehearsal.desk.preferring import (
    settings_kept,
    settings_told,
    tapping_ended,
    tapping_made,
)
from rhythmtrain.rehearsal.desk.recordings import (
    recording_brought,
    recording_shown,
    recording_sound,
    recordings,
)
from rhythmtrain.rehearsal.desk.session import session_begun, step_ended, step_made
from rhythmtrain.rehearsal.desk.shelf import (
    keep_score,
    keep_written,
    passage_text,
    shelf,
    take_away,
)
from rhythmtrain.rehearsal.desk.sounding import track_made
from rhythmtrain.rehearsal.desk.taking import take_ended
from rhythmtrain.rehearsal.desk.telling import bar_sound, report_written, take_told

FLAC, MP3 = "audio/flac", "audio/mpeg"


def _shelf(desk: Desk, _asked: Asked) -> Answer:
    greetings, desk.greetings = desk.greetings, []
    return shelf(desk.sitting) | {"greetings": greetings}


def _passage(desk: Desk, asked: Asked) -> Answer:
    return passage_shown(desk.sitting, asked)


def _text(desk: Desk, asked: Asked) -> Answer:
    return passage_text(desk.sitting, asked)


def _drawn(desk: Desk, asked: Asked) -> Answer:
    return text_drawn(desk.sitting, asked)


def _written(desk: Desk, asked: Asked) -> Answer:
    return keep_written(desk.sitting, asked)


def _brought(desk: Desk, asked: Asked) -> Answer:
    return keep_score(desk.sitting, asked)


def _bring(desk: Desk, asked: Asked) -> Answer:
    return brought(desk.sitting, asked)


def _away(desk: Desk, asked: Asked) -> Answer:
    return take_away(desk.sitting, asked)


def _track(desk: Desk, asked: Asked) -> Answer:
    return track_made(desk.sitting, desk.tracks, asked)


def _stem(desk: Desk, asked: Asked) -> Answer:
    made = desk.tracks.get(asked.text("track"))
    return Sent(FLAC, path=str(made.stem(asked.text("layer"))))


def _begin(desk: Desk, asked: Asked) -> Answer:
    return take_begun(desk.sitting, desk.tracks, asked)


def _on(desk: Desk, asked: Asked) -> Answer:
    return take_went_on(desk.sitting, asked)


def _sound(desk: Desk, asked: Asked) -> Answer:
    return sound_came(desk.sitting, asked)


def _end(desk: Desk, asked: Asked) -> Answer:
    return take_told(take_ended(desk.sitting, desk.tracks, asked), desk.takes)


def _bar(desk: Desk, asked: Asked) -> Answer:
    bar = asked.whole("bar")
    sound = bar_sound(desk.takes, asked.text("heard"), bar, desk.sitting.passing)
    return Sent(MP3, sound)


def _report(desk: Desk, asked: Asked) -> Answer:
    return report(report_written(desk.takes, asked.text("heard"), desk.sitting.passing))


def _course(desk: Desk, asked: Asked) -> Answer:
    return course_begun(desk.sitting, desk.courses, asked)


def _try(desk: Desk, asked: Asked) -> Answer:
    return try_made(desk.sitting, desk.courses, desk.tracks, asked)


def _tried(desk: Desk, asked: Asked) -> Answer:
    try:
        finished = take_ended(desk.sitting, desk.tracks, asked)
    except TakeError:
        finished = None
    return try_ended(desk.courses, asked, finished)


def _recordings(desk: Desk, _asked: Asked) -> Answer:
    return recordings(desk.sitting)


def _recording(desk: Desk, asked: Asked) -> Answer:
    return recording_brought(desk.sitting, asked)


def _wave(desk: Desk, asked: Asked) -> Answer:
    return recording_shown(desk.sitting, asked)


def _recorded(desk: Desk, asked: Asked) -> Answer:
    return Sent(FLAC, path=str(recording_sound(desk.sitting, asked)))


def _beats(desk: Desk, asked: Asked) -> Answer:
    return beats_kept(desk.sitting, asked)


def _mapped(desk: Desk, asked: Asked) -> Answer:
    return beats_mapped(desk.sitting, asked)


def _nearest(desk: Desk, asked: Asked) -> Answer:
    return nearest_stroke(desk.sitting, asked)


def _used(desk: Desk, asked: Asked) -> Answer:
    return map_used(desk.sitting, asked)


def _fetch(desk: Desk, asked: Asked) -> Answer:
    found = fetched(desk.sitting, asked)
    return Sent(found.kind, path=str(found.path), called=found.called)


def _clapped_in(desk: Desk, asked: Asked) -> Answer:
    return clapped_in(desk.sitting, asked)


def _written_down(desk: Desk, asked: Asked) -> Answer:
    return recording_written_down(desk.sitting, asked)


def _settings(_desk: Desk, _asked: Asked) -> Answer:
    return settings_told()


def _set(_desk: Desk, asked: Asked) -> Answer:
    return settings_kept(asked)


def _clicks(desk: Desk, _asked: Asked) -> Answer:
    return tapping_made(desk.sitting, desk.tracks)


def _delay(desk: Desk, asked: Asked) -> Answer:
    return tapping_ended(desk.sitting, desk.tracks, asked)


def _days(desk: Desk, _asked: Asked) -> Answer:
    return days_told(desk.sitting)


def _days_page(desk: Desk, _asked: Asked) -> Answer:
    return report(days_drawn(desk.sitting))


def _takes(desk: Desk, _asked: Asked) -> Answer:
    return takes_listed(desk.sitting)


def _kept(_desk: Desk, asked: Asked) -> Answer:
    return take_shown(asked)


def _deleted(_desk: Desk, asked: Asked) -> Answer:
    return take_deleted(asked)


def _session(desk: Desk, asked: Asked) -> Answer:
    return session_begun(desk.sitting, desk.sessions, asked)


def _step(desk: Desk, asked: Asked) -> Answer:
    return step_made(desk.sitting, desk.sessions, desk.tracks, asked)


def _stepped(desk: Desk, asked: Asked) -> Answer:
    finished, silent = None, False
    if asked.values.get("take") is not None:
        try:
            finished = take_ended(desk.sitting, desk.tracks, asked)
        except TakeError:
            silent = not asked.truth("stopped")
    heard = Asked({**asked.values, "silent": silent})
    return step_ended(desk.sessions, heard, finished)


ROUTES: dict[tuple[str, str], Route] = {
    ("GET", "/api/shelf"): _shelf,
    ("GET", "/api/passage"): _passage,
    ("GET", "/api/passage/text"): _text,
    ("POST", "/api/passage/draw"): _drawn,
    ("POST", "/api/passage/write"): _written,
    ("POST", "/api/passage/bring"): _brought,
    ("POST", "/api/bring"): _bring,
    ("POST", "/api/passage/away"): _away,
    ("POST", "/api/passage/clapped"): _clapped_in,
    ("POST", "/api/passage/heard"): _written_down,
    ("GET", "/api/fetch/{what}"): _fetch,
    ("GET", "/api/days"): _days,
    ("GET", "/api/days/page"): _days_page,
    ("GET", "/api/takes"): _takes,
    ("GET", "/api/kept/{number}"): _kept,
    ("POST", "/api/kept/{number}/delete"): _deleted,
    ("GET", "/api/settings"): _settings,
    ("POST", "/api/settings"): _set,
    ("POST", "/api/delay/track"): _clicks,
    ("POST", "/api/delay/end"): _delay,
    ("POST", "/api/track"): _track,
    ("GET", "/api/track/{track}/{layer}"): _stem,
    ("POST", "/api/take"): _begin,
    ("POST", "/api/take/{take}/on"): _on,
    ("POST", "/api/take/{take}/sound"): _sound,
    ("POST", "/api/take/{take}/end"): _end,
    ("POST", "/api/session"): _session,
    ("POST", "/api/session/{session}/track"): _step,
    ("POST", "/api/session/{session}/end"): _stepped,
    ("POST", "/api/entry"): _course,
    ("POST", "/api/entry/{course}/track"): _try,
    ("POST", "/api/entry/{course}/end"): _tried,
    ("GET", "/api/recordings"): _recordings,
    ("POST", "/api/recordings"): _recording,
    ("GET", "/api/recording/{recording}/wave"): _wave,
    ("GET", "/api/recording/{recording}/sound"): _recorded,
    ("GET", "/api/recording/{recording}/beats"): _beats,
    ("POST", "/api/recording/{recording}/beats"): _mapped,
    ("POST", "/api/recording/{recording}/nearest"): _nearest,
    ("POST", "/api/recording/{recording}/use"): _used,
    ("GET", "/api/heard/{heard}/bar/{bar}"): _bar,
    ("GET", "/api/heard/{heard}/report"): _report,
}
