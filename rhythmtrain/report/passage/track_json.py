"""What a track lets one hear, as a JSON document whose keys stay stable."""

from rhythmtrain.prompts.plan import Plan

Json = str | int | float | bool | None | list["Json"] | dict[str, "Json"]


def track_json(plan: Plan, *, path: str, sample_rate: int) -> dict[str, Json]:
    """Return the document of a track: where it was written, and every event with its place.

    ``time_s`` is where the beat point falls, in seconds from the first sample; for clicks and
    claps that is the first sample that is not zero.  Numbers are at full precision.
    """
    events: list[Json] = [
        {
            "time_s": float(prompt.time_s),
            "layer": str(prompt.layer),
            "text": prompt.text,
            "bar": prompt.bar,
            "count": prompt.count,
            "repeat": prompt.repeat,
        }
        for prompt in plan.prompts
    ]
    return {
        "path": path,
        "sample_rate": sample_rate,
        "duration_s": float(plan.duration_s),
        "count_in_s": float(plan.count_in_s),
        "events": events,
    }
