"""Came in after the wrong cue, told after a take that was played here: by enter and by clap."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.wrong_cue import same_cues
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.checking.by_cues import judged_by_cues
from rhythmtrain.rehearsal.checking.checked import Asked, Checked, judged
from rhythmtrain.rehearsal.checking.listening import hear_take
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.entering.enter import practise_entry
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.dry_run import Player
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.tracks.recordings import accompanied
from rhythmtrain.storage.history.history import Conditions
from rhythmtrain.storage.history.plain_json import conditions_of, conditions_table
from rhythmtrain.timing.timeline import Timeline, lay_out
from tests.rehearsal.cueing.test_cue_known import (
    DRILL,
    RECORDED,
    make_recording,
    score,
    take,
    wished,
)

CUED = 'cue = "1 2 | 1 | 1 2 | 1 2 | 1 & 2 & | 1 2 | 1 | 1 & (2) & | 1 2 | 1 & (2) & | 1 2 | 1 | 1 | 1"'
WRONG = "two bars early, after the wrong cue: the same one leads to bar 9 too"


def mill(folder: Path, more: str) -> str:
    """Write the drill; bar 8 leads to bar 9 as bar 10 does to the entry in bar 11."""
    path = folder / "mill.toml"
    path.write_text(DRILL.format(more=more), encoding="utf-8")
    return str(path)


def from_bar(folder: Path, bar: int) -> None:
    """Leave only the beats from ``bar`` on in the map, so that tries begin there at the earliest."""
    path = folder / "piano.beats"
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join(lines[2 * (bar - 1) :]), encoding="utf-8")


def entered(
    monkeypatch: pytest.MonkeyPatch, passage: str, layers: str | None = None
) -> list[dict[str, object]]:
    """Return two tries of a player who comes in two bars early, the second from the top."""
    enter = "rhythmtrain.rehearsal.entering.enter"
    monkeypatch.setattr(f"{enter}.DRY_LATE_S", ())
    monkeypatch.setattr(f"{enter}.DRY_PLAYER", Player(late_beats=-4))
    told = practise_entry(EnterWish(passage, tries=2, layers=layers, dry_run=True))
    return list(told.document["tries"])


@pytest.mark.parametrize("known", ["recording", "notes", "cue line"])
def test_a_try_after_the_wrong_cue_is_told_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, known: str
) -> None:
    """In the words of a checked take, while it is fresh in the ear."""
    make_recording(tmp_path, 8)
    score(tmp_path, 8)
    from_bar(tmp_path, 7)
    more = {"recording": RECORDED, "notes": f'{RECORDED}\nnotes = "piano.mid"', "cue line": CUED}
    last = entered(monkeypatch, mill(tmp_path, more[known]))[1]
    assert (last["went"], last["wrong_cue"]) == (WRONG, {"bar": 9})


def test_no_cue_is_blamed_that_did_not_sound(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """With a click alone one miscounts: there was nothing to follow."""
    tries = entered(monkeypatch, mill(tmp_path, CUED), "click,count")
    assert [(each["went"], each["wrong_cue"]) for each in tries] == [("two bars early", None)] * 2


@pytest.mark.parametrize(
    ("more", "layers", "wrong"),
    [
        (RECORDED, "accompaniment,click", 9),
        (f'{RECORDED}\nnotes = "piano.mid"', "accompaniment,click", 9),
        (CUED, "cue,click", 9),
        (CUED, "click", None),
    ],
    ids=["recording", "notes", "cue line", "click"],
)
def test_clapping_along_tells_which_cue_was_followed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, more: str, layers: str, wrong: int | None
) -> None:
    """From the strokes of the recording, its notes, the cue line; not where none of it sounds."""
    make_recording(tmp_path, 8)
    score(tmp_path, 8)
    monkeypatch.setattr(
        "rhythmtrain.rehearsal.clapping.clap.Player", lambda **_: Player(late_beats=-4)
    )
    told = clap_along(ClapWish(mill(tmp_path, more), bars="5-14", layers=layers, dry_run=True))
    (entry,) = told.document["entries"]
    assert entry["verdict"] == "two bars early"
    assert entry["wrong_cue"] == (None if wrong is None else {"bar": wrong})
    assert ("after the wrong cue" in told.text) == (wrong is not None)


def test_a_recording_that_has_gone_takes_no_take_with_it(tmp_path: Path) -> None:
    """A stick was pulled while one played: what was clapped is told all the same."""
    make_recording(tmp_path, 8)
    wish = wished(tmp_path, recorded=True)
    passage = find_passage(wish.passage)
    laid = accompanied(wish, passage, passage, lead_in=0)
    played = hear_take(take(tmp_path, early_beats=4, recorded=True), kind="claps")
    settings = Settings("recording", wish.start, 1.0)

    def judge(timeline: Timeline) -> Checked:
        return judged(timeline, played, settings, Asked(wish.passage))

    told = judged_by_cues(judge, laid.timeline, laid.found)
    assert told.findings.entries[0].wrong_cue == 9
    (tmp_path / "piano.wav").unlink()
    (entry,) = judged_by_cues(judge, laid.timeline, laid.found).findings.entries
    assert (entry.verdict, entry.wrong_cue) == ("two bars early", None)


def test_a_cue_that_did_not_sound_is_blamed_by_no_later_judgement(tmp_path: Path) -> None:
    """The history keeps it in one stroke that is none, however long the take."""
    timeline = lay_out(find_passage(mill(tmp_path, CUED)))
    assert same_cues(timeline)[12][0].bar == 9
    silent = with_what_sounds(
        timeline, plan_track(timeline, Wishes(layers=frozenset({Layer.CLICK})))
    )
    conditions = Conditions(strokes=silent.strokes, one_go=True)
    read = conditions_of(json.loads(json.dumps(conditions_table(conditions))), ())
    assert read == conditions
    kept = read.strokes
    assert len(kept) == 1
    assert same_cues(replace(timeline, strokes=kept)) == {}
    heard = with_what_sounds(timeline, plan_track(timeline, Wishes(layers=frozenset({Layer.CUE}))))
    assert heard == timeline
