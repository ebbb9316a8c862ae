"""The JSON of a track: stable keys, plain values, full precision."""

import json

from rhythmtrain.prompts.track import plan_track
from rhythmtrain.report.passage.track_json import track_json
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage


def test_the_document_has_the_stable_keys_and_reads_back_exactly() -> None:
    """Other programs rely on these names, and on times that were not rounded."""
    piece = passage(bar(1, 0, metre="2/4"), tempo=70)
    plan = plan_track(lay_out(piece, Practice(count_in=1)))
    document = json.loads(json.dumps(track_json(plan, path="slow.flac", sample_rate=48_000)))
    assert list(document) == ["path", "sample_rate", "duration_s", "count_in_s", "events"]
    assert document["path"] == "slow.flac"
    assert document["sample_rate"] == 48_000
    assert document["count_in_s"] == plan.count_in_s
    assert document["duration_s"] == plan.duration_s
    assert [event["time_s"] for event in document["events"]] == [p.time_s for p in plan.prompts]


def test_an_event_says_what_is_heard_and_where_in_the_passage() -> None:
    """The clap on 2 of bar 1, in the first run."""
    plan = plan_track(lay_out(passage(bar(1, 1, metre="2/4"))))
    document = track_json(plan, path="track.wav", sample_rate=44_100)
    events = document["events"]
    assert isinstance(events, list)
    assert {
        "time_s": 1.0,
        "layer": "clap",
        "text": "note",
        "bar": 1,
        "count": "2",
        "repeat": 1,
    } in events
